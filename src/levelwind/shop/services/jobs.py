"""Moving a job along its way, and writing down that it moved."""

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError
from levelwind.shop.models import Job, JobEvent, Stage, Waiting


def job_note(*, job: Job, text: str, by: str = "") -> JobEvent:
    """Add a sentence to the job's history."""
    return JobEvent.objects.create(job=job, text=text[:300], by=by)


@transaction.atomic
def job_move(*, job: Job, stage: Stage, waiting: Waiting = Waiting.NOBODY, by: str = "") -> Job:
    """Put the job at a stage. Any stage may follow any other: a person may enter late, skip and go back."""
    if stage not in Stage.values:
        raise InputError("stage", stage, "one of " + ", ".join(Stage.values))
    moved = stage != job.stage
    job.stage, job.waiting = stage, waiting
    if moved:
        job.stage_since = timezone.now()
        job_note(job=job, text=f"Now {Stage(stage).label}.", by=by)
    job.full_clean()
    job.save(update_fields=["stage", "stage_since", "waiting"])
    return job


def job_advance(*, job: Job, stage: Stage, waiting: Waiting = Waiting.NOBODY, by: str = "") -> Job:
    """Like ``job_move``, but never back: what is already further stays where it is, only its waiting is set."""
    order = list(Stage.values)
    further = order.index(job.stage) >= order.index(stage)
    return job_move(job=job, stage=Stage(job.stage) if further else stage, waiting=waiting, by=by)


@transaction.atomic
def job_wait(*, job: Job, waiting: Waiting, by: str = "") -> Job:
    """Note for whom or what the job waits."""
    job.waiting = waiting
    job.full_clean()
    job.save(update_fields=["waiting"])
    no_longer = Waiting(waiting) == Waiting.NOBODY
    job_note(job=job, text="No longer waiting." if no_longer else f"Waiting for {Waiting(waiting).label}.", by=by)
    return job
