"""Suppliers: what a parcel of theirs costs, how long they take, and what they promised against what came."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from django.db.models import QuerySet

from levelwind.core.supply import Spread, through
from levelwind.core.supply.model import LONGEST_DAYS
from levelwind.shop.models import Part, PartOffer, PartOrder, Supplier

JUDGED = Spread(2, 7, 30)
"""Days until a part is there, of a supplier of whom nothing is known. A judgement; common practice, no source."""
FEWEST = 8
"""Parcels of a supplier from which its days are its own; below it they are what was said, or a judgement."""
NEWEST = 200
"""Of the past that is looked at; our choice: a supplier changes."""


@dataclass(frozen=True, slots=True)
class Days:
    """A spread, and what it rests on: ``record``, ``said`` or ``judged``."""

    spread: Spread
    rests: str
    cases: int = 0


def supplier_key(name: str) -> str:
    """By which a supplier is known, however the name is typed."""
    return name.strip().casefold()


def suppliers_by_key() -> dict[str, Supplier]:
    return {supplier_key(row.name): row for row in supplier_rows()}


def supplier_rows() -> QuerySet[Supplier]:
    return Supplier.objects.all()


def supplier_names() -> list[str]:
    """Every name that a part, an order or a row of its own has, each once whatever the case of its letters."""
    names: dict[str, str] = {}
    for model, field in ((Supplier, "name"), (Part, "supplier"), (PartOffer, "supplier"), (PartOrder, "supplier")):
        for name in model._default_manager.order_by().values_list(field, flat=True).distinct():
            if name.strip():
                names.setdefault(supplier_key(name), name.strip())
    return sorted(names.values(), key=str.casefold)


@dataclass(frozen=True, slots=True)
class Offered:
    """A part as one supplier has it; ``row`` is None where it stands on the part itself."""

    supplier: str
    cost_minor: int
    pack: int
    row: PartOffer | None = None

    @property
    def key(self) -> str:
        return supplier_key(self.supplier)


def offered(part: Part) -> tuple[Offered, ...]:
    """As it stands on the part, then of the others, the cheapest first; only what has a supplier and a cost."""
    usual = Offered(part.supplier.strip(), part.cost_minor, part.pack)
    rows = sorted(part.offers.all(), key=lambda row: (row.cost_minor, row.pk))
    others = (Offered(row.supplier, row.cost_minor, row.pack, row) for row in rows)
    known = [usual] if usual.supplier and usual.cost_minor else []
    return (*known, *(each for each in others if each.key != usual.key))


def cost_from(part: Part, supplier: str) -> int:
    """What one costs of that supplier, in minor units; of one not known to have it, as it stands on the part."""
    key = supplier_key(supplier)
    return next((each.cost_minor for each in offered(part) if each.key == key), part.cost_minor)


def days_taken(name: str = "") -> list[int]:
    """Days from order to shelf of the newest orders that came, of one supplier or of all."""
    came = PartOrder.objects.filter(arrived_on__isnull=False)
    came = came.filter(supplier__iexact=name) if name else came
    return [(each.arrived_on - each.ordered_on).days for each in came.order_by("-pk")[:NEWEST] if each.arrived_on]


def days_of(name: str, row: Supplier | None) -> Days:
    """A supplier's days: by its own record, else as said, else by all orders, else a judgement."""
    own = days_taken(name)
    if len(own) >= FEWEST:
        return Days(nine_in_ten(own), "record", len(own))
    if row and row.days_low is not None and row.days_likely is not None and row.days_high is not None:
        return Days(Spread(row.days_low, row.days_likely, row.days_high), "said")
    return Days(JUDGED, "judged", len(own))


def nine_in_ten(values: Sequence[float], most: float = LONGEST_DAYS) -> Spread:
    """Nine in ten of the cases, and their middle; none above ``most``, the longest that is looked ahead.

    >>> nine_in_ten([1, 2, 2, 3, 9000]).high
    3660.0
    """
    low, middle, high = (max(float(each), 0.0) for each in np.quantile(values, (0.05, 0.5, 0.95)))
    return no_more(through(low, middle, max(high, 0.5)), most)


def no_more(spread: Spread, most: float) -> Spread:
    """The same with no end above ``most``."""
    return Spread(*(min(each, float(most)) for each in spread.ends))


def days_named(name: str, named: int) -> Spread | None:
    """Around the days that a supplier named, as far as its own orders strayed from theirs; None with too few."""
    came = PartOrder.objects.filter(supplier__iexact=name, arrived_on__isnull=False, expected_on__isnull=False)
    rows = came.order_by("-pk").values_list("ordered_on", "expected_on", "arrived_on")[:NEWEST]
    shares = [(there - asked).days / max((day - asked).days, 1) for asked, day, there in rows if there and day]
    if len(shares) < FEWEST:
        return None
    spread = nine_in_ten(shares)
    return no_more(spread.times(max(named, 1)), LONGEST_DAYS)


@dataclass(frozen=True, slots=True)
class SupplierRecord:
    """What came of a supplier's orders."""

    orders: int
    came: int
    late: int
    """Of those that were expected on a day, how many came after it."""
    expected: int
    late_days: float
    """By how many days, in the mean of the late ones."""
    short: int
    """Orders of which a part did not come at first."""
    wrong: int
    """Pieces that came and were not what was ordered."""


def record_of(name: str) -> SupplierRecord:
    orders = list(PartOrder.objects.filter(supplier__iexact=name).order_by("-pk")[:NEWEST])
    came = [each for each in orders if each.arrived_on]
    expected = [each for each in came if each.expected_on]
    late = [(each.arrived_on - each.expected_on) for each in expected if each.arrived_on > each.expected_on]  # type: ignore[operator]
    return SupplierRecord(
        orders=sum(each.rest_of_id is None for each in orders),
        came=len(came),
        late=len(late),
        expected=len(expected),
        late_days=sum(late, timedelta()).days / len(late) if late else 0.0,
        short=sum(each.rest_of_id is not None for each in orders),
        wrong=sum(each.wrong for each in orders),
    )
