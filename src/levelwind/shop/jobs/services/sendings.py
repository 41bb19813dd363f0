"""The box home."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.jobs import job_advance, job_hold, job_move, job_note
from levelwind.shop.models import Job, Sending, Stage, Work

FOLLOW_UP = timedelta(days=42)
"""Six weeks: time for a few days' fishing. A judgement."""


def sending_of(job: Job) -> Sending:
    """The job's box, begun empty the first time it is asked for."""
    return Sending.objects.get_or_create(job=job)[0]


@transaction.atomic
def job_prove(*, job: Job, by: str = "") -> Job:
    """Call the reel proved: there is a reading as left."""
    if not job.readings.filter(moment="left", struck_out=False, refused="", work=Work.READ).exists():
        raise LevelwindError("Nothing is measured as left yet: pull the drag or time the spool first.")
    return job_advance(job=job, stage=Stage.PROVED, by=by)


@transaction.atomic
def job_box(*, job: Job, by: str = "") -> Job:
    """Call the reel boxed; replaced parts must be bagged to go with it."""
    if job.pieces.filter(where="scrap").exists() and not sending_of(job).old_parts_bagged:
        raise LevelwindError("Old parts are in the scrap bag: bag and label them for the owner, and tick it.")
    return job_advance(job=job, stage=Stage.BOXED, by=by)


@transaction.atomic
def job_send_home(*, job: Job, by: str = "") -> Job:
    """The reel leaves. Says when to ask the owner how it does. Of one on its way already nothing is written."""
    job_hold(job)
    if job.stage == Stage.HOME:
        return job
    sending = sending_of(job)
    sending.sent_at = timezone.now()
    sending.follow_up_on = sending.follow_up_on or timezone.localdate() + FOLLOW_UP
    sending.full_clean()
    sending.save(update_fields=["sent_at", "follow_up_on"])
    words = " ".join(filter(None, ("Sent home", sending.carrier and f"by {sending.carrier}", sending.tracking)))
    job_note(job=job, text=f"{words}.", by=by)
    return job_move(job=job, stage=Stage.HOME, by=by)
