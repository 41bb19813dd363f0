"""Hours and days off, dates foretold on a job's pages, and what came of promises."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import DayOff, Job, Promise, Sending, Stage
from levelwind.shop.money.promises import promise_record
from levelwind.shop.money.services.prices import price_draft
from levelwind.shop.people.selectors import shop_get
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def said(client: Client, url: str, **headers: str) -> str:
    return client.get(url, headers=headers).content.decode()


def test_hours_and_days_off_are_kept_put_right_and_taken_out(client: Client) -> None:
    client.post("/counter/hours/", dict.fromkeys(DAYS[:5], "6.5"))
    assert shop_get().hours == [6.5] * 5 + [0.0] * 2
    wrong = client.post("/counter/hours/", {"monday": "25"})
    assert wrong.status_code == 422 and "can be 24 at most" in wrong.content.decode()
    today = timezone.localdate()
    client.post("/counter/hours/off/", {"first": today, "last": today + timedelta(days=3), "what": "the fair"})
    backwards = client.post("/counter/hours/off/", {"first": today, "last": today - timedelta(days=1)})
    assert backwards.status_code == 422 and "Last day off can be" in backwards.content.decode()
    page = said(client, "/counter/hours/")
    assert 'value="6.5"' in page and "the fair" in page
    for _ in range(2):  # pressed twice
        client.post("/counter/hours/off/", {"remove": DayOff.objects.values_list("pk", flat=True).first() or 1})
    assert not DayOff.objects.exists()
    client.post("/counter/hours/", {})
    assert shop_get().hours == []


def test_the_price_asks_the_bench_and_one_press_promises(client: Client) -> None:
    price_draft(job=a_job(stage=Stage.LOOKED_OVER, pattern=a_pattern()))
    assert "Enter your hours at the bench" in said(client, "/jobs/26-0001/price/")
    assert "until the shop says" in said(client, "/jobs/26-0001/ready/")
    client.post("/counter/hours/", dict.fromkeys(DAYS, "6"))
    assert 'hx-get="/jobs/26-0001/ready/"' in said(client, "/jobs/26-0001/price/")
    dates = said(client, "/jobs/26-0001/ready/", **{"hx-request": "true"})
    assert "with 80\N{NO-BREAK SPACE}%" in dates and "a judgement, until eight answers" in dates
    assert "<html" not in dates
    assert "a judgement, until eight priced reels" in dates
    day = dates.split('value="20', 1)[1][:8]
    client.post("/jobs/26-0001/price/promise/", {"promised_on": f"20{day}"})
    job = Job.objects.get()
    assert job.promised_on is not None and job.promise_chance is not None
    whole = said(client, "/jobs/26-0001/ready/")
    assert "What was promised before" in whole and "<html" in whole
    assert "when it was promised" in said(client, "/jobs/26-0001/price/")
    assert "No promised reel went home yet" in said(client, "/counter/promises/")


def test_a_day_off_that_no_page_names_is_not_taken_out(client: Client) -> None:
    assert client.post("/counter/hours/off/", {"remove": "9" * 30}).status_code == 422


def test_promises_told_and_kept_are_drawn_once_there_are_enough(client: Client) -> None:
    """Ten promised with 80 %, eight kept: a mark at 80 % told, with its range about the share kept."""
    job = a_job()
    Sending.objects.create(job=job, sent_at=timezone.now())
    today = timezone.localdate()
    for n in range(10):
        Promise.objects.create(job=job, day=today - timedelta(days=n >= 8), chance=0.8, at=timezone.now())
    assert "<svg" in said(client, "/counter/promises/")
    (band,) = promise_record().bands
    assert (band.kept, band.of) == (8, 10)
    low, high = band.range
    assert (round(low, 3), round(high, 3)) == (0.548, 0.94)
