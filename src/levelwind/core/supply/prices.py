"""What a billed hour costs a shop, and how likely a price is to be enough. Money is in whole minor units."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.quantities import nearest
from levelwind.core.supply.model import Spread
from levelwind.core.supply.spreads import Generator, drawn

OUTCOMES = 10_000
"""Outcomes that a chance is counted from. Our choice: it is then known to half of 1 %."""


@dataclass(frozen=True, slots=True)
class Hours:
    """What was paid in some time, and the hours of it."""

    costs_minor: int
    """Rent, post, insurance: all that is paid whatever is mended."""
    pay_minor: int
    """What an hour of one's own work is to bring."""
    worked: Decimal
    """Hours at the bench and beside it."""
    billed: Decimal
    """Hours of them that owners paid for."""


def hour_cost(hours: Hours) -> int:
    """(costs + pay · hours worked) / hours billed, rounded once to the nearest minor unit, halves up.

    It is the rate at which what is billed pays for all that is worked: common practice, no source.

    >>> hour_cost(Hours(600_000, 2_500, Decimal(1200), Decimal(900)))
    4000
    """
    if hours.billed <= 0:
        raise InputError("hours billed", f"{hours.billed:f}", "more than 0")
    if hours.worked < 0 or hours.costs_minor < 0 or hours.pay_minor < 0:
        raise InputError("hours worked, costs and pay", "below 0", "0 or more")
    paid = hours.costs_minor + hours.pay_minor * hours.worked
    return nearest(paid / hours.billed)


def at_hour(minutes: float, hour_minor: int) -> int:
    """So many minutes at that hour, rounded as ``hour_cost``.

    >>> at_hour(50, 5999)
    4999
    """
    return nearest(Decimal(minutes) * hour_minor / 60)


@dataclass(frozen=True, slots=True)
class Item:
    """Something that a price may have to pay for: what it costs where it is needed, and the chance that it is."""

    cost: Spread
    chance: float = 1.0

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:
            raise InputError("chance that it is needed", f"{self.chance:g}", "a chance from 0 to 1")


@dataclass(frozen=True, slots=True)
class Enough:
    """For each sum the chance that all that is needed comes to no more; and a sum that is enough with ``MOSTLY``."""

    chances: tuple[float, ...]
    mostly: int


def enough(items: Sequence[Item], sums: Sequence[int], rng: Generator, many: int = OUTCOMES) -> Enough:
    """Each item is needed or not on its own; a chance is (k + ½)/(n + 1) of k of n outcomes.

    >>> gear = Item(Spread(30, 30, 30), chance=0.25)
    >>> enough([Item(Spread(100, 100, 100)), gear], [100, 130], np.random.default_rng(1))
    Enough(chances=(0.746, 0.9999), mostly=130)
    """
    total = np.zeros(many)
    for item in items:
        total += np.where(rng.random(many) < item.chance, drawn(item.cost, many, rng), 0.0)
    chances = tuple(float((np.sum(total <= most + ROUND) + 0.5) / (many + 1)) for most in sums)
    return Enough(chances, ceil(float(np.quantile(total, MOSTLY, method="inverted_cdf"))))


MOSTLY = 0.9
"""Share of outcomes. Our choice, as every interval here has nine in ten."""
ROUND = 0.5
"""Minor units; what is drawn has no whole ones, and is rounded as a bill's line is."""
