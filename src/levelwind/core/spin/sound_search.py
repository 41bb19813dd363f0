"""Which laws of a spool run through the map of combs: two peaks and a mix of losses make a law, the map judges it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.fitting import FloatArray, Generator
from levelwind.core.spin.fit import fit_speed
from levelwind.core.spin.law import Law, speed_after, time_between
from levelwind.core.spin.sound_map import CombMap

PEAK_PAIRS, PEAKS = 700, 5
"""Pairs of peaks that laws are laid through, and peaks kept for each moment of the map. Our choice: with the mixes some
5,000 laws."""
TRIED_PAIRS = 12
"""Pairs drawn for each one wanted: many are no pairs of a spool that slows. Our choice."""
MOST_LAWS = 400
"""Laws that are judged on every moment of the map, the best after a look at every third. Our choice, for speed."""
QUICK_LOOK = 3
"""A quick look takes every third moment. Our choice, for speed."""
MOST_PATHS = 3
"""Paths handed on for a nearer look. Our choice: the right one and those at half and twice its rate."""
AT_ONCE = 20_000
"""Speeds computed together. Our choice: so few that they stay in the processor's cache."""
MIXES = np.array([(1, 0, 0), (0, 1, 0), (0, 0, 1), (0.5, 0.5, 0), (0.5, 0, 0.5), (0.2, 0.6, 0.2), (0.1, 0.2, 0.7)])
"""Parts of the loss at the first peak that go to dry friction, oil and air. Our choice: the path is fitted to the map
afterwards, so that a law near the true one will do (docs/decisions/spin-sound-search.md)."""
LEVEL = 1.3
"""Deviations taken off every score along a path: what the best of neighbouring noise reaches, so that noise alone sums
to less than nothing. Our choice."""
PEAK_ABOVE = 0.7
"""Deviations over ``LEVEL`` from which a score is a peak. Our choice."""
MOST_DRAWN = 12.0
"""Deviations; a peak is drawn in proportion to its score, counted up to here: a hum must not take all pairs. Our
choice."""
PAIR_APART_S = 0.8
"""Seconds that the two peaks of a pair lie apart at the least. Our choice: two stretches of the map."""
PAIR_SLOWS = (0.05, 0.985)
"""The later rate of a pair over the earlier one. Our choice: a spool followed to a twentieth of its speed, or one that
hardly slows in 0.8 s."""
PATH_SLOWS = 0.05
"""Part of its rate that a path must lose from end to end: what keeps one rate is a clock or a fan. Our choice."""
POOL_LAWS, POOL_RIDGE = 2, 1
"""Rates to either side of which the best score counts: a law through two peaks may be out by that much, one fitted to
the ridge by less. Our choice."""
RIDGE_RATES, RIDGE_MOMENTS = 5, 10
"""Rates to either side of a path in which its ridge may lie, and the fewest moments that show it. Our choice."""
RIDGE_SIGMA, RIDGE_SURE = 0.01, 16.0
"""A ridge's rate is known to this part of itself over the root of its score, counted up to the second. Our choice:
about a step of the map at the least score."""
_ALIKE, _ALIKE_PART = 0.04, 0.3
"""Two paths are one if their rates differ by less than the first over this part of the time both run. Our choice: far
less than from a rate to its half."""


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Ticks that slow by a law: at ``start_s`` they came ``start_hz`` times a second. It runs from one time to
    another."""

    law: Law
    """In ticks and seconds."""
    start_s: float
    start_hz: float
    from_s: float
    to_s: float
    score: float
    """Summed deviations of the map along it, ``LEVEL`` taken off each."""

    def rate(self, time_s: FloatArray) -> FloatArray:
        return speed_after(self.law, self.start_hz, time_s - self.start_s)


def paths(combs: CombMap, rng: Generator, most: int = MOST_PATHS) -> Iterator[Path]:
    """The best distinct paths, best first, each refined only when it is asked for."""
    level = _pooled(combs.score, POOL_LAWS) - LEVEL
    tries = _tries(combs, rng)
    quick, _, _ = _along(level, combs, tries, every=QUICK_LOOK)
    tries = tries.some(np.argsort(-quick)[:MOST_LAWS])
    score, first, last = _along(level, combs, tries)
    found: list[Path] = []
    for i in np.argsort(-score):
        path = _path(tries, int(i), combs, (int(first[i]), int(last[i])), float(score[i]))
        if path.score <= 0 or len(found) == most:
            break
        if not any(_alike(path, other) for other in found):
            found.append(path)
            yield _refined(path, combs)


def _refined(path: Path, combs: CombMap) -> Path:
    """The path of the law fitted to the map's own ridge near a path."""
    level = _pooled(combs.score, POOL_RIDGE) - LEVEL
    times = combs.time_s[(combs.time_s >= path.from_s) & (combs.time_s <= path.to_s)]
    rates, scores = _ridge(path, combs, times)
    good = scores > LEVEL
    if good.sum() < RIDGE_MOMENTS:
        return path
    t, rate = times[good], rates[good]
    guess = float(path.rate(t[:1])[0]), path.law
    sigma = RIDGE_SIGMA * rate / np.sqrt(np.minimum(scores[good], RIDGE_SURE))
    fit = fit_speed(t, rate, sigma, start=guess, coarse=True)
    dry, oil, air = (x[None] for x in fit.law.coefficients)
    tried = _Tries(np.array([fit.start_s]), np.array([fit.start_rev_s]), Law(dry, oil, air))
    score, first, last = _along(level, combs, tried)
    return _path(tried, 0, combs, (int(first[0]), int(last[0])), float(score[0]))


def _path(tries: "_Tries", i: int, combs: CombMap, rows: tuple[int, int], score: float) -> Path:
    dry, oil, air = (float(x[i]) for x in tries.law.coefficients)
    first, last = (float(combs.time_s[row]) for row in rows)
    return Path(Law(dry, oil, air), float(tries.start_s[i]), float(tries.start_hz[i]), first, last, score)


@dataclass(frozen=True, slots=True, eq=False)
class _Tries:
    """Many laws at once, each with a moment and the rate it had there."""

    start_s: FloatArray
    start_hz: FloatArray
    law: Law

    def some(self, which: NDArray[np.int64]) -> "_Tries":
        dry, oil, air = (x[which] for x in self.law.coefficients)
        return _Tries(self.start_s[which], self.start_hz[which], Law(dry, oil, air))


def _ridge(path: Path, combs: CombMap, times: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Rate and score of the best place of the map near a path, at each time."""
    rows = np.searchsorted(combs.time_s, times)
    at = _column(path.rate(times), combs)
    around = np.clip(at[:, None] + np.arange(-RIDGE_RATES, RIDGE_RATES + 1), 0, len(combs.rates_hz) - 1)
    scores = combs.score[rows[:, None], around]
    best = np.argmax(scores, axis=1)
    return combs.rates_hz[around[np.arange(len(rows)), best]], scores[np.arange(len(rows)), best]


def _tries(combs: CombMap, rng: Generator) -> _Tries:
    """Laws through pairs of peaks of the map, the later one slower, for each mix of losses."""
    strong = _pooled(combs.score, POOL_LAWS)
    peaks = np.argwhere((combs.score == strong) & (combs.score > LEVEL + PEAK_ABOVE))
    value = combs.score[tuple(peaks.T)]
    kept = np.argsort(-value)[: PEAKS * len(combs.time_s)]
    if len(kept) < 2:
        none = np.empty(0)
        return _Tries(none, none, Law(none, none, none))
    peaks, value = peaks[kept], np.minimum(value[kept], MOST_DRAWN)
    one, two = rng.choice(len(peaks), (2, TRIED_PAIRS * PEAK_PAIRS), p=value / value.sum())
    (t1, r1), (t2, r2) = ((combs.time_s[peaks[i, 0]], combs.rates_hz[peaks[i, 1]]) for i in (one, two))
    slows = (r2 > PAIR_SLOWS[0] * r1) & (r2 < PAIR_SLOWS[1] * r1)
    good = np.flatnonzero((t2 - t1 > PAIR_APART_S) & slows)[:PEAK_PAIRS]
    t1, r1, span, r2 = t1[good], r1[good], (t2 - t1)[good], r2[good]
    laws = [_through(mix, r1, r2, span) for mix in MIXES]
    dry, oil, air = (np.concatenate([law[i] for law in laws]) for i in range(3))
    return _Tries(np.tile(t1, len(MIXES)), np.tile(r1, len(MIXES)), Law(dry, oil, air))


def _through(mix: FloatArray, r1: FloatArray, r2: FloatArray, span: FloatArray) -> tuple[FloatArray, ...]:
    """Coefficients of laws of one mix that slow from rate r1 to r2 in the time ``span``.

    Doubling all coefficients halves every time, so any law of the mix is right once it is scaled.
    """
    law = Law(mix[0] + 0 * r1, mix[1] / r1, mix[2] / r1**2)
    scale = time_between(law, r1, r2) / span
    return tuple(scale * x for x in law.coefficients)


def _along(
    level: FloatArray, combs: CombMap, tries: _Tries, every: int = 1
) -> tuple[FloatArray, NDArray[np.int64], NDArray[np.int64]]:
    """For each law the best stretch of the recording: its summed score, first and last row of the map.

    A score of 0 where the rate hardly falls over the stretch.
    """
    rows = np.arange(0, len(combs.time_s), every)
    lots = np.array_split(np.arange(len(tries.start_s)), max(1, len(tries.start_s) * len(rows) // AT_ONCE))
    found = [_best_stretch(_gains(level, combs, tries.some(lot), rows)) for lot in lots]
    best, first, last = (np.concatenate(each) for each in zip(*found, strict=True))
    first, last = rows[first], rows[last]
    ends = [speed_after(tries.law, tries.start_hz, combs.time_s[at] - tries.start_s) for at in (first, last)]
    return np.where(ends[1] <= (1 - PATH_SLOWS) * ends[0], best, 0.0), first, last


def _best_stretch(gains: FloatArray) -> tuple[FloatArray, NDArray[np.int64], NDArray[np.int64]]:
    """Of each column the neighbouring rows with the largest sum (Kadane's algorithm): the sum, first and last row.

    >>> _best_stretch(np.array([[1.0], [-2.0], [3.0], [1.0], [-1.0]]))
    (array([4.]), array([2]), array([3]))
    """
    columns = np.arange(gains.shape[1])
    after = np.cumsum(gains, axis=0)
    before = after - gains
    lowest = np.minimum.accumulate(before, axis=0)
    last = np.argmax(after - lowest, axis=0)
    begun = np.maximum.accumulate(np.where(before == lowest, np.arange(len(gains))[:, None], 0), axis=0)
    return after[last, columns] - lowest[last, columns], begun[last, columns], last


def _gains(level: FloatArray, combs: CombMap, tries: _Tries, rows: NDArray[np.int64]) -> FloatArray:
    """The map's level along each law, shape (rows, laws); −1 where it leaves the map, so that no stretch gains by
    it."""
    rate = speed_after(tries.law, tries.start_hz, combs.time_s[rows, None] - tries.start_s)
    inside = (rate >= combs.rates_hz[0]) & (rate <= combs.rates_hz[-1])
    met = level[rows[:, None], _column(np.where(inside, rate, combs.rates_hz[0]), combs)]
    return np.where(inside, met, -1.0)


def _column(rate: FloatArray, combs: CombMap) -> NDArray[np.int64]:
    """The map's column nearest to each rate."""
    step = np.log(combs.rates_hz[1] / combs.rates_hz[0])
    at = np.round(np.log(np.maximum(rate, 1e-6) / combs.rates_hz[0]) / step).astype(np.int64)
    return np.asarray(np.clip(at, 0, len(combs.rates_hz) - 1))


def _pooled(score: FloatArray, reach: int) -> FloatArray:
    """The best score of each rate and its neighbours up to ``reach`` columns off."""
    padded = np.pad(score, ((0, 0), (reach, reach)), constant_values=-np.inf)
    return np.asarray(np.max(np.stack([padded[:, k : k + score.shape[1]] for k in range(2 * reach + 1)]), axis=0))


def _alike(one: Path, other: Path) -> bool:
    """Whether two paths are one and the same run of ticks."""
    middle = np.linspace(max(one.from_s, other.from_s), min(one.to_s, other.to_s), 10)
    if middle[-1] <= middle[0]:
        return False
    ratio = one.rate(middle) / np.maximum(other.rate(middle), 1e-9)
    return bool(np.quantile(np.abs(ratio - 1), _ALIKE_PART) < _ALIKE)
