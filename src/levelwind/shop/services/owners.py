"""Writing owners into the book."""

from django.db import transaction

from levelwind.shop.models import Job, Owner
from levelwind.shop.services.jobs import job_note


@transaction.atomic
def owner_add(*, owner: Owner) -> Owner:
    """Write an unsaved owner into the book. Raises django's ValidationError where the model refuses a value."""
    owner.full_clean()
    owner.save(force_insert=True)
    return owner


@transaction.atomic
def job_owner_change(*, job: Job, owner: Owner, whole_parcel: bool = False, by: str = "") -> None:
    """Put a job right that was booked in for the wrong owner; with ``whole_parcel`` every reel that came with it."""
    jobs = job.parcel.jobs.exclude(owner=owner).select_related("owner")
    for other in jobs if whole_parcel else jobs.filter(pk=job.pk):
        job_note(job=other, text=f"Owner put right: {owner}, not {other.owner}.", by=by)
        other.owner = owner
        other.full_clean()
        other.save(update_fields=["owner"])
    if not job.parcel.jobs.exclude(owner=owner).exists():
        job.parcel.owner = owner
        job.parcel.save(update_fields=["owner"])
