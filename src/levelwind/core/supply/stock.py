"""What goes in to an order: suppliers, parts with what was used of them, and what waiting and keeping cost.

Money is in whole minor units of one currency (cents); what is expected of it is a float of the same.
"""

from dataclasses import dataclass
from math import isfinite

from levelwind.core.errors import InputError
from levelwind.core.supply.model import Spread

MOST_PARTS, MOST_SUPPLIERS = 20_000, 200
"""Parts and suppliers of one order. Our choice: what is answered in seconds."""
MOST_UNITS = 2000
"""Units of a part in stock, on order, needed or used in a month. Our choice: a shop of reels has no more."""
MOST_MONTHS = 600
"""Months of use, fifty years. Our choice."""


@dataclass(frozen=True, slots=True)
class Supplier:
    """Who sends parts: how long it takes, what a parcel costs."""

    key: str
    days: Spread
    """From the order to the shelf."""
    name: str = ""
    postage: int = 0
    minimum: int = 0
    """Smallest order taken, goods alone."""
    free_from: int | None = None
    """Goods from which the postage is free; None: never."""

    def __post_init__(self) -> None:
        for what, money in (("postage", self.postage), ("minimum", self.minimum), ("free from", self.free_from or 0)):
            if money < 0:
                raise InputError(f"{what} of {self.key}", money, "0 or more")
        if not 0 < self.days.high <= 3660:
            raise InputError(f"days of {self.key}", f"{self.days.high:g}", "more than 0, up to ten years")


@dataclass(frozen=True, slots=True)
class Offer:
    """A part as one supplier has it."""

    supplier: str
    price: int
    """A unit, in minor units."""
    pack: int = 1
    """Units that are sold together."""


@dataclass(frozen=True, slots=True)
class LastBuy:
    """The part goes out of production: what is bought now must last."""

    years: float
    missing: int
    """What it costs, in minor units, when a job needs one and there is none: the profit that is lost."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the shelf: what there is, what is needed, what was used in each month, the oldest first."""

    key: str
    offers: tuple[Offer, ...]
    used: tuple[int, ...] = ()
    name: str = ""
    stock: int = 0
    on_order: int = 0
    needed: int = 0
    """Units that jobs in hand are short of or will take for sure."""
    maybe: tuple[float, ...] = ()
    """Chances of further units that jobs in hand may take, one each."""
    waiting: float | None = None
    """What a day of waiting for one costs, in minor units; None: as for every other part."""
    last_buy: LastBuy | None = None
    sold_for: int | None = None
    """What the owner pays for it, in minor units; None: not told."""

    def __post_init__(self) -> None:
        if not self.offers:
            raise InputError(f"offers of {self.key}", "none", "a supplier and a price")
        for offer in self.offers:
            if self.sold_for is not None and self.sold_for < offer.price:
                raise InputError(
                    f"price that {self.key} is sold for", self.sold_for, f"at least its cost of {offer.price}"
                )
            if offer.price <= 0:
                raise InputError(f"cost of {self.key}", offer.price, "more than 0")
            if not 1 <= offer.pack <= MOST_UNITS:
                raise InputError(f"pack of {self.key}", offer.pack, f"from 1 to {MOST_UNITS}")
        counts = {"stock": self.stock, "on order": self.on_order, "needed": self.needed}
        counts |= {f"used in month {n}": each for n, each in enumerate(self.used, 1)}
        for what, count in counts.items():
            if not 0 <= count <= MOST_UNITS:
                raise InputError(f"{what}, {self.key}", count, f"a whole number from 0 to {MOST_UNITS}")
        if len(self.used) > MOST_MONTHS:
            raise InputError(f"months of use of {self.key}", len(self.used), f"up to {MOST_MONTHS}")
        if not all(0 <= chance <= 1 for chance in self.maybe):
            raise InputError(f"maybe of {self.key}", self.maybe, "chances from 0 to 1")
        self._refuse_last_buy()

    def _refuse_last_buy(self) -> None:
        if self.waiting is not None and not (isfinite(self.waiting) and self.waiting >= 0):
            raise InputError(f"cost of waiting for {self.key}", self.waiting, "0 or more")
        if self.last_buy is None:
            return
        if not 0 < self.last_buy.years <= 50:
            raise InputError(f"years of {self.key}", self.last_buy.years, "more than 0, up to 50")
        if self.last_buy.missing <= self.price:
            raise InputError(
                f"missing cost of {self.key}", self.last_buy.missing, f"more than its price of {self.price}"
            )

    @property
    def position(self) -> int:
        """Units free for what is yet to come; below nothing where jobs wait."""
        return self.stock + self.on_order - self.needed

    @property
    def price(self) -> int:
        """The lowest, at which a unit on the shelf is worth what it cost."""
        return min(offer.price for offer in self.offers)


@dataclass(frozen=True, slots=True)
class Shelf:
    """All that an order is made up from."""

    suppliers: tuple[Supplier, ...]
    parts: tuple[Part, ...]
    next_days: int
    """Days until the next chance to order."""
    cover_days: int
    """Days after that for which the plan looks ahead: about how far apart orders are."""
    holding_a_year: float
    """What keeping costs a year, as a share of the price: money tied up, room, parts nobody asks for any more."""
    waiting: float
    """What a day costs that a job waits for a part, in minor units."""

    def __post_init__(self) -> None:
        if not 1 <= len(self.parts) <= MOST_PARTS or not 1 <= len(self.suppliers) <= MOST_SUPPLIERS:
            had = f"{len(self.parts)} parts, {len(self.suppliers)} suppliers"
            raise InputError("order", had, f"1 to {MOST_PARTS} parts, 1 to {MOST_SUPPLIERS} suppliers")
        if not (1 <= self.next_days <= 366 and 1 <= self.cover_days <= 732):
            raise InputError(
                "days", f"{self.next_days} and {self.cover_days}", "1 to 366 to the next order, 1 to 732 to cover"
            )
        if not 0 < self.holding_a_year <= 5:
            raise InputError("holding a year", self.holding_a_year, "more than 0, up to 5 (as a share of the price)")
        if not (isfinite(self.waiting) and self.waiting >= 0):
            raise InputError("cost of waiting", self.waiting, "0 or more")
        self._refuse_doubles_and_strangers()

    def _refuse_doubles_and_strangers(self) -> None:
        keys = [supplier.key for supplier in self.suppliers]
        for what, names in (("supplier", keys), ("part", [part.key for part in self.parts])):
            if len(set(names)) < len(names):
                raise InputError(
                    what, repr(next(name for name in names if names.count(name) > 1)) + " twice", "each once"
                )
        known = set(keys)
        for part in self.parts:
            for offer in part.offers:
                if offer.supplier not in known:
                    raise InputError(f"supplier of {part.key}", repr(offer.supplier), "one of " + ", ".join(keys))

    def supplier(self, key: str) -> Supplier:
        return next(supplier for supplier in self.suppliers if supplier.key == key)
