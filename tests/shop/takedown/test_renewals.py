"""Which piece of a place is renewed: the reel's own, and a new one only once it has proved bad itself."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Part, Pattern, Piece
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.takedown.selectors.renewals import renewals
from levelwind.shop.takedown.services.pieces import piece_judge
from levelwind.shop.takedown.services.renewals import renew_by_order, renew_from_shelf, renew_put_back
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


@pytest.fixture
def job(pattern: Pattern) -> Job:
    job = a_job(pattern, ("dog",))
    take_apart(job)
    piece_judge(piece=job.pieces.get(place="dog"), state="worn")
    return job


@pytest.fixture
def dog(pattern: Pattern) -> Part:
    part = part_add(number="D-1", name="dog of steel", count=3)
    fit_say(part=part, pattern=pattern, place="dog")
    return part


def take(job: Job, dog: Part) -> Piece:
    renew_from_shelf(job=job, place="dog", part=dog, count=1)
    return job.pieces.filter(place="dog").latest("pk")


def to_renew(job: Job) -> list[str]:
    return [row.place.key for row in renewals(job) if row.must and not row.done]


def test_a_good_new_piece_is_not_renewed_again(job: Job, dog: Part) -> None:
    assert to_renew(job) == ["dog"]
    take(job, dog)
    assert to_renew(job) == []
    with pytest.raises(LevelwindError, match="has a new one already"):
        take(job, dog)
    assert stock_of(dog).new == 2


def test_a_new_piece_that_breaks_is_renewed_in_its_turn(job: Job, dog: Part) -> None:
    first = take(job, dog)
    piece_judge(piece=first, state="broken")
    assert to_renew(job) == ["dog"]
    second = take(job, dog)
    first.refresh_from_db()
    assert (second.replaces, second.where, first.where) == (first, "cell", "scrap")
    assert stock_of(dog).new == 1 and to_renew(job) == []


def test_what_is_put_back_is_the_newest_alone(job: Job, dog: Part) -> None:
    first = take(job, dog)
    piece_judge(piece=first, state="broken")
    take(job, dog)
    renew_put_back(job=job, place="dog")
    first.refresh_from_db()
    assert stock_of(dog).new == 2 and first.where == "cell" and to_renew(job) == ["dog"]


def test_a_broken_new_piece_may_be_waited_for(job: Job, dog: Part) -> None:
    first = take(job, dog)
    piece_judge(piece=first, state="broken")
    order = renew_by_order(job=job, place="dog", part=dog, count=1)
    assert order.piece == first and to_renew(job) == ["dog"]
    came = take(job, dog)
    assert (came.replaces, came.where) == (first, "cell") and to_renew(job) == []
