"""What to order today and what may wait, worked out from the shelf, for a page."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from levelwind.core.quantities import Quantity, whole
from levelwind.core.supply.ordering import LASTS, Parcel, Plan, order
from levelwind.core.supply.stock import Part as Stocked
from levelwind.shop.models import Part
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


@dataclass(frozen=True, slots=True)
class PlanParcel:
    supplier: str
    lines: tuple[PlanLine, ...]
    goods_minor: int
    postage_minor: int


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
    lines = _lines(plan, found)
    return OrderPlan(
        today=tuple(_parcel(parcel, found, lines) for parcel in plan.today),
        wait=tuple(_parcel(parcel, found, lines) for parcel in plan.wait),
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


def _lines(plan: Plan, found: ToOrder) -> Known:
    assert found.shelf is not None
    rows = zip(found.shelf.parts, plan.demands, plan.keep, strict=True)
    return {part.key: (demand.a_month, keep) for part, demand, keep in rows}


def _parcel(parcel: Parcel, found: ToOrder, known: Known) -> PlanParcel:
    lines = tuple(
        PlanLine(found.parts[line.part.key], line.units, line.cost, *known[line.part.key], line.part)
        for line in parcel.lines
    )
    return PlanParcel(found.suppliers[parcel.supplier.key], lines, parcel.goods, parcel.postage)
