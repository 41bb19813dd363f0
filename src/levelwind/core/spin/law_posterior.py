"""Laws drawn from all that a recording allows, the oil's power and friction near rest among what is not known.

The prior is flat over coefficients not below 0, which, the energy lost being known, is flat over the shares. The oil's
power lies between 0.5 and 1, dry friction may rise towards rest by any plausible part at any plausible speed: so what a
recording does not reach stays open in every interval and every stop, and what it reaches is told by it.

Seven unknowns: start speed, dry, oil, air, and three that bend the law. Bends are drawn from the prior, near the fit,
and about the likeliest of those; for each the best coefficients are found and laws drawn about them. Every law counts
by its posterior over the density it was drawn with (importance sampling from a mixture: A. Owen and Y. Zhou, Journal
of the American Statistical Association 95, 2000, p. 135, from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from levelwind.core.errors import NoConvergenceError
from levelwind.core.fitting import NINETY, FloatArray, Generator
from levelwind.core.spin.fit import LawFit
from levelwind.core.spin.fit_solver import LEAST_POWER, MAX_STRIBECK, MOST_POWER
from levelwind.core.spin.law import Law, speed_after, turns_after

DRAWS = 2000
"""Laws drawn. Our choice."""
MOST_BLOCKS = 120
"""Neighbouring values are averaged to at most this many. Our choice, for speed."""

LINEAR_PART, ROOT_PART = 0.3, 0.1
"""Prior chance that the oil's drag goes with the speed itself, and that it goes with its root; evenly anything between
else. Our choice: both ends are films in handbooks' words, so that neither may be the one value no interval holds."""
RISE_PART, RISE_SIZE = 0.5, 0.5
"""Prior chance that dry friction rises towards rest, and how large the rise is then, in parts of the dry friction, at
one standard deviation. Our choice: no measurement of a reel (docs/decisions/spin-intervals.md)."""
RISE_REV_S = (0.3, 4.0)
"""rev/s between which the speed of such a rise lies, evenly in its logarithm. Our choice of range: speeds at which a
film in a small bearing gives way to contact; no measurement of a reel."""
UNBALANCE = 0.3
"""How large an unbalance's pull is, in parts of the dry friction, at one standard deviation. Our choice: no measurement
of a reel (docs/decisions/spin-intervals.md)."""

_LEAST_SPARE = 3.0
"""Degrees of freedom that Student's factor is taken for at the least: with fewer it grows without bound. Our choice."""
_FINEST = 1e-6
"""Part of its own range that no recording is finer than. Our choice: keeps exact tables from making a likelihood of
zero width."""
_UNBALANCE_REV_S, _UNBALANCE_TURNS = 0.3, 0.1
"""rev/s and turns: below this speed an unbalance's effect is taken as at this speed, and it is never larger than this.
Our choice: where it would be, the spool no longer turns whole turns."""
_LEAST = np.array([1e-6, 1e-12, 0.0, 0.0])
"""Start speed, dry, oil and air of a draw, at the least: a law without any dry friction would never come to rest."""

_POWER_RANGE = (
    LEAST_POWER - ROOT_PART / (1 - LINEAR_PART - ROOT_PART) * (MOST_POWER - LEAST_POWER),
    MOST_POWER + LINEAR_PART / (1 - LINEAR_PART - ROOT_PART) * (MOST_POWER - LEAST_POWER),
)
"""Of the unknown behind the power, even between these: what lies beyond the powers' own range stands for its ends."""
_NO_RISE = -RISE_SIZE * np.sqrt(np.pi / 2) * (1 - RISE_PART) / RISE_PART
"""The least of the unknown behind the rise: below 0 there is none; its density is even there, and meets the half normal
one above."""
_BENDS = np.array([_POWER_RANGE, (_NO_RISE, MAX_STRIBECK), tuple(np.log(RISE_REV_S))])
"""Least and most of the three unknowns that bend the law: behind the power, behind the rise, logarithm of its speed."""
_BENDS_MIDDLE, _BEND_SIZES = np.array([0.85, 0.0, 0.0]), np.array([0.2, 0.5, 0.7])
"""Middle and standard deviations of their prior, about, for the normal distribution near the fit. Our choice."""
_WIDE, _NEAR, _CLOSE, _DRAWS_EACH = 140, 120, 240, 6
"""Bends drawn from the prior, near the fit and about the likeliest of those; laws about the best coefficients of each.
Our choice."""
_WIDER, _KERNEL, _LEAST_SPREAD = 1.3, 0.6, 0.01
"""How much wider than the fit says bends are drawn near it; how wide, in their own spread, about each of the likeliest;
and how wide at the least, in parts of the prior. Our choice: no tail is missed."""
_ROUNDS, _ENOUGH = 3, 150
"""Times bends are drawn about the likeliest at the most, and how many equally likely laws the draws must be worth to
end it. Our choice: a quantile at 5 % then stands on some eight."""
_COUNTS = 1e-4
"""Part of an even chance below which a bend is none that others were drawn about. Our choice, for speed."""
_TEMPERS, _LEAST_DIFFERENT = (1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1, 0.05), 12
"""Powers that chances are taken to until so many different bends count. Our choice."""
Mask = NDArray[np.bool_]
Density = Callable[[FloatArray], FloatArray]

LEAST_RUNGS = 120
"""Steps of speed over which laws are summed at the least. Our choice: to 1e-5 of a solver's."""
_SLOWEST_PART = 1e-3
"""Part of the first speed that no block is taken to be slower than. Our choice: a spool so slow makes no more turns."""
_NEWTON_STEPS = 4
"""Steps to the best coefficients of a law's bends. Our choice: what is left over, the weights make up for."""
_LOG_PRIOR_VOLUME = float(
    np.log((_POWER_RANGE[1] - _POWER_RANGE[0]) * -_NO_RISE / (1 - RISE_PART) * np.log(RISE_REV_S[1] / RISE_REV_S[0]))
)
"""Logarithm of what the prior of the bends sums to before it is normalised."""
_SLOPE_PART = 1e-4
"""Part of its own size by which an unknown is moved for a slope. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class _Bent:
    """What bends the law: costly at each rung, and the same for all coefficients that are tried with it."""

    power: FloatArray
    """Shape (laws, 1), as the two below."""
    rise: FloatArray
    of: FloatArray
    """rev/s at which the rise has fallen to 1/e."""
    near_rest: FloatArray
    """Part of the rise that is there at each rung, shape (laws, rungs)."""
    swept: FloatArray
    """Oil's speed at each rung over that at the first, shape (laws, rungs)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Blocks:
    """Neighbouring values averaged, shape (blocks,), how they are whitened, and the speeds laws are summed over.

    The fit says at which speed the spool was at each block's time. Laws worth a thought reach that speed within moments
    of it: what they predict for the time itself follows from there by two terms of Taylor's series, so that no law
    need be solved for its speed at a time.
    """

    seconds: FloatArray
    observed: FloatArray
    whiten: FloatArray
    """Shape (blocks, blocks): takes off the free columns, then scales to independent unit errors."""
    reference_rev_s: float
    of_turns: bool
    rungs: FloatArray
    """Speeds in rev/s from the fit's first to its last, with the middle of each step; ``at`` those of the blocks."""
    at: NDArray[np.int64]
    log_rungs: FloatArray
    """Logarithms of the rungs over the first speed."""

    def bent(self, bends: FloatArray) -> "_Bent":
        """What bends (laws, 3) make of dry friction and of oil at each rung, whatever their coefficients."""
        power, rise, speed = (bends[:, i : i + 1] for i in range(3))
        power, of = np.clip(power, LEAST_POWER, MOST_POWER), np.exp(speed)
        return _Bent(power, np.maximum(rise, 0.0), of, np.exp(-self.rungs / of), np.exp(power * self.log_rungs))

    def left(self, x: FloatArray, bent: "_Bent | None" = None) -> FloatArray:
        """Whitened residuals of unknowns (laws, 7), shape (laws, blocks); of the same bends again where given."""
        time, turns, loss, slope = self._reached(x, bent or self.bent(x[:, 4:]))
        f = self.rungs[::2][self.at]
        late = np.minimum(self.seconds - time, f / loss)
        change = loss * late * (1 - slope * late / 2)
        predicted = turns + late * (f - loss * late / 2) if self.of_turns else f - change
        return np.asarray((self.observed - predicted) @ self.whiten.T)

    def _reached(self, x: FloatArray, bent: "_Bent") -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Seconds and turns to each block's speed, the loss there and its slope over speed, each (laws, blocks)."""
        start, dry, oil, air = (x[:, i : i + 1] for i in range(4))
        power, rise, of = bent.power, bent.rise, bent.of
        f, first = self.rungs, self.reference_rev_s
        risen = dry * rise * bent.near_rest
        swept = oil * first * bent.swept
        loss = dry + risen + swept + air * f * f
        pace = 1 / loss
        began = dry * (1 + rise * np.exp(-start / of)) + oil * first * (start / first) ** power + air * start * start
        time = (start - first) * (1 / began + pace[:, :1]) / 2
        turns = (start - first) * (start / began + first * pace[:, :1]) / 2
        at = self.at
        seconds, made = (self._summed(each)[:, at] for each in (pace, pace * f))
        here = f[::2][at]
        slope = 2 * air * here - risen[:, ::2][:, at] / of + power * swept[:, ::2][:, at] / here
        return time + seconds, turns + made, loss[:, ::2][:, at], slope

    def _summed(self, rates: FloatArray) -> FloatArray:
        """Integrals from the first rung down to each second one, by Simpson's rule."""
        steps = (self.rungs[:-2:2] - self.rungs[2::2]) / 6
        pieces = (rates[:, :-2:2] + 4 * rates[:, 1:-1:2] + rates[:, 2::2]) * steps
        return np.concatenate([np.zeros((len(rates), 1)), np.cumsum(pieces, axis=1)], axis=1)

    def log_likelihood(self, x: FloatArray) -> FloatArray:
        return np.asarray(-np.sum(self.left(x) ** 2, axis=1) / 2)


def _rungs(first: float, speeds: FloatArray) -> tuple[FloatArray, NDArray[np.int64]]:
    """Speeds to sum over from the first down through falling ones, middles between, and where those are among the rest.

    Even in the root of the speed within each gap, as laws bend most near rest.
    """
    steps = -(-LEAST_RUNGS // len(speeds))
    ends = np.sqrt(np.concatenate([[first], speeds]))
    gaps = [np.linspace(a, b, 2 * steps, endpoint=False) for a, b in pairwise(ends)]
    rungs = np.concatenate([*gaps, ends[-1:]]) ** 2
    rungs[1::2] = (rungs[:-1:2] + rungs[2::2]) / 2
    return rungs, steps * np.arange(1, len(speeds) + 1)


def drawn_laws(fit: LawFit, rng: Generator) -> tuple[Law, FloatArray]:
    """Laws the recording allows, all equally likely, and the speed in rev/s each had at the first value, (draws,)."""
    blocks = _blocks(fit)
    search = _Search(blocks, _of_fit(fit))
    wide, near = _prior_bends(rng), search.near(rng)
    found = search.settled(np.concatenate([wide, near]))
    drawn_from: list[tuple[int, Density]] = [(len(wide), _prior_density), (len(near), search.near_density)]
    for _ in range(_ROUNDS):
        close, density = _closer(found, rng)
        found = _joined(found, search.settled(close))
        drawn_from.append((len(close), density))
        total = np.sum([count * each(found.x[:, 4:]) for count, each in drawn_from], axis=0)
        x, weight = _about(found, -np.log(np.maximum(total, 1e-300)), blocks, rng)
        if 1 / np.sum(weight**2) > _ENOUGH:
            break
    return _laws(x[rng.choice(len(x), DRAWS, p=weight)], fit.start_rev_s)


def _laws(x: FloatArray, reference_rev_s: float) -> tuple[Law, FloatArray]:
    start, dry, oil, air, power, rise, speed = x.T
    power = np.clip(power, LEAST_POWER, MOST_POWER)
    return Law(dry, oil, air, np.maximum(rise, 0.0), np.exp(speed), power, reference_rev_s), start


def _log_prior(x: FloatArray) -> FloatArray:
    """Of the bends, normalised; -inf where they or a coefficient lie outside."""
    allowed = np.all(x[:, :4] >= _LEAST, axis=1) & _allowed(x[:, 4:])
    return np.where(allowed, -((np.maximum(x[:, 5], 0) / RISE_SIZE) ** 2) / 2 - _LOG_PRIOR_VOLUME, -np.inf)


def _prior_density(bends: FloatArray) -> FloatArray:
    return np.exp(_log_prior(np.column_stack([np.ones((len(bends), 4)), bends])))


def _allowed(bends: FloatArray) -> Mask:
    return np.asarray(np.all((bends >= _BENDS[:, 0]) & (bends <= _BENDS[:, 1]), axis=1))


def _log_posterior(blocks: _Blocks, x: FloatArray) -> FloatArray:
    total = _log_prior(x)
    some = np.isfinite(total)
    total[some] += blocks.log_likelihood(x[some])
    return np.asarray(np.where(np.isnan(total), -np.inf, total))


def _prior_bends(rng: Generator) -> FloatArray:
    bends = rng.uniform(_BENDS[:, 0], _BENDS[:, 1], (_WIDE, 3))
    rises = np.minimum(np.abs(rng.normal(0, RISE_SIZE, _WIDE)), MAX_STRIBECK)
    bends[:, 1] = np.where(rng.random(_WIDE) < RISE_PART, rises, rng.uniform(_NO_RISE, 0, _WIDE))
    return bends


@dataclass(frozen=True, slots=True, eq=False)
class _Settled:
    """Laws with the best coefficients for their bends."""

    x: FloatArray
    """Shape (laws, 7)."""
    root: FloatArray
    """Of the coefficients' covariance, shape (laws, 4, 4)."""
    evidence: FloatArray
    """Log of the likelihood summed over coefficients, about."""


class _Search:
    """Where to look, from the slopes at the fit."""

    def __init__(self, blocks: _Blocks, fit: FloatArray) -> None:
        self.blocks, self.fit = blocks, fit
        left = blocks.left(fit[None])
        slopes, left = _slopes(blocks, fit[None], left, range(7))[0], left[0]
        precision = np.concatenate([np.zeros(4), 1 / _BEND_SIZES**2])
        weight = slopes @ slopes.T + np.diag(precision)
        gain = slopes @ left + precision * np.append(np.zeros(4), _BENDS_MIDDLE - fit[4:])
        scale = 1 / np.sqrt(np.maximum(np.diag(weight), 1e-300))
        spread = np.linalg.pinv(weight * scale * scale[:, None], hermitian=True) * scale * scale[:, None]
        self.middle = (fit + spread @ gain)[4:]
        self.spread = spread[4:, 4:] * _WIDER**2 + np.diag((_LEAST_SPREAD * _BEND_SIZES) ** 2)
        inner = scale[:4]
        self.follow = -np.linalg.pinv((slopes[:4] @ slopes[:4].T) * inner * inner[:, None], hermitian=True)
        self.follow = (self.follow * inner * inner[:, None]) @ slopes[:4] @ slopes[4:].T
        """How far the coefficients follow the bends, (4, 3)."""

    def near(self, rng: Generator) -> FloatArray:
        """Bends near the fit, those outside left out."""
        bends = rng.multivariate_normal(self.middle, self.spread, _NEAR, method="cholesky")
        return np.asarray(bends[_allowed(bends)])

    def near_density(self, bends: FloatArray) -> FloatArray:
        return _normal_density(bends - self.middle, self.spread)

    def settled(self, bends: FloatArray) -> _Settled:
        """Newton's steps to the best coefficients for each law's bends."""
        start = np.maximum(self.fit[:4] + (bends - self.fit[4:]) @ self.follow.T, _LEAST)
        x, bent = np.column_stack([start, bends]), self.blocks.bent(bends)
        for step in range(_NEWTON_STEPS + 1):
            left = self.blocks.left(x, bent)
            slopes = _slopes(self.blocks, x, left, range(4), bent)
            normal, gain = slopes @ slopes.transpose(0, 2, 1), np.einsum("nij,nj->ni", slopes, left)
            scale = 1 / np.sqrt(np.maximum(np.einsum("nii->ni", normal), 1e-300))
            normal = normal * scale[:, None, :] * scale[:, :, None] + 1e-9 * np.eye(4)
            if step == _NEWTON_STEPS:
                break
            held = (x[:, :4] <= _LEAST) & (gain < 0)
            inner = np.where(held[:, None, :] | held[:, :, None], np.eye(4), normal)
            move = np.linalg.solve(inner, np.where(held, 0.0, gain * scale)[..., None])[..., 0] * scale
            x = np.column_stack([np.maximum(x[:, :4] + move, _LEAST), bends])
        root = _root_of_inverse(normal) * scale[:, :, None]
        evidence = -np.sum(left**2, axis=1) / 2 + np.linalg.slogdet(root)[1]
        return _Settled(x, root, evidence)


def _root_of_inverse(normal: FloatArray) -> FloatArray:
    """Roots R of inverses, R Rᵀ, shape (laws, 4, 4).

    Where two losses cannot be told apart, rounding may leave an inverse without a root; that of the matrix itself,
    turned about, is as good.
    """
    try:
        return np.asarray(np.linalg.cholesky(np.linalg.inv(normal)))
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.inv(np.linalg.cholesky(normal)).transpose(0, 2, 1))


def _normal_density(off: FloatArray, spread: FloatArray) -> FloatArray:
    """Of a normal distribution at points off its middle, (..., 3)."""
    size = np.einsum("...i,ij,...j->...", off, np.linalg.inv(spread), off)
    return np.asarray(np.exp(-size / 2) / np.sqrt(np.linalg.det(2 * np.pi * spread)))


def _joined(one: _Settled, other: _Settled) -> _Settled:
    pairs = ((one.x, other.x), (one.root, other.root), (one.evidence, other.evidence))
    return _Settled(*(np.concatenate(pair) for pair in pairs))


def _chances(found: _Settled) -> FloatArray:
    """Of the bends, by evidence and prior alone; flattened until enough of them count."""
    log = found.evidence + _log_prior(found.x)
    for part in _TEMPERS:
        chance = chances_of(part * log)
        if 1 / np.sum(chance**2) > _LEAST_DIFFERENT:
            break
    return np.asarray(chance)


def _closer(found: _Settled, rng: Generator) -> tuple[FloatArray, Density]:
    """Bends about the likeliest ones found so far, and the density they are drawn with."""
    chance, bends = _chances(found), found.x[:, 4:]
    off = bends - chance @ bends
    spread = (off.T * chance) @ off * _KERNEL**2 + np.diag((_LEAST_SPREAD * _BEND_SIZES) ** 2)
    picked = bends[rng.choice(len(bends), _CLOSE, p=chance)]
    close = picked + rng.multivariate_normal(np.zeros(3), spread, _CLOSE, method="cholesky")
    some = chance > _COUNTS / len(bends)

    def density(at: FloatArray) -> FloatArray:
        return np.asarray(_normal_density(at[:, None] - bends[some], spread) @ chance[some])

    return close[_allowed(close)], density


def _about(found: _Settled, log_rarity: FloatArray, blocks: _Blocks, rng: Generator) -> tuple[FloatArray, FloatArray]:
    """Laws with coefficients drawn about the best ones of each bend, and their chances."""
    x, root, rare = (np.repeat(each, _DRAWS_EACH, axis=0) for each in (found.x, found.root, log_rarity))
    z = rng.normal(size=(len(x), 4))
    x[:, :4] += np.einsum("nij,nj->ni", root, z)
    density = -np.sum(z**2, axis=1) / 2 - np.linalg.slogdet(root)[1]
    return x, chances_of(_log_posterior(blocks, x) - density + rare)


def chances_of(log: FloatArray) -> FloatArray:
    """Chances that add up to 1, from logarithms known but for a common constant; what has no finite one has no chance.

    Raises NoConvergenceError where nothing has one.

    >>> chances_of(np.array([-1000.0, -1000.0, -np.inf]))
    array([0.5, 0.5, 0. ])
    """
    possible = np.isfinite(log)
    if not np.any(possible):
        raise NoConvergenceError("the law did not settle on this recording")
    weight = np.exp(np.where(possible, log - np.max(log[possible]), -np.inf))
    return np.asarray(weight / weight.sum())


def _of_fit(fit: LawFit) -> FloatArray:
    """The fit as unknowns of the walk."""
    rise, speed, power = (float(np.asarray(x)) for x in (fit.law.stribeck, fit.law.stribeck_rev_s, fit.law.power))
    coefficients = np.maximum([float(x) for x in fit.law.coefficients], _LEAST[1:])
    return np.array([fit.start_rev_s, *coefficients, power, rise, np.log(speed)])


def _slopes(blocks: _Blocks, x: FloatArray, left: FloatArray, which: range, bent: _Bent | None = None) -> FloatArray:
    """Of the whitened prediction by some unknowns, shape (laws, unknowns, blocks); powers are moved downwards.

    ``left`` is what is left at x itself, ``bent`` its bends where none of those is moved.
    """
    size = np.array([x[0, 0], 0.0, 0.0, 0.0, -1.0, 1.0, 1.0])
    size[1:4] = x[0, 0] / max(float(blocks.seconds[-1]), 1e-9) / np.array([1.0, x[0, 0], x[0, 0] ** 2])
    columns = []
    for i in which:
        moved = x.copy()
        moved[:, i] += _SLOPE_PART * size[i]
        columns.append((left - blocks.left(moved, bent)) / (_SLOPE_PART * size[i]))
    return np.stack(columns, axis=1)


def _blocks(fit: LawFit) -> _Blocks:
    n = len(fit.time_s)
    where = np.arange(n) * min(MOST_BLOCKS, n) // n
    weight = 1 / fit.sigma**2
    total = np.bincount(where, weight)

    def mean(x: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(where, weight * x) / total)

    seconds = mean(fit.time_s - fit.start_s)
    none = np.empty((len(total), 0))
    free = np.column_stack([none, *(mean(column) for column in fit.linear_columns.T)])
    shared = (*fit.common_errors.T, *_unbalance_columns(fit).T)
    common_errors = np.column_stack([none, *(mean(column) for column in shared)])
    predicted = fit.observable(fit.law, fit.start_rev_s, seconds)
    sigma = np.sqrt(max(fit.correlation_length, 1.0) / total) * _student_factor(fit)
    sigma = np.maximum(sigma, _FINEST * float(np.ptp(predicted)))
    covariance = np.diag(sigma**2) + common_errors @ common_errors.T
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    basis = np.linalg.qr(whiten @ free)[0]
    whiten = whiten - basis @ (basis.T @ whiten)
    first = fit.start_rev_s
    speeds = np.maximum(np.minimum(speed_after(fit.law, first, seconds), first), _SLOWEST_PART * first)
    rungs, at = _rungs(first, speeds)
    observed, of_turns = predicted + mean(fit.residuals), fit.observable is turns_after
    return _Blocks(seconds, observed, whiten, first, of_turns, rungs, at, np.log(rungs / first))


def _student_factor(fit: LawFit) -> float:
    """By how much to widen deviations, as few independent residuals tell their own size badly.

    Student's 90 % over the normal distribution's.
    """
    spare = len(fit.time_s) / max(fit.correlation_length, 1.0) - 4 - fit.linear_columns.shape[1]
    return float(stdtrit(max(spare, _LEAST_SPARE), 0.95)) / NINETY


def _unbalance_columns(fit: LawFit) -> FloatArray:
    """How an unbalance of ``UNBALANCE`` moves the phase within each turn, shape (values, 2): its pull over (2π f)².

    Sine and cosine, as nobody knows where on the spool the weight sits.
    """
    if fit.observable is not turns_after:
        return np.empty((len(fit.time_s), 0))
    speed = np.maximum(fit.speed(fit.time_s), _UNBALANCE_REV_S)
    size = UNBALANCE * float(fit.law.coefficients[0]) / (2 * np.pi * speed) ** 2
    size = np.minimum(size, _UNBALANCE_TURNS)
    angle = 2 * np.pi * fit.phase(fit.time_s)
    return np.column_stack([size * np.cos(angle), size * np.sin(angle)])
