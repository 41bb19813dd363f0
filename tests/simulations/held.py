"""Whether answers to drawn cases are right as often as they should be."""

from collections.abc import Sequence

from scipy.stats import binom

BY_CHANCE = 0.001
"""How often a share that is truly as wanted may come out as too small: our choice."""


def often_enough(right: Sequence[bool], wanted: float) -> bool:
    """Whether so few right ones would come, of so many, more than once in a thousand times if ``wanted`` were true.

    >>> often_enough([True] * 107 + [False] * 13, 0.95), often_enough([True] * 105 + [False] * 15, 0.95)
    (True, False)
    """
    return sum(right) >= int(binom.ppf(BY_CHANCE, len(right), wanted))


def share(right: Sequence[bool]) -> str:
    return f"{100 * sum(right) / len(right):.1f} %"
