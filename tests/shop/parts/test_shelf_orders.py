"""Ordering parts: the job waits for them, and waits no longer when the last of them is here."""

from datetime import timedelta

import pytest
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Part, PartOrder, Stage, Waiting
from levelwind.shop.parts.selectors.shelf import part_orders_open, stock_of
from levelwind.shop.parts.services.orders import part_order_add, part_order_arrived, part_order_call_off
from levelwind.shop.parts.services.shelf import part_add
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def part() -> Part:
    part = part_add(number="D-1", name="dog")
    part.days_to_come, part.supplier, part.cost_minor = 9, "Harbour Bench Supply", 400
    part.save()
    return part


def test_an_order_is_expected_when_the_part_usually_comes(part: Part) -> None:
    order = part_order_add(part=part, count=2)
    assert order.expected_on == timezone.localdate() + timedelta(days=9)
    assert order.supplier == "Harbour Bench Supply"
    assert list(part_orders_open(part)) == [order]


def test_a_job_waits_until_all_its_parts_are_here(part: Part) -> None:
    job = a_job()
    first, second = (part_order_add(part=part, job=job) for _ in range(2))
    job.refresh_from_db()
    assert job.waiting == Waiting.PARTS
    part_order_arrived(order=first)
    job.refresh_from_db()
    assert job.waiting == Waiting.PARTS
    part_order_arrived(order=second)
    job.refresh_from_db()
    assert job.waiting == Waiting.NOBODY
    assert stock_of(part).new == 2
    assert part.entries.first().unit_cost_minor == 400


def test_a_job_that_waits_for_its_owner_goes_on_waiting_for_him(part: Part) -> None:
    job = a_job()
    order = part_order_add(part=part, job=job)
    job_move(job=job, stage=Stage.PRICE_SENT, waiting=Waiting.OWNER)
    part_order_arrived(order=PartOrder.objects.get(pk=order.pk))
    job.refresh_from_db()
    assert job.waiting == Waiting.OWNER


def test_what_arrived_arrives_once(part: Part) -> None:
    order = part_order_add(part=part)
    part_order_arrived(order=order)
    with pytest.raises(LevelwindError, match=r"arrived on .* already"):
        part_order_arrived(order=order)
    with pytest.raises(LevelwindError, match="already"):
        part_order_call_off(order=order)
    assert stock_of(part).new == 1


def test_an_order_called_off_keeps_nobody_waiting(part: Part) -> None:
    job = a_job()
    order = part_order_add(part=part, job=job)
    part_order_call_off(order=order)
    job.refresh_from_db()
    assert job.waiting == Waiting.NOBODY and not part.orders.exists()
    with pytest.raises(LevelwindError, match="called off"):
        part_order_arrived(order=order)


@pytest.mark.parametrize("count", [0, -3, 99_999])
def test_an_absurd_order_is_refused(part: Part, count: int) -> None:
    with pytest.raises(InputError, match="count was"):
        part_order_add(part=part, count=count)


def test_nothing_is_expected_yesterday(part: Part) -> None:
    with pytest.raises(InputError, match="today or later"):
        part_order_add(part=part, expected_on=timezone.localdate() - timedelta(days=1))
