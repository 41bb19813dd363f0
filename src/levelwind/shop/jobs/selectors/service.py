"""When a reel that went home is due for a service, by the water it is fished in and the hours. Only reads."""

from datetime import datetime, timedelta
from math import ceil

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from levelwind.shop.models import Job, Sending, Shop, Stage

MONTH = timedelta(days=30.44)
"""The mean month of the Gregorian calendar, 365.2425 days over 12; close enough for "time for a service"."""
LONGEST_AGO_MONTHS = 48
"""Reels that left longer ago are written to no more. Our choice: four years on, the owner has another way."""


def service_months(job: Job, shop: Shop) -> int:
    """Months from leaving to the next service: by the water, or by the hours where they are used up sooner.

    >>> shop = Shop(service_months=12, service_months_salt=6, service_hours=100)
    >>> reels = Job(), Job(water="salt", hours_a_year=40), Job(water="salt", hours_a_year=400)
    >>> [service_months(reel, shop) for reel in reels]
    [12, 6, 3]
    """
    by_water = shop.service_months_salt if job.water == "salt" else shop.service_months
    return min(by_water, ceil(12 * shop.service_hours / job.hours_a_year)) if job.hours_a_year else by_water


def service_due(shop: Shop, now: datetime | None = None) -> QuerySet[Sending]:
    """Reels at home whose time has come, that were not here again since nor written to; the longest due first.

    One and the same reel is told by its known stays, by its serial number, or by its name where it has none.
    """
    now = now or timezone.now()
    by_water = Q(job__water="salt", sent_at__lte=now - shop.service_months_salt * MONTH)
    by_water |= ~Q(job__water="salt") & Q(sent_at__lte=now - shop.service_months * MONTH)
    for months in range(1, max(shop.service_months, shop.service_months_salt)):
        hours = ceil(12 * shop.service_hours / months)
        by_water |= Q(job__hours_a_year__gte=hours, sent_at__lte=now - months * MONTH)
    later = Job.objects.filter(booked_in_at__gt=OuterRef("job__booked_in_at"))
    by_name = Q(owner=OuterRef("job__owner"), serial="", reel=OuterRef("job__reel"))
    by_serial = Q(owner=OuterRef("job__owner"), serial=OuterRef("job__serial")) & ~Q(serial="")
    again = later.filter(Q(history=OuterRef("job__history")) | by_serial | by_name)
    at_home = Sending.objects.filter(
        job__stage=Stage.HOME, sent_at__gt=now - LONGEST_AGO_MONTHS * MONTH, job__owner__forgotten_on=None
    )
    due = at_home.filter(by_water).exclude(job__letters__kind="service").filter(~Exists(again))
    return due.select_related("job__owner", "job__pattern").order_by("sent_at", "pk")
