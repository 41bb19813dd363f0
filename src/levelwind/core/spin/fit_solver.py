"""The solver behind the fit: Levenberg and Marquardt's steps on re-weighted residuals, coefficients kept at 0 or above.

Unknowns are an array of start speed, dry, oil, air and, where the law may bend, the oil's power and the Stribeck term.
Straight-line columns (an offset, a mark off centre) are not among them: they are projected out, which leaves fewer
unknowns to search.
Levenberg-Marquardt: D. Marquardt, Journal of the Society for Industrial and Applied Mathematics 11, 1963, p. 431 (from
memory). Huber's weights: see ``core.fitting``.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.fitting import HUBER, MAD_TO_SIGMA, FloatArray
from levelwind.core.spin.law import Law, speed_after

Observable = Callable[[Law, ArrayLike, ArrayLike], FloatArray]
"""What was measured as a function of law, start speed in rev/s and seconds: ``turns_after`` or ``speed_after``."""

Effort = tuple[int, float]
"""Rounds of re-weighting at most, and the part of the misfit below which a step's gain ends a round."""
FULL: Effort = (8, 1e-7)
"""For a result. Our choice: the misfit to seven figures."""
COARSE: Effort = (3, 1e-4)
"""For a look that decides what is fitted fully. Our choice, for speed: the misfit to four figures."""
BENT: Effort = (4, 1e-6)
"""For a law with a power or a Stribeck term, whose start is already near. Our choice, for speed."""

LEAST_POWER, MOST_POWER = 0.5, 1.0
"""Of the speed, to which the oil's drag may go: 2/3 for a rolling bearing's film (A. Palmgren), 1 for a film sheared
between smooth faces (N. Petroff), both from memory; a half as room below. docs/physics/spin.md shows the arithmetic."""

MAX_STRIBECK = 2.0
"""Largest Stribeck term a fit may reach, as a part of dry friction. Our choice: dry friction three times that of a fast
spool; static coefficients in tables are seldom over twice the sliding ones (common practice, no source)."""

_STEPS = 60
"""Steps of one descent at most. Our choice: a guard against descents that never end."""
_GUESS_POINTS = 80
"""Values used to choose between starting points. Our choice: enough for four unknowns, and quick."""
_WEIGHTS_SETTLED = 1e-2
"""Change of every weight below which the re-weighting stops. Our choice: the misfit is flat there."""
_FIRST_DAMPING = 1e-6
"""Marquardt's damping at the start, as a part of the diagonal. Our choice: nearly Newton's step: guesses are near."""
_LEAST_DAMPING, _MOST_DAMPING = 1e-12, 1e12
"""Bounds of the damping: below, nothing is left of it; above, no step can be found. Our choice."""
_EASE, _TIGHTEN = 10, 5
"""The damping is divided by the first after a step that helped, multiplied by the second after one that did not. Our
choice, of the usual size (Marquardt took 10 both ways)."""
_LEAST_REV_S = 1e-9
"""rev/s; no slower speed's logarithm is taken. Any number near 0 does: it is multiplied by the speed's power."""
_RUNGS = 1 - np.linspace(1.0, 0.0, 201) ** 2
_SPEED_GRID = np.sort(np.concatenate([_RUNGS, (_RUNGS[1:] + _RUNGS[:-1]) / 2]))
"""Parts of the way from the first speed to the last, with the middle of each step for Simpson's rule. 201 steps, closer
together where the spool is slow and the integrand steep: our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What is fitted: values at seconds since the first, and how the law shows in them."""

    seconds: FloatArray
    values: FloatArray
    """Turns or rev/s, as ``observable`` gives."""
    sigma: FloatArray
    """Standard deviations of the values, against one another."""
    linear_columns: FloatArray
    """Straight-line terms, shaped (values, columns)."""
    observable: Observable
    stribeck_rev_s: float | None = None
    """Of the law's Stribeck term; None where it has none."""
    reference_rev_s: float = 1.0
    """n₀ of the law's oil term."""

    def subsample(self) -> "Problem":
        """Some of the values, spread evenly, with the offset alone of the straight-line terms."""
        some = np.unique(np.linspace(0, len(self.seconds) - 1, _GUESS_POINTS).astype(int))
        kept = (self.seconds[some], self.values[some], self.sigma[some])
        return Problem(*kept, self.linear_columns[some, :1], self.observable)

    def residuals(self, unknowns: FloatArray) -> FloatArray:
        """Values less the law's, straight-line terms still in."""
        return self.values - self.observable(law_of(unknowns, self), unknowns[0], self.seconds)

    def jacobian(self, unknowns: FloatArray) -> FloatArray:
        law = law_of(unknowns, self)
        return jacobian(law, float(unknowns[0]), self.seconds, self.observable, bent=len(unknowns) > 4)


def unknowns_of(start_rev_s: float, law: Law) -> FloatArray:
    """Start speed, dry, oil and air as one array."""
    return np.array([start_rev_s, *(float(x) for x in law.coefficients)])


def law_of(unknowns: FloatArray, problem: Problem) -> Law:
    """The law with these unknowns."""
    dry, oil, air = (float(x) for x in unknowns[1:4])
    if len(unknowns) == 4:
        return Law(dry, oil, air)
    power, stribeck = (float(x) for x in unknowns[4:])
    return Law(dry, oil, air, stribeck, problem.stribeck_rev_s or 1.0, power, problem.reference_rev_s)


def jacobian(
    law: Law, start_rev_s: float, seconds: FloatArray, observable: Observable, *, bent: bool = False
) -> FloatArray:
    """Derivatives of what is observed by start speed, dry, oil, air; ``bent``, by the oil's power and the Stribeck
    term.

    Shaped (values, 4 or 6). Where the loss P changes by g, speed f is reached T = ∫ g/P² df sooner, and G = ∫ f g/P² df
    turns sooner, both from f to the start; so at a given time the turns change by f T − G and the speed by −P T.

    >>> from levelwind.core.spin.law import turns_after
    >>> jacobian(Law(0.5, 0.0, 0.0), 20.0, np.array([0.0, 10.0]), turns_after).round(6)[:, :2]
    array([[  0.,   0.],
           [ 10., -50.]])
    """
    f = speed_after(law, start_rev_s, seconds)
    grid = start_rev_s + (float(np.min(f)) - start_rev_s) * _SPEED_GRID
    weight = 1 / law.loss(grid) ** 2
    terms = [law.stribeck_factor(grid), law.oil_speed(grid), grid**2]
    if bent:
        dry, oil, _ = (float(x) for x in law.coefficients)
        terms.append(oil * terms[1] * np.log(np.maximum(grid, _LEAST_REV_S) / law.reference_rev_s))
        terms.append(dry * np.exp(-grid / law.stribeck_rev_s))
    changes, rungs = np.stack(terms) * weight, grid[::2]
    earlier = _integrals(grid, changes)
    if observable is speed_after:
        first = factor = np.where(f > 0, law.loss(f), 0.0)
        moved = -earlier
    else:
        first, factor = start_rev_s - f, np.ones_like(f)
        moved = rungs * earlier - _integrals(grid, changes * grid)
    columns = [np.interp(-f, -rungs, each) * factor for each in moved]
    return np.column_stack([first / float(law.loss(start_rev_s)), *columns])


def _integrals(grid: FloatArray, rates: FloatArray) -> FloatArray:
    """Integrals from each second grid point up to the first, by Simpson's rule, a row each."""
    steps = grid[:-2:2] - grid[2::2]
    pieces = steps * (rates[:, :-2:2] + 4 * rates[:, 1:-1:2] + rates[:, 2::2]) / 6
    return np.concatenate([np.zeros((len(rates), 1)), np.cumsum(pieces, axis=1)], axis=1)


def solve(guess: FloatArray, problem: Problem, effort: Effort = FULL) -> tuple[FloatArray, FloatArray]:
    """The best unknowns from a guess, and Huber's weights of the values."""
    rounds, close = effort
    unknowns, weights, sigma = guess, np.ones(len(problem.seconds)), problem.sigma
    left = problem.residuals(unknowns)
    for _ in range(rounds):
        unknowns, left = _descend(unknowns, left, np.sqrt(weights) / sigma, problem, close)
        size = np.abs(without_linear(left, np.sqrt(weights) / sigma, problem)[0] / sigma)
        noise = MAD_TO_SIGMA * float(np.median(size))
        fresh = np.minimum(1.0, HUBER * noise / np.maximum(size, 1e-300)) if noise > 0 else weights
        settled = float(np.max(np.abs(fresh - weights))) < _WEIGHTS_SETTLED
        weights = fresh
        if settled:
            break
    return unknowns, weights


def without_linear(left: FloatArray, root: FloatArray, problem: Problem) -> tuple[FloatArray, FloatArray]:
    """Residuals with the straight-line terms fitted and taken off, and those terms; ``root`` weighs the values."""
    values = np.linalg.lstsq(problem.linear_columns * root[:, None], left * root, rcond=None)[0]
    return left - problem.linear_columns @ values, np.asarray(values, dtype=np.float64)


def _descend(
    unknowns: FloatArray, over: FloatArray, root: FloatArray, problem: Problem, close: float
) -> tuple[FloatArray, FloatArray]:
    """Levenberg and Marquardt, on the residuals with the straight-line terms projected out.

    From unknowns and their residuals ``over`` to better ones and theirs. An unknown that stands at a bound and wants
    over it is left out of the step.
    """
    basis = np.linalg.qr(problem.linear_columns * root[:, None])[0]
    seconds = max(float(problem.seconds[-1]), 1e-9)
    # dry friction stays above 0 by a hair: without it no law comes to rest, and the slopes at the stop are lost
    floor = np.array([1e-6, 1e-7 * max(float(unknowns[0]), 1e-6) / seconds, 0.0, 0.0, LEAST_POWER, 0.0])
    roof = np.array([np.inf, np.inf, np.inf, np.inf, MOST_POWER, MAX_STRIBECK if problem.stribeck_rev_s else 0.0])
    floor, roof = floor[: len(unknowns)], roof[: len(unknowns)]

    def clean(columns: FloatArray) -> FloatArray:
        return np.asarray(columns - basis @ (basis.T @ columns))

    damping, left = _FIRST_DAMPING, clean(over * root)
    best = float(left @ left)
    for _ in range(_STEPS):
        moves = clean(problem.jacobian(unknowns) * root[:, None])
        gain = moves.T @ left
        free = ~((unknowns <= floor) & (gain <= 0)) & ~((unknowns >= roof) & (gain >= 0))
        normal = moves[:, free].T @ moves[:, free]
        before = best
        while damping < _MOST_DAMPING:
            step = np.linalg.lstsq(normal + damping * np.diag(np.diag(normal) + 1e-300), gain[free], rcond=None)[0]
            moved = unknowns.copy()
            moved[free] = np.clip(unknowns[free] + step, floor[free], roof[free])
            seen = problem.residuals(moved)
            left_there = clean(seen * root) if np.all(np.isfinite(seen)) else np.full(len(seen), 1e100)
            there = float(left_there @ left_there)
            if there <= best:
                unknowns, over, left, best = moved, seen, left_there, there
                damping = max(damping / _EASE, _LEAST_DAMPING)
                break
            damping *= _TIGHTEN
        if before - best <= close * before + 1e-30:
            break
    return unknowns, over
