"""Ordering parts: the job is short of them, and it is my turn again when the last of them is here."""

from datetime import timedelta

import pytest
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.selectors.jobs import job_get, next_move, turn_words
from levelwind.shop.jobs.services.jobs import job_move, job_turn
from levelwind.shop.models import Part, PartOrder, Price, Stage, Turn
from levelwind.shop.money.services.prices import price_draft, price_send, word_record
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


def test_a_job_is_short_of_a_part_until_all_are_here(part: Part) -> None:
    job = a_job()
    first, second = (part_order_add(part=part, job=job) for _ in range(2))
    job.refresh_from_db()
    assert job.turn == Turn.PART
    part_order_arrived(order=first)
    job.refresh_from_db()
    assert job.turn == Turn.PART
    part_order_arrived(order=second)
    job.refresh_from_db()
    assert job.turn == Turn.MINE
    assert stock_of(part).new == 2
    assert part.entries.first().unit_cost_minor == 400


def test_the_owners_turn_stays_his_when_a_part_comes(part: Part) -> None:
    job = a_job()
    order = part_order_add(part=part, job=job)
    job_move(job=job, stage=Stage.PRICE_SENT, turn=Turn.OWNER)
    part_order_arrived(order=PartOrder.objects.get(pk=order.pk))
    job.refresh_from_db()
    assert job.turn == Turn.OWNER


def test_a_part_that_was_named_and_not_ordered_is_not_made_good_by_another(part: Part) -> None:
    job = a_job()
    job_turn(job=job, turn=Turn.PART, short_of="star spring")
    order = part_order_add(part=part, job=job)
    assert turn_words(job) == "short of parts: star spring; dog"
    assert next_move(job).words == "Wait for what is on order"
    part_order_arrived(order=order)
    job = job_get(job.tag)
    assert (turn_words(job), next_move(job).words) == ("short of a part: star spring", "Find the part")


@pytest.mark.parametrize("named", ["Dog", "d-1", "D-1 dog"])
def test_an_order_answers_the_part_that_was_named(part: Part, named: str) -> None:
    job = a_job()
    job_turn(job=job, turn=Turn.PART, short_of=named)
    order = part_order_add(part=part, job=job)
    assert turn_words(job_get(job.tag)) == "short of a part: dog"
    part_order_arrived(order=PartOrder.objects.get(pk=order.pk))
    assert turn_words(job_get(job.tag)) == "my turn"


def test_what_is_ordered_while_it_is_the_owners_turn_counts_after_his_word(part: Part) -> None:
    price = price_draft(job=a_job())
    price_send(price=price)
    part_order_add(part=part, job=price.job)
    assert turn_words(job_get(price.job.tag)) == "the owner's turn"
    word_record(price=Price.objects.get(), said="yes", how="phone")
    assert turn_words(job_get(price.job.tag)) == "short of a part: dog"


def test_what_arrived_arrives_once(part: Part) -> None:
    order = part_order_add(part=part)
    part_order_arrived(order=order)
    with pytest.raises(LevelwindError, match=r"arrived on .* already"):
        part_order_arrived(order=order)
    with pytest.raises(LevelwindError, match="already"):
        part_order_call_off(order=order)
    assert stock_of(part).new == 1


def test_an_order_called_off_leaves_the_job_short_of_nothing(part: Part) -> None:
    job = a_job()
    order = part_order_add(part=part, job=job)
    part_order_call_off(order=order)
    job.refresh_from_db()
    assert job.turn == Turn.MINE and not part.orders.exists()
    with pytest.raises(LevelwindError, match="called off"):
        part_order_arrived(order=order)


@pytest.mark.parametrize("count", [0, -3, 99_999])
def test_an_absurd_order_is_refused(part: Part, count: int) -> None:
    with pytest.raises(InputError, match="count was"):
        part_order_add(part=part, count=count)


def test_nothing_is_expected_yesterday(part: Part) -> None:
    with pytest.raises(LevelwindError, match="That day is past"):
        part_order_add(part=part, expected_on=timezone.localdate() - timedelta(days=1))
