"""The box home."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.jobs import old_parts_open, proved_reading, reel_is_open
from levelwind.shop.jobs.services.jobs import job_advance, job_hold, job_move, job_note, job_still_here
from levelwind.shop.models import Job, Sending, Stage

FOLLOW_UP = timedelta(days=42)
"""Six weeks: time for a few days' fishing. A judgement."""


def sending_of(job: Job) -> Sending:
    """The job's box, begun empty the first time it is asked for."""
    return Sending.objects.get_or_create(job=job)[0]


@transaction.atomic
def job_prove(*, job: Job, by: str = "") -> Job:
    """Call the reel proved: it is in one piece, and there is a reading as left of it as it is now."""
    if reel_is_open(job_still_here(job)):
        raise LevelwindError("The reel is apart: what is measured of it proves nothing. Put it together first.")
    if not proved_reading(job):
        raise LevelwindError("Nothing is measured as left yet: pull the drag or time the spool first.")
    return job_advance(job=job, stage=Stage.PROVED, by=by)


@transaction.atomic
def job_box(*, job: Job, by: str = "") -> Job:
    """Call the reel boxed; replaced parts must be bagged to go with it."""
    if old_parts_open(job_still_here(job)):
        raise LevelwindError("Old parts are in the scrap bag: bag and label them for the owner, and tick it.")
    return job_advance(job=job, stage=Stage.BOXED, by=by)


@transaction.atomic
def job_send_home(*, job: Job, by: str = "") -> Job:
    """The reel leaves. Says when to ask the owner how it does. Of one on its way already nothing is written."""
    if job_hold(job).stage == Stage.HOME:
        return job
    sending = sending_of(job_still_here(job))
    sending.sent_at = timezone.now()
    sending.follow_up_on = sending.follow_up_on or timezone.localdate() + FOLLOW_UP
    sending.full_clean()
    sending.save(update_fields=["sent_at", "follow_up_on"])
    words = " ".join(filter(None, ("Sent home", sending.carrier and f"by {sending.carrier}", sending.tracking)))
    job_note(job=job, text=f"{words}.", by=by)
    return job_move(job=job, stage=Stage.HOME, by=by)


@transaction.atomic
def job_hand_over(*, job: Job, by: str = "") -> Sending:
    """The carrier or the owner has it in hand: from now on it cannot be taken back. Said again, nothing is written."""
    sending = sending_of(job_hold(job))
    if job.stage != Stage.HOME:
        raise LevelwindError("Send it home first: then it can be handed over.")
    if sending.handed_over_at is None:
        sending.handed_over_at = timezone.now()
        sending.save(update_fields=["handed_over_at"])
        job_note(job=job, text="Handed over.", by=by)
    return sending


@transaction.atomic
def job_home_take_back(*, job: Job, why: str, by: str = "") -> Job:
    """It is not on its way after all: back where it was, with what lay in the tray. ``why`` is kept with the job.

    Refused once the parcel is handed over.
    """
    sending, why = sending_of(job_hold(job)), why.strip()
    if job.stage != Stage.HOME:
        raise LevelwindError("This reel is not on its way home.")
    if sending.handed_over_at:
        raise LevelwindError("The parcel is handed over: if the reel comes back, book it in again.")
    if not why:
        raise LevelwindError("Enter in a sentence why it is taken back.")
    sending.sent_at, sending.proof = None, {}
    sending.save(update_fields=["sent_at", "proof"])
    boxed = job.ended_from in ("", Stage.BOXED)
    if not boxed:
        job.pieces.update(fate="")
    job_note(job=job, text=f"Not on its way home after all: {why}", by=by)
    return job_move(job=job, stage=Stage.BOXED if boxed else Stage(job.ended_from), by=by)
