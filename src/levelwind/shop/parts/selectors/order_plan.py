"""What to order today and what may wait, worked out from the shelf, for a page."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from levelwind.core.quantities import Quantity, whole
from levelwind.core.supply.ordering import LASTS, Parcel, Plan, order
from levelwind.core.supply.stock import Part as Stocked
from levelwind.shop.models import Part
from levelwind.shop.parts.selectors.suppliers import Offered, offered
from levelwind.shop.parts.selectors.to_order import ToOrder, to_order


@dataclass(frozen=True, slots=True)
class PlanLine:
    """So many of a part, and what the number rests on."""

    part: Part
    units: int
    cost_minor: int
    a_month: Quantity
    keep: int
    told: Stocked
    offers: tuple[Offered, ...]
    supplier: str
    """The key of the one it is to be ordered of."""
    key: str
    """Of the line on its page: a part may come in two parcels."""


@dataclass(frozen=True, slots=True)
class PlanParcel:
    supplier: str
    lines: tuple[PlanLine, ...]
    goods_minor: int
    postage_minor: int
    moved_minor: int | None
    """What it is expected to cost more to let it wait, or to order today what may wait; None with a last buy in it."""


@dataclass(frozen=True, slots=True)
class PlanLast:
    """A last buy, and how long it lasts with ``chance``."""

    part: Part
    units: int
    years: float
    or_more: bool
    chance: float


@dataclass(frozen=True, slots=True)
class OrderPlan:
    """Money in minor units, rounded once."""

    today: tuple[PlanParcel, ...]
    wait: tuple[PlanParcel, ...]
    next_day: date
    cost_minor: int
    low_minor: int
    high_minor: int
    more_if_waits_minor: int | None
    """What it costs more to order nothing today; None where a last buy must be, or nothing is ordered today."""
    proven: bool
    gap: float
    last_buys: tuple[PlanLast, ...]
    parts: int
    left: ToOrder


def order_plan(today: date) -> OrderPlan | None:
    """None where no part that is used or needed has a supplier and a cost.

    Raises NotDeterminedError where a last buy cannot be ordered.
    """
    found = to_order(today)
    if found.shelf is None:
        return None
    plan = order(found.shelf, np.random.default_rng(len(found.parts)))
    more = None
    if plan.if_all_waits is not None and plan.today:
        more = whole(max(plan.if_all_waits - plan.cost.value, 0.0))
    known = _known(plan, found)
    today_parcels, wait = (
        tuple(_parcel(parcel, found, known, f"{when}{n}") for n, parcel in enumerate(parcels))
        for when, parcels in (("t", plan.today), ("w", plan.wait))
    )
    return OrderPlan(
        today=today_parcels,
        wait=wait,
        next_day=today + timedelta(days=found.shelf.next_days),
        cost_minor=whole(plan.cost.value),
        low_minor=whole(plan.cost.low),
        high_minor=whole(plan.cost.high),
        more_if_waits_minor=more,
        proven=plan.proven,
        gap=plan.gap,
        last_buys=tuple(
            PlanLast(found.parts[each.part.key], each.units, each.years, each.years_are_more, LASTS)
            for each in plan.last_buys
        ),
        parts=len(found.parts),
        left=found,
    )


Known = Mapping[str, tuple[Quantity, int]]


def _known(plan: Plan, found: ToOrder) -> Known:
    assert found.shelf is not None
    rows = zip(found.shelf.parts, plan.demands, plan.keep, strict=True)
    return {part.key: (demand.a_month, keep) for part, demand, keep in rows}


def _parcel(parcel: Parcel, found: ToOrder, known: Known, key: str) -> PlanParcel:
    lines = []
    for line in parcel.lines:
        part, told = found.parts[line.part.key], line.part
        units, by, named = (line.units, line.cost), parcel.supplier.key, f"{part.pk}-{key}"
        lines.append(PlanLine(part, *units, *known[told.key], told, offered(part), by, named))
    moved = None if parcel.moved is None else whole(max(parcel.moved, 0.0))
    return PlanParcel(found.suppliers[parcel.supplier.key], tuple(lines), parcel.goods, parcel.postage, moved)
