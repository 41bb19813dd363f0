"""Fits tried in jobs: a part that went home in its place speaks for itself, one that was bad or came back against."""

import pytest

from levelwind.shop.models import Job, Part, Pattern, Piece, Stage
from levelwind.shop.parts.selectors.fits import Offer, offers
from levelwind.shop.parts.selectors.served import part_fits
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import pattern_places
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def _fitted(job: Job, part: Part, state: str = "", stage: str = Stage.HOME, where: str = "reel") -> Piece:
    Job.objects.filter(pk=job.pk).update(stage=stage)
    old = Piece.objects.create(job=job, place="dog", name="dog", state="worn", where="scrap")
    return Piece.objects.create(job=job, place="dog", name="dog", part=part, replaces=old, state=state, where=where)


def _dogs(pattern: Pattern) -> list[Offer]:
    return list(offers(pattern, [place for place in pattern_places(pattern) if place.key == "dog"])["dog"])


def test_what_jobs_tell_of_a_part_is_counted_for_and_against() -> None:
    pattern, part = a_pattern(), part_add(number="D-1", name="dog", count=1)
    first = a_job(pattern=pattern)
    jobs = [first, *(a_job(f"26-000{n}", owner=first.owner, pattern=pattern) for n in range(2, 6))]
    _fitted(jobs[0], part, stage=Stage.TOGETHER)
    assert _dogs(pattern) == [] and part_fits(part) == ()
    _fitted(jobs[1], part)
    (offer,) = _dogs(pattern)
    assert [(said.words, said.sure) for said in offer.sayings] == [("went home in 1 of 1 job", 0.75)]
    assert [row.saying.words for row in part_fits(part)] == ["went home in 1 of 1 job"]
    _fitted(jobs[2], part)
    back = a_job("26-0009", owner=first.owner, pattern=pattern, comeback_of=jobs[2])
    assert _dogs(pattern)[0].sayings[0].words == "went home in 2 of 2 jobs"
    Piece.objects.create(job=back, place="dog", name="dog", state="broken")
    assert _dogs(pattern)[0].sayings[0].words == "went home in 1 of 2 jobs"
    _fitted(jobs[3], part, state="broken", stage=Stage.APART, where="scrap")
    _fitted(jobs[4], part, state="worn", stage=Stage.APART, where="scrap")
    assert _dogs(pattern) == []  # three of four speak against it, and nobody for it
    fit_say(part=part, pattern=pattern, place="dog")
    (offer,) = _dogs(pattern)
    assert [no.words for no in offer.against] == ["was bad in 3 of 4 jobs"]
