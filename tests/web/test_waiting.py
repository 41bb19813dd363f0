"""Who is waited for, since when, and what that does to the promise."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.jobs.selectors.jobs import bench_tally, days_left, job_get, next_move, waiting_words
from levelwind.shop.jobs.services.jobs import job_turn
from levelwind.shop.models import Job, Price, Shop, Stage, Turn
from levelwind.shop.money.services.prices import price_line_add, price_promise, price_send, word_record
from levelwind.shop.parts.services.orders import part_order_add, part_order_arrived
from levelwind.shop.parts.services.shelf import part_add, stock_take
from tests.jobs import a_job

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


@pytest.fixture
def job() -> Job:
    Shop.objects.create(pk=1, name="Bench", ask_again_days=5)
    job = a_job(stage=Stage.LOOKED_OVER)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service")
    price_promise(job=job, day=TODAY + timedelta(days=3))
    price_send(price=price)
    return job


def _days_ago(days: int) -> Job:
    then = timezone.now() - timedelta(days=days)
    Job.objects.update(waiting_since=then, paused_since=then, promised_on=TODAY + timedelta(days=3 - days))
    return job_get("26-0001")


def test_a_silent_owner_is_not_the_shops_lateness(client: Client, job: Job) -> None:
    fresh = _days_ago(4)
    assert next_move(fresh).words == "Wait for the owner"
    fresh = _days_ago(6)
    assert (next_move(fresh).words, days_left(fresh, TODAY), bench_tally().late) == ("Ask the owner again", 3, 0)
    assert "6 days; the promise waits" in waiting_words(fresh, TODAY)
    assert "6 days; the promise waits" in client.get("/").content.decode()
    assert "Write down: asked again today" in client.get("/jobs/26-0001/price/").content.decode()
    client.post("/jobs/26-0001/price/asked/")
    fresh = job_get("26-0001")
    assert (next_move(fresh).words, days_left(fresh, TODAY)) == ("Wait for the owner", 3)
    word_record(price=Price.objects.get(), said="yes", how="phone")
    fresh = job_get("26-0001")
    assert (fresh.promised_on, fresh.waiting_since, fresh.paused_since) == (TODAY + timedelta(days=3), None, None)
    assert fresh.events.filter(text__startswith="The promise waited 6 days").exists()
    assert "nobody is waited for" in client.post("/jobs/26-0001/price/asked/", follow=True).content.decode()


def test_what_was_late_before_it_waited_stays_late(job: Job) -> None:
    Job.objects.update(promised_on=TODAY - timedelta(days=2))
    assert (bench_tally().late, days_left(job_get("26-0001"), TODAY)) == (1, -2)


def test_one_part_ordered_and_others_unfound_waits_for_both(client: Client, job: Job) -> None:
    """Three pieces are bad: one on order, one taken from the shelf, one nobody has found."""
    job_turn(job=job, turn=Turn.MINE)
    part = part_add(number="S 1", name="star spring", count=1)
    pieces = [
        job.pieces.create(place=name, name=name, state="worn", where="cell", cell=n) for n, name in enumerate("abc")
    ]
    part_order_add(part=part, job=job, piece=pieces[0])
    assert next_move(job_get("26-0001")).words == "Find 2 more parts"
    stock_take(part=part, job=job, piece=pieces[1])
    assert next_move(job_get("26-0001")).words == "Find 1 more part"
    assert "Find 1 more part" in client.get("/").content.decode()
    part_order_add(part=part, job=job, piece=pieces[2])
    assert next_move(job_get("26-0001")).words == "Wait for what is on order"


def test_from_the_owner_to_a_part_the_promise_waits_on(client: Client, job: Job) -> None:
    fresh = _days_ago(2)
    part = part_add(number="S 1", name="star spring")
    day = TODAY + timedelta(days=9)
    order = part_order_add(part=part, job=fresh, expected_on=day)
    job_turn(job=fresh, turn=Turn.PART)
    fresh = job_get("26-0001")
    assert f"star spring expected {day:%-d %b}; the promise waits" in waiting_words(fresh, TODAY)
    assert f"star spring expected {day:%-d %b}" in client.get("/jobs/26-0001/").content.decode()
    part_order_arrived(order=order)
    assert Job.objects.get().promised_on == TODAY + timedelta(days=3)
