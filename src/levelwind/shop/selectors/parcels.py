"""Parcels and the reels that came in them."""

from django.db.models import QuerySet

from levelwind.shop.models import Job, Parcel


def parcel_get(pk: int) -> Parcel:
    """The parcel with its owner; raises Parcel.DoesNotExist."""
    return Parcel.objects.select_related("owner").get(pk=pk)


def parcel_jobs(parcel: Parcel) -> QuerySet[Job]:
    """All reels of the parcel by tag number, with owner and pattern."""
    return parcel.jobs.select_related("owner", "pattern").order_by("tag")
