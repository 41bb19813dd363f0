"""Draws from an uncertain number, from a standard normal handed in."""

from functools import cache
from statistics import NormalDist

import numpy as np

from levelwind.core.drag.rings import Floats
from levelwind.core.quantities import Quantity

Generator = np.random.Generator  # noqa: TID251 -- the type of the dice that callers pass in
"""The dice: numpy's, made and seeded by the caller."""

NORMAL_95 = 1.6448536269514722
"""Standard deviations from the middle of a normal to the ends of its 90 % interval: its 95th percentile."""

GRID = 2000
"""Evenly likely values a chance is counted over: it is then right to half of one in so many. Our choice."""


def sampled(quantity: Quantity, z: Floats) -> Floats:
    """The quantity at standard normal deviates ``z``, any shape: its value at 0, its ends at -1.645 and 1.645.

    A quantity over 0 is spread by ratios (log-normal, each half with its own width), any other by differences.

    >>> sampled(Quantity(0.2, 0.1, 0.4), np.array([-NORMAL_95, 0.0, NORMAL_95]))
    array([0.1, 0.2, 0.4])
    """
    value, low, high = quantity.value, quantity.low, quantity.high
    if low > 0:
        down, up = np.log(value / low), np.log(high / value)
        return np.asarray(value * np.exp(z * np.where(z < 0, down, up) / NORMAL_95))
    return np.asarray(value + z * np.where(z < 0, value - low, high - value) / NORMAL_95)


def independent_product(a: Quantity, b: Quantity) -> Quantity:
    """Product of two independent quantities: the ratios to their ends add in quadrature, side by side.

    Where one may be 0 its ends are multiplied outright, which is never too narrow. Not for quantities below 0.

    >>> independent_product(Quantity(2.0, 1.0, 4.0), Quantity.exact(3.0))
    Quantity(value=6.0, low=3.0, high=12.0)
    """
    if min(a.low, b.low) <= 0:
        return Quantity(a.value * b.value, a.low * b.low, a.high * b.high)
    down = np.hypot(np.log(a.value / a.low), np.log(b.value / b.low))
    up = np.hypot(np.log(a.high / a.value), np.log(b.high / b.value))
    value = a.value * b.value
    return Quantity(value, min(float(value * np.exp(-down)), value), max(float(value * np.exp(up)), value))


def interval(value: float, draws: Floats) -> Quantity:
    """``value`` with the middle 90 % of ``draws`` about it.

    >>> interval(2.0, np.linspace(1.0, 3.0, 101))
    Quantity(value=2.0, low=1.1, high=2.9)
    """
    low, high = np.quantile(draws, [0.05, 0.95])
    return Quantity(float(value), float(min(low, value)), float(max(high, value)))


def chance_over(one: Quantity, other: Quantity) -> float:
    """Probability that one quantity is greater than another, independent of it, both spread as ``sampled`` has them.

    Every pair of ``GRID`` evenly likely values of each is compared, so that no dice are needed.

    >>> wide = Quantity(2.0, 1.0, 4.0)
    >>> chance_over(wide, wide), chance_over(Quantity.exact(1.0), Quantity.exact(2.0))
    (0.5, 0.0)
    """
    ones, others = sampled(one, _even()), sampled(other, _even())
    below, up_to = (np.searchsorted(others, ones, side=side).mean() / GRID for side in ("left", "right"))
    return float(below + up_to) / 2


@cache
def _even() -> Floats:
    """Standard normal deviates of equal likelihood, upwards, shape (GRID,)."""
    return np.array([NormalDist().inv_cdf((place + 0.5) / GRID) for place in range(GRID)])
