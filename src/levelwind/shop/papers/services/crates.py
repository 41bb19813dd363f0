"""A crate goes home in one parcel."""

from django.db import transaction

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.jobs import parcel_jobs
from levelwind.shop.jobs.services.sendings import sending_of
from levelwind.shop.models import Parcel, Stage
from levelwind.shop.papers.services.sendings import reel_send_home


@transaction.atomic
def crate_send_home(*, parcel: Parcel, carrier: str = "", tracking: str = "", by: str = "") -> int:
    """Every reel of the crate that is boxed leaves in one parcel, each with its own proof. Returns how many.

    Raises LevelwindError where none is boxed.
    """
    Parcel.objects.select_for_update().get(pk=parcel.pk)
    boxed = [job for job in parcel_jobs(parcel) if job.stage == Stage.BOXED]
    if not boxed:
        raise LevelwindError("No reel of this crate is boxed: box them one by one first, each with its proof.")
    for job in boxed:
        sending = sending_of(job)
        sending.carrier, sending.tracking = carrier.strip(), tracking.strip()
        sending.full_clean()
        sending.save(update_fields=["carrier", "tracking"])
        reel_send_home(job=job, by=by)
    return len(boxed)
