"""How likely the low, the likely and the high of a price are to be enough. Only reads."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from levelwind.core.quantities import nearest
from levelwind.core.supply import Spread
from levelwind.core.supply.prices import Item, enough
from levelwind.shop.models import Price, PriceLine
from levelwind.shop.money.selectors import Totals


@dataclass(frozen=True, slots=True)
class Chances:
    """That what is to be done comes to no more than the low, the likely and the high sum."""

    low: float
    likely: float
    high: float
    mostly_minor: int
    """With tax: enough nine times in ten."""


def price_chances(prices: Sequence[Price], totals: Totals) -> Chances | None:
    """Of these prices together; None where nothing on them may turn out otherwise."""
    items = [item for price in prices for item in _items(price)]
    if not totals.high or all(item.chance == 1 and item.cost.low == item.cost.high for item in items):
        return None
    told = enough(items, (totals.low, totals.likely, totals.high), np.random.default_rng(prices[0].pk))
    taxed = nearest(Decimal(told.mostly) * totals.with_tax[2] / totals.high)
    low, likely, high = told.chances
    return Chances(low, likely, high, taxed)


def _items(price: Price) -> Iterator[Item]:
    for line in price.lines.all():
        yield Item(_where_needed(line), 1.0 if line.chance is None else line.chance)
    for chance, *ends in price.left_out:
        yield Item(Spread(*ends), chance)


def _where_needed(line: PriceLine) -> Spread:
    """What a line costs where it is needed: nothing at an end of a line of a chance only says that it is not in it."""
    if line.chance is None:
        return Spread(line.low_minor, line.likely_minor, line.high_minor)
    likely = line.likely_minor or line.high_minor
    return Spread(line.low_minor or likely, likely, line.high_minor)
