"""Draws from spreads, thousands at a time, by a table of the beta distribution."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from levelwind.core.supply.model import Spread

Generator = np.random.Generator  # noqa: TID251 -- the type of the dice that callers pass in
"""The dice: numpy's, made and seeded by the caller."""

CELLS = 256
"""Parts of equal chance that a spread is cut into; a draw is the mean of its part. Our choice: the mean is kept
exactly, of the variance less than 1 % is lost."""
SHAPES = 33
"""Places of the peak between low and high for which the table is worked out; between two of them it is laid straight,
which keeps the mean exactly. Our choice."""


@lru_cache(maxsize=1)
def _table() -> NDArray[np.float64]:
    """A row for each place of the peak: the mean of each part of the beta distribution from 0 to 1."""
    from scipy.special import betainc, betaincinv

    units = [Spread(0.0, float(peak), 1.0) for peak in np.linspace(0, 1, SHAPES)]
    mean = np.array([[unit.mean] for unit in units])
    both = mean * (1 - mean) / units[0].variance - 1
    alpha, beta = mean * both, (1 - mean) * both
    cuts = betaincinv(alpha, beta, np.linspace(0, 1, CELLS + 1))
    return np.asarray(np.diff(mean * betainc(alpha + 1, beta, cuts), axis=1) * CELLS)


def parts_of(spread: Spread) -> NDArray[np.float64]:
    """The ``CELLS`` means, rising; all of them equally likely.

    >>> float(parts_of(Spread(1.0, 2.0, 9.0)).mean())
    3.0000
    """
    width = spread.high - spread.low
    if width == 0:
        return np.full(CELLS, spread.low)
    place = (spread.likely - spread.low) / width * (SHAPES - 1)
    below = min(int(place), SHAPES - 2)
    share = place - below
    return np.asarray(spread.low + width * ((1 - share) * _table()[below] + share * _table()[below + 1]))


@lru_cache(maxsize=1)
def _quantiles() -> NDArray[np.float64]:
    """A row for each place of the peak: 5, 50 and 95 % of the beta distribution from 0 to 1."""
    return np.quantile(_table(), (0.05, 0.5, 0.95), axis=1).T


def through(low: float, middle: float, high: float) -> Spread:
    """The spread with these 5, 50 and 95 %, as near as a beta with PERT's mean and variance comes; nothing below 0.

    A median is no peak: of waits that are mostly short and now and then long, the peak lies well before it.

    >>> waits = through(1.0, 3.0, 14.0)
    >>> np.round(np.quantile(parts_of(waits), (0.05, 0.5, 0.95)), 1).tolist()
    [1.0, 3.8, 14.0]
    """
    if high - low <= 0:
        return Spread(low, middle, high)
    unit = _quantiles()
    ratios = (unit[:, 1] - unit[:, 0]) / (unit[:, 2] - unit[:, 0])  # rising with the place of the peak
    peak = float(np.interp((middle - low) / (high - low), ratios, np.linspace(0, 1, SHAPES)))
    q05, _, q95 = (float(np.interp(peak, np.linspace(0, 1, SHAPES), column)) for column in unit.T)
    width = (high - low) / (q95 - q05)
    begins = max(low - q05 * width, 0.0)
    return Spread(begins, max(begins, low + (peak - q05) * width), low + (1 - q05) * width)


def drawn(spread: Spread, many: int, rng: Generator) -> NDArray[np.float64]:
    return parts_of(spread)[rng.integers(0, CELLS, many, dtype=np.uint16)]


def drawn_after(spread: Spread, gone: float, many: int, rng: Generator) -> NDArray[np.float64] | None:
    """What is still to come of it when ``gone`` is over and it has not ended; None where it is over its high end.

    >>> left = drawn_after(Spread(2.0, 4.0, 9.0), 5.0, 4000, np.random.default_rng(1))
    >>> float(left.min()) >= 0, float(left.mean()) < 1.5
    (True, True)
    """
    parts = parts_of(spread)
    first = int(np.searchsorted(parts, gone, side="left"))
    if first == CELLS:
        return None
    return np.maximum(parts[rng.integers(first, CELLS, many, dtype=np.uint16)] - gone, 0.0)
