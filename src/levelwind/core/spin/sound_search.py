"""Which laws of a spool run through the map of combs: two peaks and a mix of losses make a law, the map judges it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.spin.fit import fit_speed
from levelwind.core.spin.law import Law, speed_after, time_between
from levelwind.core.spin.shares import Generator
from levelwind.core.spin.sound_map import CombMap

FloatArray = NDArray[np.float64]

PAIRS, PEAKS = 700, 5
MOST_KEPT = 400
AT_ONCE = 20_000
"""Speeds reckoned together."""
MIXES = np.array([(1, 0, 0), (0, 1, 0), (0, 0, 1), (0.5, 0.5, 0), (0.5, 0, 0.5), (0.2, 0.6, 0.2), (0.1, 0.2, 0.7)])
LEVEL = 1.3
"""Taken off every score along a path: what the best of neighbouring noise reaches."""
LEAST_SLOWING = 0.05
NEAR, LEAST_RIDGE = 5, 10
"""How many rates to either side of a path its ridge may lie, and the fewest moments that show it."""


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Ticks a second that slow by a law: at ``start_s`` they came at ``start_hz``. Followed between two times."""

    law: Law
    """In ticks and seconds."""
    start_s: float
    start_hz: float
    from_s: float
    to_s: float
    score: float

    def rate(self, time_s: FloatArray) -> FloatArray:
        return speed_after(self.law, self.start_hz, time_s - self.start_s)


def paths(combs: CombMap, rng: Generator, most: int = 3) -> Iterator[Path]:
    """The best distinct paths, best first, each refined only as it is taken."""
    level = _pooled(combs.score, 2) - LEVEL
    tries = _tries(combs, rng)
    quick, _, _ = _along(level, combs, tries, every=3)
    tries = tries.some(np.argsort(-quick)[:MOST_KEPT])
    score, first, last = _along(level, combs, tries)
    found: list[Path] = []
    for i in np.argsort(-score):
        path = _path(tries, int(i), combs, (int(first[i]), int(last[i])), float(score[i]))
        if path.score <= 0 or len(found) == most:
            break
        if not any(_alike(path, other) for other in found):
            found.append(path)
            yield refined(path, combs)


def refined(path: Path, combs: CombMap) -> Path:
    """The law fitted to the map's own ridge near a path."""
    level = _pooled(combs.score, 1) - LEVEL
    times = combs.time_s[(combs.time_s >= path.from_s) & (combs.time_s <= path.to_s)]
    rates, scores = _ridge(path, combs, times)
    good = scores > LEVEL
    if good.sum() < LEAST_RIDGE:
        return path
    t, rate = times[good], rates[good]
    guess = float(path.rate(t[:1])[0]), path.law
    sigma = 0.01 * rate / np.sqrt(np.minimum(scores[good], 16.0))
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
    rows = np.searchsorted(combs.time_s, times)
    at = _column(path.rate(times), combs)
    around = np.clip(at[:, None] + np.arange(-NEAR, NEAR + 1), 0, len(combs.rates_hz) - 1)
    scores = combs.score[rows[:, None], around]
    best = np.argmax(scores, axis=1)
    return combs.rates_hz[around[np.arange(len(rows)), best]], scores[np.arange(len(rows)), best]


def _tries(combs: CombMap, rng: Generator) -> _Tries:
    """Laws through pairs of peaks of the map, the later one slower, for each mix of losses."""
    strong = _pooled(combs.score, 2)
    peaks = np.argwhere((combs.score == strong) & (combs.score > LEVEL + 0.7))
    value = combs.score[tuple(peaks.T)]
    kept = np.argsort(-value)[: PEAKS * len(combs.time_s)]
    if len(kept) < 2:
        none = np.empty(0)
        return _Tries(none, none, Law(none, none, none))
    peaks, value = peaks[kept], np.minimum(value[kept], 12.0)
    one, two = rng.choice(len(peaks), (2, 12 * PAIRS), p=value / value.sum())
    (t1, r1), (t2, r2) = ((combs.time_s[peaks[i, 0]], combs.rates_hz[peaks[i, 1]]) for i in (one, two))
    good = np.flatnonzero((t2 - t1 > 0.8) & (r2 < 0.985 * r1) & (r2 > 0.05 * r1))[:PAIRS]
    t1, r1, span, r2 = t1[good], r1[good], (t2 - t1)[good], r2[good]
    laws = [_through(mix, r1, r2, span) for mix in MIXES]
    dry, oil, air = (np.concatenate([law[i] for law in laws]) for i in range(3))
    return _Tries(np.tile(t1, len(MIXES)), np.tile(r1, len(MIXES)), Law(dry, oil, air))


def _through(mix: FloatArray, r1: FloatArray, r2: FloatArray, span: FloatArray) -> tuple[FloatArray, ...]:
    """The terms of laws of one mix that slow from r1 to r2 in that time: doubling all terms halves every time."""
    law = Law(mix[0] + 0 * r1, mix[1] / r1, mix[2] / r1**2)
    scale = time_between(law, r1, r2) / span
    return tuple(scale * x for x in law.coefficients)


def _along(
    level: FloatArray, combs: CombMap, tries: _Tries, every: int = 1
) -> tuple[FloatArray, NDArray[np.int64], NDArray[np.int64]]:
    """For each law the best stretch of the recording: its summed score, first and last row (Kadane's running sums)."""
    rows = np.arange(0, len(combs.time_s), every)
    lots = np.array_split(np.arange(len(tries.start_s)), max(1, len(tries.start_s) * len(rows) // AT_ONCE))
    found = [_best_stretch(_gains(level, combs, tries.some(lot), rows)) for lot in lots]
    best, first, last = (np.concatenate(each) for each in zip(*found, strict=True))
    first, last = rows[first], rows[last]
    ends = [speed_after(tries.law, tries.start_hz, combs.time_s[at] - tries.start_s) for at in (first, last)]
    return np.where(ends[1] <= (1 - LEAST_SLOWING) * ends[0], best, 0.0), first, last


def _best_stretch(gains: FloatArray) -> tuple[FloatArray, NDArray[np.int64], NDArray[np.int64]]:
    """Of each column the neighbouring rows with the largest sum: that, the first and the last.

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
    """What each law meets in each row, shaped (rows, laws); a loss where it leaves the map."""
    rate = speed_after(tries.law, tries.start_hz, combs.time_s[rows, None] - tries.start_s)
    inside = (rate >= combs.rates_hz[0]) & (rate <= combs.rates_hz[-1])
    met = level[rows[:, None], _column(np.where(inside, rate, combs.rates_hz[0]), combs)]
    return np.where(inside, met, -1.0)


def _column(rate: FloatArray, combs: CombMap) -> NDArray[np.int64]:
    step = np.log(combs.rates_hz[1] / combs.rates_hz[0])
    at = np.round(np.log(np.maximum(rate, 1e-6) / combs.rates_hz[0]) / step).astype(np.int64)
    return np.asarray(np.clip(at, 0, len(combs.rates_hz) - 1))


def _pooled(score: FloatArray, reach: int) -> FloatArray:
    """The best of each rate and its neighbours."""
    padded = np.pad(score, ((0, 0), (reach, reach)), constant_values=-np.inf)
    return np.asarray(np.max(np.stack([padded[:, k : k + score.shape[1]] for k in range(2 * reach + 1)]), axis=0))


def _alike(one: Path, other: Path) -> bool:
    middle = np.linspace(max(one.from_s, other.from_s), min(one.to_s, other.to_s), 10)
    if middle[-1] <= middle[0]:
        return False
    ratio = one.rate(middle) / np.maximum(other.rate(middle), 1e-9)
    return bool(np.quantile(np.abs(ratio - 1), 0.3) < 0.04)
