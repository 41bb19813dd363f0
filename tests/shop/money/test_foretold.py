"""Dates from the bench's futures: the shop's hours and days off, jobs in hand, what owners and suppliers took."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from levelwind.core.errors import InputError
from levelwind.shop.jobs.services.jobs import job_advance
from levelwind.shop.models import Job, Part, PartOrder, Price, PriceLine, Promise, Sending, Stage, Turn, Word
from levelwind.shop.money.foretold import chance_of, foretold
from levelwind.shop.money.promises import promise_record, promises_of
from levelwind.shop.money.services.prices import price_promise
from levelwind.shop.people.services import day_off_add, day_off_remove, hours_keep
from tests.jobs import a_job

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


def priced(tag: str, minutes: int, **facts: Any) -> Job:
    job = a_job(tag, **{"stage": Stage.AGREED} | facts)
    price = Price.objects.create(job=job, sent_at=timezone.now())
    money = {"low_minor": 90, "likely_minor": 100, "high_minor": 125}
    PriceLine.objects.create(price=price, kind="work", text="all of it", minutes=minutes, **money)
    return job


def test_without_hours_there_is_no_date() -> None:
    job = priced("26-0001", 60)
    assert (foretold(job), chance_of(job, TODAY)) == (None, None)
    hours_keep(hours=[6] * 7)
    assert foretold(job) is not None
    hours_keep(hours=[0] * 7)
    assert foretold(job) is None


def test_a_job_stands_behind_those_promised_before_it_and_no_day_off_is_promised() -> None:
    """Each takes about a day of four hours: the third is done on the third day, later by the days off between."""
    hours_keep(hours=[4] * 7)
    jobs = [priced(f"26-000{n}", 210, promised_on=TODAY + timedelta(days=n)) for n in range(1, 4)]
    told = [foretold(job) for job in jobs]
    assert all(told)
    first, *_, last = (each for each in told if each)
    assert first.sure < last.likely
    assert last.likely <= last.sure <= last.surest
    assert last.in_hand == 3
    assert "first" in [each.key for each in last.why.sooner]
    row = day_off_add(first=TODAY + timedelta(days=1), last=TODAY + timedelta(days=20), what="the fair")
    shut = foretold(jobs[2])
    assert shut is not None
    assert shut.sure == last.sure + timedelta(days=20)
    day_off_remove(pk=row.pk)
    assert foretold(jobs[2]) == last


def test_what_is_on_order_and_who_is_asked_is_waited_for() -> None:
    hours_keep(hours=[6] * 7)
    free = priced("26-0001", 60)
    part = Part.objects.create(number="SK-7", name="pawl")
    short = priced("26-0002", 60, turn=Turn.PART)
    PartOrder.objects.create(part=part, job=short, ordered_on=TODAY, expected_on=TODAY + timedelta(days=10))
    asked = priced("26-0003", 60, stage=Stage.PRICE_SENT, turn=Turn.OWNER, waiting_since=timezone.now())
    told = {job: foretold(job) for job in (free, short, asked)}
    assert told[free].surest <= TODAY + timedelta(days=2)  # type: ignore[union-attr]
    assert told[short].likely >= TODAY + timedelta(days=9)  # type: ignore[union-attr]
    assert "parts" in [each.key for each in told[short].why.sooner]  # type: ignore[union-attr]
    assert told[asked].why.owner > 2  # type: ignore[union-attr]


def test_the_shops_own_past_takes_the_place_of_judgements() -> None:
    """Eight owners who answered within two days, eight parcels that took three: no judgement any more."""
    hours_keep(hours=[6] * 7)
    job = priced("26-0001", 60)
    before = foretold(job)
    assert before is not None and not before.facts.owners.own and not before.facts.parts.own
    part = Part.objects.create(number="SK-7", name="pawl")
    for n in range(8):
        price = Price.objects.create(job=job, number=n + 2, sent_at=timezone.now() - timedelta(days=2))
        Word.objects.create(price=price, said="yes", how="phone")
        PartOrder.objects.create(part=part, ordered_on=TODAY - timedelta(days=3), arrived_on=TODAY)
    after = foretold(job)
    assert after is not None and after.facts.owners.own and after.facts.parts.own
    assert after.facts.owners.spread.likely == pytest.approx(2, abs=0.01)
    assert after.facts.parts.spread.high == 3


def test_each_promise_is_kept_and_held_against_what_came_of_it() -> None:
    """Promised, promised anew, moved by two days of waiting, gone home a day after the first and before the second."""
    hours_keep(hours=[6] * 7)
    job = priced("26-0001", 60)
    price_promise(job=job, day=TODAY + timedelta(days=1))
    assert job.promise_chance is not None and job.promise_chance > 0.5
    price_promise(job=job, day=TODAY + timedelta(days=3))
    job_advance(job=job, stage=Stage.AGREED, turn=Turn.OWNER)
    Job.objects.update(paused_since=timezone.now() - timedelta(days=2))
    job.refresh_from_db()
    job_advance(job=job, stage=Stage.AGREED, turn=Turn.MINE)
    assert [(each.day - TODAY).days for each in promises_of(job)] == [5, 3, 1]
    assert [each.foretold for each in promises_of(job)] == [False, True, True]
    Sending.objects.create(job=job, sent_at=timezone.now() + timedelta(days=4))
    record = promise_record()
    assert {(each.given.day - TODAY).days: (each.kept, each.late_days) for each in record.promises} == {
        3: (True, 0),
        1: (False, 3),
    }
    assert (record.kept, record.enough, sum(band.of for band in record.bands)) == (1, False, 2)
    assert Promise.objects.count() == 3


def test_odd_days_off_and_hours_are_refused() -> None:
    with pytest.raises(InputError, match="allowed is 2026-03-02 or up to"):
        day_off_add(first=date(2026, 3, 2), last=date(2026, 3, 1))
    with pytest.raises(InputError, match="hours was"):
        hours_keep(hours=[25, 0, 0, 0, 0, 0, 0])
