"""Reels whose time for a service has come: by the water and the hours, not here again, not written to."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.jobs.selectors.service import MONTH, service_due, service_months
from levelwind.shop.letters.selectors import letter_offer
from levelwind.shop.models import Job, LetterKind, Owner, Sending, Shop, Stage
from tests.jobs import a_job
from tests.pages import typed_into

pytestmark = pytest.mark.django_db


def gone(tag: str, months: float, **facts: object) -> Job:
    left = timezone.now() - months * MONTH
    job = a_job(tag, reel=f"reel {tag}", stage=Stage.HOME, booked_in_at=left - timedelta(days=9), **facts)
    Sending.objects.create(job=job, sent_at=left)
    return job


def due() -> list[str]:
    return [row.job.tag for row in service_due(Shop.objects.get())]


def test_each_reel_is_due_by_its_own_use_and_its_letter_is_ready(client: Client) -> None:
    shop = Shop.objects.create(pk=1, name="Bench", service_months=12, service_months_salt=6, service_hours=100)
    assert "No reel is due" in client.get("/counter/service/").content.decode()
    gone("26-0001", 11.9)
    plain = gone("26-0002", 12.1)
    salt = gone("26-0003", 6.1, water="salt")
    gone("26-0004", 5.9, water="salt", hours_a_year=100)
    hard = gone("26-0005", 3.1, water="fresh", hours_a_year=400)
    gone("26-0006", 2.9, water="fresh", hours_a_year=400)
    gone("26-0007", 49)
    ends = [(job.tag, service_months(job, shop)) for job in Job.objects.order_by("tag")]
    assert ends == [
        ("26-0001", 12),
        ("26-0002", 12),
        ("26-0003", 6),
        ("26-0004", 6),
        ("26-0005", 3),
        ("26-0006", 3),
        ("26-0007", 12),
    ]
    assert due() == ["26-0002", "26-0003", "26-0005"]
    assert all(letter_offer(job, LetterKind.SERVICE).due for job in (plain, salt, hard))
    shown = client.get("/counter/service/").content.decode()
    assert (
        "due after 3 months, fresh water, 400 hours a year" in shown
        and 'href="/counter/service/"' in client.get("/counter/").content.decode()
    )
    new = f"/jobs/{hard.tag}/letters/new/service/"
    assert new in shown
    client.post(new, typed_into(client.get(new)))
    assert due() == ["26-0002", "26-0003"]
    a_job("26-0008", owner=salt.owner, reel=salt.reel)
    Owner.objects.filter(pk=plain.owner_id).update(forgotten_on=timezone.localdate())
    assert due() == []


def test_the_water_and_the_hours_are_typed_where_the_reel_is(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench")
    job = a_job()
    typed = typed_into(client.get("/jobs/26-0001/"), water="salt", hours_a_year="250")
    assert client.post("/jobs/26-0001/", typed).status_code == 302
    job.refresh_from_db()
    assert (job.water, job.hours_a_year) == ("salt", 250)
    assert "hours_a_year" in client.post("/jobs/26-0001/", typed | {"hours_a_year": "0"}).content.decode()
    job.refresh_from_db()
    assert job.hours_a_year == 250
