"""Tax on sums in whole minor units, and a sum shared out without losing one of them."""

from collections.abc import Sequence
from decimal import Decimal

from levelwind.core.quantities import nearest


def tax_on(net: int, percent: Decimal) -> int:
    """Tax added to a sum, to the nearest minor unit, halves away from nothing.

    >>> tax_on(1050, Decimal(10)), tax_on(-1050, Decimal(10))
    (105, -105)
    """
    return nearest(net * Decimal(percent) / 100)


def tax_in(gross: int, percent: Decimal) -> int:
    """The tax that a sum holds where the prices include it: p / (100 + p) of it.

    >>> tax_in(12000, Decimal(20))
    2000
    """
    return nearest(gross * Decimal(percent) / (100 + Decimal(percent)))


def shared(total: int, parts: Sequence[int]) -> tuple[int, ...]:
    """``total`` shared out in proportion to the parts, whole units that add up to it exactly.

    Each share is the difference of two rounded running sums, so that no more than one unit strays.

    >>> shared(100, [1, 1, 1])
    (33, 34, 33)
    """
    whole, run, given, out = sum(parts), 0, 0, []
    for part in parts:
        run += part
        until = nearest(Decimal(total) * run / whole) if whole else 0
        out.append(until - given)
        given = until
    return tuple(out)
