"""A few arrivals of the invented shop, told twice from nothing: the same comes of them."""

from random import Random

import pytest
from django.db import transaction

from levelwind.demo.clock import scripted_clock
from levelwind.demo.seed import SEED, tell
from levelwind.demo.stays import CURRENT, Arrival, past
from levelwind.demo.teller import Teller
from levelwind.shop.models import Job, Part, Reading
from levelwind.shop.parts.selectors.shelf import stock_entries

pytestmark = [pytest.mark.django_db, pytest.mark.full_size]

SOME: tuple[Arrival, ...] = (*past(Random(SEED))[:3], *CURRENT[:2], CURRENT[38])
"""Some of the year before, some just booked in, one that went home with both logs."""


def test_the_same_arrivals_are_told_the_same_twice() -> None:
    first, second = _told(), _told()
    assert first == second
    assert len(first) == len(SOME)


def _told() -> dict[str, tuple[object, ...]]:
    """What the book says of them, and nothing of it left behind."""
    with transaction.atomic(), scripted_clock() as clock:
        tell(Teller(clock), SOME)
        told = {job.tag: _facts(job) for job in Job.objects.all()}
        assert Part.objects.exists()
        transaction.set_rollback(True)
    return told


def _facts(job: Job) -> tuple[object, ...]:
    readings = Reading.objects.filter(job=job).values_list("kind", "moment", "sha256", "typed")
    parts = stock_entries().filter(job=job).values_list("part__number", "change")
    happened = job.events.order_by("pk").values_list("at", "text")
    return (job.complaint, job.serial, job.stage, job.promised_on, *readings, *parts, *happened)
