"""What will be used: slow and lumpy demand, as one figure a month, and as the chance of every number."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.quantities import Quantity
from levelwind.core.supply.stock import Part

Numbers = NDArray[np.float64]

ALPHA = 0.1
"""How much of a forecast the newest month replaces. Common practice: 0.05 to 0.2 (J. E. Boylan and A. A. Syntetos,
Intermittent Demand Forecasting, 2021, from memory)."""
DAYS_A_MONTH = 365.25 / 12
"""Days in a month of the mean year."""
FEW_PARTS = 5
"""Parts with a past from which the shop's own spread of rates is worked out. Our choice."""
ALONE_MONTHS = 1.0
"""Months of past that the shop's mean rate counts for where the parts are fewer than that. Our choice: little."""
OWN_LUMPS = 6.0
"""Months with use that the shop's own lumpiness counts for beside a part's. Our choice."""
STRENGTHS = np.geomspace(0.5, 240, 40)
"""Months of past that the shop's mean rate may count for: from next to nothing to twenty years. Our choice."""


@dataclass(frozen=True, slots=True)
class Forecasts:
    """Units a month by the methods of the trade; 0 where nothing was ever used."""

    croston: float
    sba: float
    tsb: float


def forecasts(used: Sequence[int], alpha: float = ALPHA) -> Forecasts:
    """Croston's method, its correction by Syntetos and Boylan, and that of Teunter, Syntetos and Babai.

    J. D. Croston, "Forecasting and stock control for intermittent demands", Operational Research Quarterly 23(3), 1972:
    sizes and gaps smoothed apart, size over gap; corrected by 1 - alpha/2 (A. A. Syntetos and J. E. Boylan, 2005); by
    the chance of use smoothed every month (R. H. Teunter, A. A. Syntetos and M. Z. Babai, 2011). All from memory.

    The smoothing begins from the first size and the first gap; the chance from whether the first month had use.

    >>> forecasts((0, 0, 3, 0, 0, 0, 1, 0))
    Forecasts(croston=0.9032258, sba=0.858064, tsb=0.41734)
    """
    first = next((n for n, units in enumerate(used) if units), None)
    if first is None:
        return Forecasts(0.0, 0.0, 0.0)
    size, gap, since = float(used[first]), float(first + 1), 1
    for units in used[first + 1 :]:
        if units:
            size, gap, since = size + alpha * (units - size), gap + alpha * (since - gap), 0
        since += 1
    return Forecasts(size / gap, (1 - alpha / 2) * size / gap, _tsb(used, float(used[first]), alpha))


def _tsb(used: Sequence[int], size: float, alpha: float) -> float:
    chance = float(used[0] > 0)
    for n, units in enumerate(used):
        if n:
            chance += alpha * ((units > 0) - chance)
        if units:
            size += alpha * (units - size)
    return chance * size


@dataclass(frozen=True, slots=True)
class Demand:
    """What is known of a part's use: batches at a Poisson rate that is itself uncertain (gamma), of units that are
    geometric, in number 1 / (1 - stick) in the mean. Units in a time are then a compound negative binomial.
    """

    shape: float
    months: float
    """Of the gamma: its mean is shape / months batches a month."""
    stick: float
    """Chance that one more unit belongs to the same batch; 0: units come one by one."""

    @property
    def a_month(self) -> Quantity:
        """Units a month, with the interval of the rate."""
        from scipy.special import gammaincinv

        low, high = (float(gammaincinv(self.shape, p)) for p in (0.05, 0.95))
        middle = self.shape
        return Quantity(middle, min(low, middle), max(high, middle)).scaled(1 / self.months / (1 - self.stick))


def demands(parts: Sequence[Part]) -> list[Demand]:
    """Each part by its own past, leaning on the shop's own rate as far as the shop's parts are alike.

    The shop's gamma has the mean of all parts; its strength is the likeliest one (empirical Bayes; H. Robbins, 1956,
    from memory). A part that was never used has a small rate, not none.

    >>> from levelwind.core.supply.stock import Offer
    >>> [round(each.a_month.value, 2) for each in demands([Part("a", (Offer("s", 1),), (0, 3, 0, 1))])]
    [0.99]
    """
    lumps = _lumps(parts)
    sticks = np.maximum(lumps - 1, 0) / (lumps + 1)
    batches = np.array([sum(part.used) for part in parts]) * (1 - sticks)
    months = np.array([len(part.used) for part in parts], dtype=float)
    mean = (batches.sum() + 0.5) / (months.sum() + 1)  # half a use where there was none: none is not never
    known = np.flatnonzero(months)
    strength = ALONE_MONTHS if len(known) < FEW_PARTS else _strength(batches[known], months[known], mean)
    return [
        Demand(float(mean * strength + batch), float(strength + month), float(stick))
        for batch, month, stick in zip(batches, months, sticks, strict=True)
    ]


def _lumps(parts: Sequence[Part]) -> Numbers:
    """Variance over mean of a month's use, each part's own beside the shop's; a mean batch has (1 + it) / 2 units."""
    spread, expected, own = 0.0, 0.0, []
    for part in parts:
        used = np.asarray(part.used, dtype=float)
        several = len(used) > 1 and used.any()
        mean, squares = (used.mean(), ((used - used.mean()) ** 2).sum()) if several else (0.0, 0.0)
        spread, expected = spread + squares, expected + mean * max(len(used) - 1, 0)
        own.append((np.count_nonzero(used), squares / (len(used) - 1) / mean) if several else (0, 1.0))
    shop = max(spread / expected, 1.0) if expected else 1.0
    return np.array([max((OWN_LUMPS * shop + n * lump) / (OWN_LUMPS + n), 1.0) for n, lump in own])


def _strength(batches: Numbers, months: Numbers, mean: float) -> float:
    """Of the gamma with that mean, the likeliest by all parts (their batches are then negative binomial)."""
    from scipy.special import gammaln

    b = STRENGTHS[:, None]
    a = mean * b
    likely = gammaln(a + batches) - gammaln(a) + a * np.log(b) - (a + batches) * np.log(b + months)
    return float(STRENGTHS[int(likely.sum(axis=1).argmax())])


def chances(demand: Sequence[Demand], days: Numbers, most: int) -> Numbers:
    """P(units used within ``days`` = n) for n = 0 ... ``most``; ``days`` by part (rows) and time, n last.

    H. H. Panjer's recursion (ASTIN Bulletin 12, 1981, from memory), its sums carried on where batches are geometric.

    >>> once = chances([Demand(2.0, 12.0, 0.0)], np.array([[365.25]]), 2)[0, 0]  # as a negative binomial of 2 and 1/2
    >>> once.round(4).tolist()
    [0.25, 0.25, 0.1875]
    """
    shape, months, stick = (
        np.array([[getattr(each, name)] for each in demand]) for name in ("shape", "months", "stick")
    )
    odds = days / DAYS_A_MONTH / months
    p, result = odds / (1 + odds), np.empty((*days.shape, most + 1))
    result[..., 0] = np.exp(-shape * np.log1p(odds))
    before, weighted = np.zeros_like(days), np.zeros_like(days)
    for n in range(1, most + 1):
        before = result[..., n - 1] + stick * before
        weighted = before + stick * weighted
        result[..., n] = (1 - stick) * p * (before + (shape - 1) / n * weighted)
    return result


def with_maybe(chance: Numbers, maybe: Sequence[float]) -> Numbers:
    """The same where further units may each be taken besides.

    >>> with_maybe(np.array([0.5, 0.5, 0.0]), [0.2]).round(2).tolist()
    [0.4, 0.5, 0.1]
    """
    for each in maybe:
        further = np.zeros_like(chance)
        further[..., 1:] = chance[..., :-1]
        chance = (1 - each) * chance + each * further
    return chance


@dataclass(frozen=True, slots=True)
class Keep:
    """How much to keep, and what keeping and being short then cost together."""

    units: float
    cost: float


def newsvendor(values: Numbers, chance: Numbers, over: float, short: float) -> Keep:
    """The least of ``values`` that is enough with short / (short + over): each unit too many costs ``over``, each too
    few ``short`` (K. J. Arrow, T. Harris and J. Marschak, Econometrica 19, 1951, from memory).

    >>> newsvendor(np.arange(5.0), np.array([0.2, 0.3, 0.3, 0.1, 0.1]), 1.0, 3.0)
    Keep(units=2.0, cost=1.6)
    """
    enough = np.flatnonzero(np.cumsum(chance) >= short / (short + over) - 1e-12)
    units = float(values[enough[0]] if len(enough) else values[-1])
    return Keep(
        units, float((chance * np.where(values < units, over * (units - values), short * (values - units))).sum())
    )
