"""A reel leaves with its proof."""

from django.db import transaction

from levelwind.shop.jobs.services.jobs import job_hold
from levelwind.shop.jobs.services.sendings import job_send_home, sending_of
from levelwind.shop.models import Job, Stage
from levelwind.shop.papers.selectors.sent import proof_kept


@transaction.atomic
def reel_send_home(*, job: Job, by: str = "") -> Job:
    """The reel leaves, and its proof sheet is kept as it goes along. Pressed again, nothing is written."""
    if job_hold(job).stage == Stage.HOME:
        return job
    sending = sending_of(job)
    sending.proof = proof_kept(job)
    sending.save(update_fields=["proof"])
    return job_send_home(job=job, by=by)
