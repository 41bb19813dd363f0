"""A job ends: a reel leaves with its proof, is sent back, or is kept. What lies about is answered for first."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.jobs import job_end, job_hold, job_note, job_still_here
from levelwind.shop.jobs.services.sendings import job_box, job_send_home, sending_of
from levelwind.shop.models import Job, Piece, Stage
from levelwind.shop.papers.selectors.done import some_names
from levelwind.shop.papers.selectors.ends import end_asks
from levelwind.shop.papers.selectors.sent import proof_kept

OLD_PARTS = {"bagged": "Old parts bagged for the owner.", "refused": "The owner does not want the old parts."}


class EndAsksError(LevelwindError):
    """The job may end once its questions are answered."""


@dataclass(frozen=True, slots=True)
class Answers:
    """A fate for each piece by its key, one for the ``rest``; old parts "bagged" or "refused"."""

    fates: Mapping[int, str] = field(default_factory=dict)
    rest: str = ""
    old_parts: str = ""


NOTHING_SAID = Answers()


@transaction.atomic
def reel_send_home(*, job: Job, said: Answers = NOTHING_SAID, by: str = "") -> Job:
    """The reel leaves, and its proof sheet is kept as it goes along. Pressed again, nothing is written.

    Raises EndAsksError while a piece in the tray has no fate, or old parts are neither bagged nor refused.
    """
    if job_hold(job).stage == Stage.HOME:
        return job
    _answer(job, said, by)
    sending = sending_of(job)
    sending.proof = proof_kept(job)
    sending.save(update_fields=["proof"])
    return job_send_home(job=job, by=by)


@transaction.atomic
def reel_box(*, job: Job, said: Answers = NOTHING_SAID, by: str = "") -> Job:
    """The reel is in its box, once what lies about is answered for, as for ``reel_send_home``."""
    if job_still_here(job).stage != Stage.BOXED:
        _answer(job, said, by)
    return job_box(job=job, by=by)


@transaction.atomic
def reel_end(*, job: Job, stage: Stage, why: str = "", said: Answers = NOTHING_SAID, by: str = "") -> Job:
    """Sent back unmended or kept for spares, once what lies about is answered for, as for ``reel_send_home``."""
    if job_hold(job).stage != stage:
        _answer(job, said, by)
    return job_end(job=job, stage=stage, why=why, by=by)


def _answer(job: Job, said: Answers, by: str) -> None:
    asks = end_asks(job)
    given = {piece: said.fates.get(piece.pk) or said.rest for piece in asks.lying}
    if (asks.old_parts and not said.old_parts) or not all(given.values()):
        raise EndAsksError(asks.words)
    if asks.old_parts and said.old_parts not in OLD_PARTS:
        raise InputError("old parts", repr(said.old_parts[:60]), "bagged or refused")
    for fate in dict.fromkeys(given.values()):
        _let_go(job, [piece for piece, its in given.items() if its == fate], fate, by)
    if asks.old_parts:
        sending = sending_of(job)
        sending.old_parts_bagged, sending.old_parts_refused = said.old_parts == "bagged", said.old_parts == "refused"
        sending.save(update_fields=["old_parts_bagged", "old_parts_refused"])
        job_note(job=job, text=OLD_PARTS[said.old_parts], by=by)
    if asks.words:
        job_note(job=job, text=" ".join(asks.told), by=by)


def _let_go(job: Job, pieces: list[Piece], fate: str, by: str) -> None:
    names = dict(Piece.FATES)
    if fate not in names:
        raise InputError("fate of a piece", repr(fate[:60]), " or ".join(names.values()))
    job.pieces.filter(pk__in=[piece.pk for piece in pieces]).update(fate=fate)
    job_note(job=job, text=f"{names[fate].capitalize()}: {some_names([piece.name for piece in pieces])}.", by=by)
