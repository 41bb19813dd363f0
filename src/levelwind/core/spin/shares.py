"""How sure the split into dry friction, oil and air is: draws of the law that the recording allows.

Importance sampling with a prior that is flat over coefficients not below nought, which, the energy lost being known, is
flat over the shares. Draws come from the fit's own normal distribution cut off at nought (where most of it is below, by
hit and run: Smith, Operations Research 32, 1984, p. 1296) and are weighed by what was observed.

A real spool need not keep to the law: dry friction may rise as it comes to rest (Stribeck, 1902). A second family of
draws allows for that, and counts as far as the recording speaks for it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri, stdtrit

from levelwind.core.fitting import NINETY
from levelwind.core.quantities import Quantity
from levelwind.core.spin.fit import RISE_SPEEDS_REV_S, LawFit, Observed, slopes
from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after

FloatArray = NDArray[np.float64]
Generator = np.random.Generator  # noqa: TID251 -- the type of the dice that callers pass in

DRAWS = 1500
STRETCH = 1.6
"""Draws are spread by this much more where the law was broken: docs/decisions/spin-intervals.md."""
MOST_BLOCKS = 160
_SWEEPS = 60
AT_ONCE = 8
"""How many times too many plain draws are made, before hit and run, which costs as much as a hundred."""
AT_END = 0.15
"""An interval that ends this near to an end, in parts of its width, reaches it."""
WOBBLE_SIZE = 0.3
"""How large an unbalance, in parts of the dry friction, is nothing unusual; invented."""
SETTLES = 0.45
"""Part of the last turn's time that an unbalance may take off: on made sounds, laws broken and kept together."""
LEAST_SPARE = 3.0
FINEST = 1e-6
"""No recording is finer than this part of its own range."""
WIDER = 1.25
"""The normal distribution drawn from is this much wider than the fit's, so that no tail is missed."""

RISE_SIZE, RISE_SIZE_MORE = 0.35, 1.0
"""How large a rise, in parts of the dry friction, is nothing unusual, and by how much more where one was found, in
parts of it, as its shape is a guess; invented."""


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Laws the recording allows, all equally likely, with the speed each had at the first phase."""

    law: Law
    start_rev_s: FloatArray

    def shares(self, end_s: float) -> FloatArray:
        """Energy shares from the first phase to ``end_s`` seconds later, shaped (draws, 3)."""
        return energy_shares(self.law, self.start_rev_s, speed_after(self.law, self.start_rev_s, end_s))

    def stops_after_s(self, rng: Generator, watched_s: float) -> FloatArray:
        """Seconds from the first phase to rest, never before ``watched_s``.

        A spool out of balance settles somewhere in its last turn: half of the draws lose up to ``SETTLES`` of its time.
        """
        stops = time_between(self.law, self.start_rev_s, 0.0)
        last = np.sqrt(2 / np.maximum(np.asarray(self.law.coefficients[0]), 1e-6))
        early = np.maximum(rng.uniform(-1, 1, len(stops)), 0) * last * SETTLES
        return np.maximum(stops - np.minimum(early, 0.3 * stops), watched_s)


def draw_laws(fit: LawFit, rng: Generator) -> Draws:
    """Laws drawn from what the recording allows, friction that rises towards rest in all of them or in a part."""
    blocks = _blocks(fit)
    bends = _rise_columns(fit, blocks.seconds)
    families = [_Family(blocks, np.column_stack([blocks.doubts, bends]))]
    if not fit.law.rise:
        families.append(_Family(blocks, blocks.doubts))
    evidence = np.array([family.log_evidence for family in families])
    parts = np.exp(evidence - evidence.max())
    counts = np.round(DRAWS * parts / parts.sum()).astype(int)
    drawn = [family.draw(rng, count) for family, count in zip(families, counts, strict=True) if count]
    unknowns = np.concatenate(drawn)
    if fit.law.rise:
        middle = np.median(unknowns, axis=0)
        unknowns = np.maximum(middle + STRETCH * (unknowns - middle), [1e-6, 1e-12, 0.0, 0.0])
    return Draws(fit.law.with_terms(*(unknowns[:, i] for i in (1, 2, 3))), unknowns[:, 0])


def interval(draws: FloatArray, value: float | None = None) -> Quantity:
    """The middle 90 % of draws, about their median or about ``value`` where one is given.

    >>> interval(np.linspace(0.0, 1.0, 101))
    Quantity(value=0.5, low=0.05, high=0.95)
    """
    low, middle, high = (float(x) for x in np.quantile(draws, [0.05, 0.5, 0.95]))
    value = middle if value is None else float(value)
    return Quantity(value, min(low, value), max(high, value))


def shortest(draws: FloatArray, most: float = np.inf) -> Quantity:
    """The shortest interval that holds 90 % of draws of something from nought to ``most``, about their median.

    Unlike the middle 90 % it reaches an end where the draws crowd there: no oil at all must be a possible answer.

    >>> shortest(np.linspace(0.0, 1.0, 1001) ** 2)
    Quantity(value=0.25, low=0.0, high=0.81)
    """
    ordered = np.sort(draws)
    inside = int(np.ceil(0.9 * len(ordered)))
    first = int(np.argmin(ordered[inside - 1 :] - ordered[: len(ordered) - inside + 1]))
    low, high = float(ordered[first]), float(ordered[first + inside - 1])
    near = AT_END * (high - low)
    low, high = 0.0 if low < near else low, most if most - high < near else high
    return Quantity(float(np.clip(np.median(ordered), low, high)), low, high)


@dataclass(frozen=True, slots=True, eq=False)
class _Blocks:
    """Neighbouring values averaged: what the fit left over, its deviation, and what the law says there."""

    seconds: FloatArray
    left: FloatArray
    sigma: FloatArray
    free: FloatArray
    """Columns that may take any value: the offset and the fit's own extras."""
    doubts: FloatArray
    at: FloatArray
    law: Law
    said: FloatArray
    observed: Observed


def _blocks(fit: LawFit) -> _Blocks:
    n = len(fit.time_s)
    where = np.arange(n) * min(MOST_BLOCKS, n) // n
    weight = 1 / fit.sigma**2
    total = np.bincount(where, weight)

    def mean(x: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(where, weight * x) / total)

    seconds = mean(fit.time_s - fit.start_s)
    at = np.array([fit.start_rev_s, *(float(x) for x in fit.law.coefficients)])
    none = np.empty((len(total), 0))
    free = np.column_stack([none, *(mean(column) for column in fit.columns.T)])
    doubts = np.column_stack([none, *(mean(column) for column in fit.doubts.T), *(mean(c) for c in _wobble(fit).T)])
    said = fit.observed(fit.law, fit.start_rev_s, seconds)
    sigma = np.maximum(np.sqrt(max(fit.together, 1.0) / total) * _student(fit), FINEST * float(np.ptp(said)))
    return _Blocks(seconds, mean(fit.residuals), sigma, free, doubts, at, fit.law, said, fit.observed)


def _student(fit: LawFit) -> float:
    """How much wider, as few independent residuals tell their own size badly: Student's 90 % over the normal one."""
    spare = len(fit.time_s) / max(fit.together, 1.0) - 4 - fit.columns.shape[1]
    return float(stdtrit(max(spare, LEAST_SPARE), 0.95)) / NINETY


def _wobble(fit: LawFit) -> FloatArray:
    """What an unbalance of ``WOBBLE_SIZE`` does within each turn, at both phases: the load over (2π f)²."""
    if fit.observed is not turns_after:
        return np.empty((len(fit.time_s), 0))
    speed = np.maximum(fit.speed(fit.time_s), 0.3)
    size = np.minimum(WOBBLE_SIZE * float(fit.law.coefficients[0]) / (2 * np.pi * speed) ** 2, 0.1)
    angle = 2 * np.pi * fit.phase(fit.time_s)
    return np.column_stack([size * np.cos(angle), size * np.sin(angle)])


def _rise_columns(fit: LawFit, seconds: FloatArray) -> FloatArray:
    """What a rise of dry friction by ``RISE_SIZE`` would do to what was observed, to first order, for each speed of it.

    With loss P(f) and its change g(f), time and turns down to f change by −∫ g/P² df and −∫ f g/P² df.
    """
    dry = float(fit.law.coefficients[0])
    lowest = max(fit.end_rev_s, 1e-3 * fit.start_rev_s)
    f = np.linspace(fit.start_rev_s, min(lowest, 0.999 * fit.start_rev_s), 800)
    speed = np.clip(speed_after(fit.law, fit.start_rev_s, seconds), f[-1], f[0])
    step, loss = -np.diff(f), fit.law.loss(f)
    columns = []
    for rise in RISE_SPEEDS_REV_S:
        change = (RISE_SIZE + RISE_SIZE_MORE * fit.law.rise) * max(dry, 1e-6) * np.exp(-f / rise) / loss**2
        time, turns = (np.concatenate([[0.0], -np.cumsum((y[1:] + y[:-1]) / 2 * step)]) for y in (change, change * f))
        moved = turns - f * time if fit.observed is turns_after else loss * time
        columns.append(np.interp(-speed, -f, moved))
    return np.column_stack(columns)


class _Family:
    """The phases' likelihood with some bends allowed, and its normal approximation."""

    def __init__(self, blocks: _Blocks, bends: FloatArray) -> None:
        self.blocks = blocks
        size = np.maximum(np.abs(blocks.free).max(0, initial=0.0), 1e-12)
        loose = blocks.free * (1e4 * float(np.max(blocks.sigma)) / size)
        spread = np.diag(blocks.sigma**2) + bends @ bends.T + loose @ loose.T
        self.root = np.linalg.cholesky(spread)
        moves = self._whiten(slopes(blocks.law, float(blocks.at[0]), blocks.seconds, blocks.observed)[:, :4])
        left = self._whiten(blocks.left[:, None])[:, 0]
        self.scale = 1 / np.maximum(np.sqrt(np.sum(moves**2, axis=0)), 1e-300)
        q, r = np.linalg.qr(moves * self.scale)
        r = r + np.eye(4) * 1e-9 * np.abs(np.diag(r)).max()
        step = np.linalg.solve(r, q.T @ left)
        self.middle = blocks.at + step * self.scale
        self.back = np.linalg.inv(r) * self.scale[:, None]
        """Turns standard normal draws into moves of the unknowns."""
        misfit = float(np.sum((left - q @ (q.T @ left)) ** 2))
        volume = float(np.sum(np.log(np.abs(np.diag(r)))) - np.sum(np.log(self.scale)))
        self.log_evidence = -misfit / 2 - volume - float(np.sum(np.log(np.diag(self.root))))

    def draw(self, rng: Generator, count: int) -> FloatArray:
        back = self.back * WIDER
        normal = _cut_normal(self.middle, back, self.blocks.at, rng, count)
        unknowns = self.middle + normal @ back.T
        weight = self._log_likelihood(unknowns) + np.sum(normal**2, axis=1) / 2
        weight = np.exp(weight - weight.max())
        return np.asarray(unknowns[rng.choice(count, count, p=weight / weight.sum())])

    def _log_likelihood(self, unknowns: FloatArray) -> FloatArray:
        start, dry, oil, air = (unknowns[:, i : i + 1] for i in range(4))
        said = self.blocks.observed(self.blocks.law.with_terms(dry, oil, air), start, self.blocks.seconds)
        left = self._whiten((self.blocks.left + self.blocks.said - said).T)
        return np.asarray(-np.sum(left**2, axis=0) / 2)

    def _whiten(self, columns: FloatArray) -> FloatArray:
        return np.asarray(np.linalg.solve(self.root, columns))


def _cut_normal(middle: FloatArray, back: FloatArray, inside: FloatArray, rng: Generator, count: int) -> FloatArray:
    """Standard normal draws z for which no coefficient of middle + back z is below nought.

    Those of a plain draw that are so, where enough are; else by hit and run.
    """
    z = rng.normal(size=(AT_ONCE * count, 4))
    z = z[np.all(middle[1:] + z @ back[1:].T >= 0, axis=1)]
    return z[:count] if len(z) >= count else _hit_and_run(middle, back, inside, rng, count)


def _hit_and_run(middle: FloatArray, back: FloatArray, inside: FloatArray, rng: Generator, count: int) -> FloatArray:
    push = np.linalg.solve(back, np.maximum(inside, [1e-6, 1e-12, 0.0, 0.0]) - middle)
    z = np.tile(push, (count, 1))
    rows, floor = back[1:], middle[1:]
    for _ in range(_SWEEPS):
        way = rng.normal(size=(count, 4))
        way /= np.linalg.norm(way, axis=1, keepdims=True)
        along = np.sum(z * way, axis=1)
        rest = z - along[:, None] * way
        slope, level = way @ rows.T, floor + rest @ rows.T
        with np.errstate(divide="ignore"):
            hit = -level / slope
        low = np.max(np.where(slope > 0, hit, -np.inf), axis=1)
        high = np.min(np.where(slope < 0, hit, np.inf), axis=1)
        z = rest + _cut_draw(low, np.maximum(high, low), along, rng)[:, None] * way
    return z


def _cut_draw(low: FloatArray, high: FloatArray, now: FloatArray, rng: Generator) -> FloatArray:
    """One draw each from a standard normal between two ends; stays where it is where that is too far out to tell."""
    flip = np.where(low > 0, -1.0, 1.0)
    a, b = np.where(flip < 0, -high, low), np.where(flip < 0, -low, high)
    below, above = ndtr(a), ndtr(b)
    x = flip * ndtri(below + rng.random(len(low)) * (above - below))
    return np.asarray(np.where(np.isfinite(x), np.clip(x, low, high), now))
