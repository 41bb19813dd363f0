"""Ordering parts, and what happens when they come."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.writing import day_in_words
from levelwind.shop.jobs.selectors.jobs import parts_short
from levelwind.shop.jobs.services.jobs import job_note, job_turn
from levelwind.shop.models import Job, Part, PartOrder, Piece, Turn
from levelwind.shop.parts.selectors.suppliers import cost_from, days_of, supplier_key, supplier_rows
from levelwind.shop.parts.services.shelf import MOST_AT_ONCE, stock_bought


@transaction.atomic
def part_order_add(
    *,
    part: Part,
    count: int = 1,
    job: Job | None = None,
    piece: Piece | None = None,
    supplier: str = "",
    expected_on: date | None = None,
    by: str = "",
) -> PartOrder:
    """Order parts; a job of mine they are for is short of them. Expected when the part usually comes, or as said."""
    if not 1 <= count <= MOST_AT_ONCE:
        raise InputError("count", count, f"from 1 to {MOST_AT_ONCE}")
    today = timezone.localdate()
    supplier = supplier.strip() or part.supplier
    if expected_on is None and part.days_to_come is not None and supplier_key(supplier) == supplier_key(part.supplier):
        expected_on = today + timedelta(days=part.days_to_come)
    if expected_on is not None and expected_on < today:
        raise LevelwindError("That day is past: expect it today or later.")
    order = PartOrder(part=part, count=count, job=job, piece=piece, supplier=supplier, expected_on=expected_on)
    order.full_clean()
    order.save()
    if job is not None:
        job_note(job=job, text=f"{count} × {part} ordered.", by=by)
        if job.turn == Turn.MINE and not job.is_over:
            job_turn(job=job, turn=Turn.PART, by=by)
        elif job.short_of.casefold() in (part.number.casefold(), part.name.casefold(), str(part).casefold()):
            job.short_of = ""  # its order says so from now on
            job.save(update_fields=["short_of"])
    return order


MOST_WRONG = 10_000
"""Pieces of one order that came wrong; our choice: more is a slip of the finger."""


@dataclass(frozen=True, slots=True)
class Asked:
    """So many of a part, to be ordered of a supplier."""

    part: Part
    count: int
    supplier: str


@transaction.atomic
def orders_make(*, asked: Sequence[Asked], press: str, by: str = "") -> list[PartOrder]:
    """All these orders in one press. The same press again makes none, and gives those it made."""
    if not asked:
        raise LevelwindError("Nothing was chosen: tick what is to be ordered.")
    made = list(PartOrder.objects.filter(press=press)) if press else []
    if made:
        return made
    today = timezone.localdate()
    for each in asked:
        row = supplier_rows().filter(name__iexact=each.supplier).first()
        days = ceil(days_of(each.supplier, row).spread.likely)
        known = each.part.days_to_come is not None and supplier_key(each.supplier) == supplier_key(each.part.supplier)
        order = part_order_add(
            part=each.part,
            count=each.count,
            supplier=each.supplier,
            expected_on=None if known else today + timedelta(days=days),
            by=by,
        )
        order.press = press
        order.save(update_fields=["press"])
        made.append(order)
    return made


@transaction.atomic
def part_order_came(
    *,
    order: PartOrder,
    right: int,
    wrong: int = 0,
    rest_comes: bool = True,
    unit_cost_minor: int | None = None,
    by: str = "",
) -> PartOrder | None:
    """So many came as ordered and go onto the shelf, so many came and are something else.

    What is missing still comes, as an order that is given back, or does not. Where none came right the order stands.
    """
    order = _still_open(order)
    left = order.count - right
    if not 0 <= right <= order.count:
        raise InputError("how many came", right, f"from 0 to {order.count}, as ordered")
    if not 0 <= wrong <= MOST_WRONG or not (right or wrong):
        raise InputError("how many came wrong", wrong, f"up to {MOST_WRONG}, and more than 0 where none came right")
    order.wrong = min(order.wrong + wrong, MOST_WRONG)
    if not right:
        order.save(update_fields=["wrong"])
        return order
    order.count = right
    order.save(update_fields=["wrong", "count"])
    rest = None
    if left and rest_comes:
        rest = PartOrder(
            part=order.part,
            count=left,
            job=order.job,
            piece=order.piece,
            supplier=order.supplier,
            ordered_on=order.ordered_on,
            rest_of=order,
        )
        rest.full_clean()
        rest.save()
    part_order_arrived(order=order, unit_cost_minor=unit_cost_minor, by=by)
    return rest


@transaction.atomic
def part_order_arrived(*, order: PartOrder, unit_cost_minor: int | None = None, by: str = "") -> PartOrder:
    """The parts are here: onto the shelf with them, and it is my turn again when the job is short of nothing more.

    Each cost what the order's supplier asks for it, unless it is said.
    """
    order = _still_open(order)
    if unit_cost_minor is None:
        unit_cost_minor = cost_from(order.part, order.supplier)
    order.arrived_on = timezone.localdate()
    order.full_clean()
    order.save(update_fields=["arrived_on"])
    note = f"for {order.job.tag}" if order.job else ""
    stock_bought(part=order.part, count=order.count, unit_cost_minor=unit_cost_minor, note=note, by=by)
    if order.job is not None:
        job_note(job=order.job, text=f"{order.count} × {order.part} arrived.", by=by)
        _short_of_nothing(order.job, by)
    return order


@transaction.atomic
def part_order_call_off(*, order: PartOrder, by: str = "") -> None:
    """The order will not come."""
    order = _still_open(order)
    job = order.job
    if job is not None:
        job_note(job=job, text=f"Order of {order.count} × {order.part} called off.", by=by)
    order.delete()
    if job is not None:
        _short_of_nothing(job, by)


def _still_open(order: PartOrder) -> PartOrder:
    found = PartOrder.objects.select_for_update().filter(pk=order.pk).first()
    if found is None:
        raise LevelwindError("This order has been called off.")
    if found.arrived_on is not None:
        raise LevelwindError(
            f"{found} arrived on {day_in_words(found.arrived_on, long=True)} already and is on the shelf."
        )
    return found


def _short_of_nothing(job: Job, by: str) -> None:
    if job.turn == Turn.PART and not parts_short(job):
        job_turn(job=job, turn=Turn.MINE, by=by)
