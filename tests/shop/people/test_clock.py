"""A clock that has gone back is asked about before anything is numbered by it, and taken at somebody's word."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.models import Job, Owner, Parcel, Shop
from levelwind.shop.money.selectors import DraftLine
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.people.clock import clock_behind, clock_is_right

pytestmark = pytest.mark.django_db
EPOCH = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)


def book_in() -> Job:
    reel = Job(reel="Skerry 50", complaint="the drag slips")
    return job_book_in(owner=Owner(name="Ansa Vell"), parcel=Parcel(), reels=[reel])[0]


def test_nothing_is_booked_in_or_billed_by_a_clock_in_1970(monkeypatch: pytest.MonkeyPatch, client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench")
    job, real = book_in(), timezone.now
    monkeypatch.setattr(timezone, "now", lambda: EPOCH)
    for does in (book_in, lambda: _bill(job)):
        with pytest.raises(LevelwindError, match=r"clock says 1 January 1970, 00:05, but the book's last entry is of"):
            does()
    assert [(job.tag[:3], Job.objects.count()) for job in Job.objects.all()] == [(f"{real():%y}-", 1)]
    assert "until then nothing is booked in or billed" in client.get("/counter/").content.decode()
    client.post("/counter/clock/right/")
    assert book_in().tag == "70-0001", "somebody said so"
    monkeypatch.setattr(timezone, "now", lambda: EPOCH - timedelta(days=3))
    assert clock_behind() is not None, "further back is asked about again"
    monkeypatch.setattr(timezone, "now", real)
    assert clock_behind() is None


def _bill(job: Job) -> Any:
    bill_draft_save(job=job, lines=[DraftLine("work", "service", 1000)])
    return bill_make(job=job)


def test_a_new_book_an_hour_of_summer_time_and_a_clock_ahead_are_no_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    assert clock_behind() is None
    book_in()
    now = timezone.now()
    for other in (now - timedelta(hours=23), now + timedelta(days=400)):
        monkeypatch.setattr(timezone, "now", lambda other=other: other)
        assert clock_behind() is None
    monkeypatch.setattr(timezone, "now", lambda: now - timedelta(days=2))
    assert clock_behind() is not None
    clock_is_right()
    assert clock_behind() is None
