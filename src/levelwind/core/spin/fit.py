"""The law fitted to the phase, or to the speeds, of a whole recording at once.

Phase (turns so far) is what a mark or a tick shows best, and the law gives it in closed form: nothing need be
differentiated. The steps are in ``fit_solver``. How sure the result is, is estimated in two ways, and the wider one
counts.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.errors import NoConvergenceError, NotDeterminedError
from levelwind.core.fitting import HUBER, MAD_TO_SIGMA, FloatArray, correlation_length, long_run_variance
from levelwind.core.spin.fit_solver import (
    BENT,
    COARSE,
    FULL,
    MOST_POWER,
    Effort,
    Observable,
    Problem,
    law_of,
    solve,
    unknowns_of,
    without_linear,
)
from levelwind.core.spin.law import Law, speed_after, time_between, turns_after

LEAST_POINTS = 8
"""Values a fit needs at the least. Our choice: the law with an offset has five unknowns, and three more values show how
far they scatter."""
_UNKNOWNS_AND_ONE = 6
"""Speed, three coefficients, an offset and one value to spare: what further straight-line columns come on top of."""

STRIBECK_SPEEDS_REV_S = (0.4, 1.2, 3.0)
"""rev/s; tried as the speed below which dry friction rises towards rest. Our choice of range: speeds at which a grease
or oil film in a small bearing gives way to contact; no measurement of a reel."""
STRIBECK_EVIDENCE = 10.0
"""Twice the logarithm of the likelihood ratio from which a Stribeck term is believed. Schwarz's criterion asks for the
logarithm of the number of values for each further unknown (G. Schwarz, Annals of Statistics 6, 1978, p. 461; from
memory): two unknowns, the term and its speed, and some 150 independent values make 10."""
POWER_EVIDENCE = 3.0
"""The same for an oil's power other than 1, below which the residuals are those of power 1. Our choice: less than for a
Stribeck term, as every oil has some power; what is told of it comes from the laws drawn, not from this."""
WORTH_TRYING = 0.3
"""Part of such an evidence that the slope alone must promise before the full fit is made. Our choice, for speed: it
changes no interval on made recordings (docs/decisions/spin-intervals.md)."""
_STRIBECK_SEEN = 2.0
"""A Stribeck term is tried only where the spool was followed to below this many times its speed: above, under 14 % of
it is left (e⁻²)."""
_STRIBECK_PROBE = 1e-3
"""The small Stribeck term at which its slope is taken. Our choice: any small number does."""
_STRIBECK_GUESS, _DRY_GUESS = 0.3, 1.3
"""Where the fit with a Stribeck term starts: this term, and dry friction divided by the second. Our choice: a plausible
size, with the same friction in the mean."""
_POWER_GUESS, _OIL_MOVED = 0.75, 0.5
"""Where the fit of a power starts: this power, and this part of dry friction taken for oil, whose drag at a low power
looks like it. Our choice: the middle of the range."""

ROCKING_REV_S = 1.2
"""rev/s; a spool out of balance rocks at about this speed instead of turning evenly. Set on made films:
docs/decisions/film-backward-from-rest.md."""
_ROCKING_LEAST_REV_S = 0.1
"""rev/s; bounds the loss of weight of the slowest phases. Our choice: they count for nothing there."""

START_MIXES = ((0.98, 0.01, 0.01), (0.1, 0.8, 0.1), (0.34, 0.33, 0.33))
"""Parts of the mean loss given to dry friction, oil and air in the first guesses: nearly all dry, mostly oil, a third
each. Our choice: from these the steps find the same minimum as from more."""
_LEAST_LOSS, _LEAST_MIDDLE = 0.02, 0.05
"""Parts of the first speed: the loss over the recording and the mean speed are taken to be no smaller in the first
guesses, so that noise cannot make them 0. Our choice."""
_END_PART, _END_LEAST = 10, 3
"""First and last speeds are taken over a tenth of the values at each end, three at the least. Our choice."""
_AUTOCORRELATION_REACH = 3
"""Correlation lengths over which the sandwich's lags reach. Our choice: beyond, the autocorrelation is noise."""


@dataclass(frozen=True, slots=True, eq=False)
class LawFit:
    """The law's speed and phase through a recording of n values, and how far to believe them."""

    law: Law
    start_s: float
    """Time of the first value, at which the speed was ``start_rev_s``."""
    start_rev_s: float
    offset_turns: float
    nuisance: FloatArray
    """Coefficients of the extra straight-line columns, in the order they came."""
    time_s: FloatArray
    residuals: FloatArray
    """In turns or rev/s, shape (n,)."""
    sigma: FloatArray
    """Standard deviation of one value, scaled to the size of the residuals, outliers widened; shape (n,)."""
    given_sigma: FloatArray
    """The deviations the fit was given."""
    covariance: FloatArray
    """Of (start_rev_s, dry, oil, air), shape (4, 4): from the Hessian, widened where the sandwich is wider. The power
    and the Stribeck term are free in it where the law has them."""
    correlation_length: float
    """How many neighbouring values err as one: by the residuals' autocorrelation, or by the sandwich where that says
    more."""
    linear_columns: FloatArray
    """The straight-line columns, shape (n, columns): for phases a column of ones, then the extras."""
    observable: Observable
    """What was fitted: ``turns_after`` or ``speed_after``."""
    common_errors: FloatArray
    """Errors that all values share, shape (n, errors): how far each moves every value, at one standard deviation."""

    @property
    def stop_s(self) -> float:
        """When the law comes to rest; infinite without dry friction."""
        return self.start_s + float(time_between(self.law, self.start_rev_s, 0.0))

    @property
    def end_rev_s(self) -> float:
        return float(self.speed(self.time_s[-1]))

    def speed(self, time_s: ArrayLike) -> FloatArray:
        return speed_after(self.law, self.start_rev_s, np.asarray(time_s, dtype=np.float64) - self.start_s)

    def phase(self, time_s: ArrayLike) -> FloatArray:
        """In turns, without what the extra columns add."""
        seconds = np.asarray(time_s, dtype=np.float64) - self.start_s
        return self.offset_turns + turns_after(self.law, self.start_rev_s, seconds)


def rocking_inflation(rev_s: ArrayLike) -> FloatArray:
    """By what factor a phase is less sure where the spool may rock: √(1 + (1.2/f)⁴), as an unbalance moves it by 1/f².

    >>> round(float(rocking_inflation(1.2)), 2)
    1.41
    """
    slow = ROCKING_REV_S / np.maximum(np.asarray(rev_s, dtype=np.float64), _ROCKING_LEAST_REV_S)
    return np.asarray(np.sqrt(1 + slow**4))


def fit_phase(
    t_s: ArrayLike,
    phase_turns: ArrayLike,
    sigma_turns: ArrayLike = 1.0,
    *,
    columns: ArrayLike | None = None,
    start: tuple[float, Law] | None = None,
    bent: bool = False,
    common_errors: ArrayLike | None = None,
    coarse: bool = False,
) -> LawFit:
    """Fit speed at the first moment, dry, oil, air and an offset to unwrapped phase in turns at times in s.

    ``sigma_turns`` weighs the phases against one another; its size is estimated again from the residuals. ``columns``,
    shaped (phases, extras), are further straight-line terms such as a mark off centre. ``start`` is a first guess of
    speed and law. ``bent``: the oil's drag may go with another power of the speed, and dry friction may rise towards
    rest, where the phases demand it.
    ``common_errors``, shaped (phases, errors), are errors that all phases share, one standard deviation each: not
    fitted, but allowed for when laws are drawn. ``coarse`` takes fewer steps, to a part in ten thousand of the misfit.
    Raises NotDeterminedError with fewer than eight phases or no rotation.

    >>> t = np.linspace(0.0, 15.0, 200)
    >>> fit = fit_phase(t, turns_after(Law(0.5, 0.05, 0.002), 20.0, t))
    >>> fit.start_rev_s, float(fit.law.oil_per_s)
    (20.0, 0.050)
    """
    t, phase = np.asarray(t_s, dtype=np.float64), np.asarray(phase_turns, dtype=np.float64)
    sigma = np.broadcast_to(np.asarray(sigma_turns, dtype=np.float64), t.shape)
    extra = np.empty((len(t), 0)) if columns is None else np.asarray(columns, dtype=np.float64)
    _check_enough(t, _UNKNOWNS_AND_ONE + extra.shape[1])
    problem = Problem(t - t[0], phase, sigma, np.column_stack([np.ones(len(t)), extra]), turns_after)
    if start:
        guess = unknowns_of(*start)
    else:
        first, last = (np.polyfit(problem.seconds[part], phase[part], 1)[0] for part in _ends(t))
        guess = _best_guess(first, last, problem)
    fit = _solved(guess, t, problem, COARSE if coarse else FULL)
    fit = _bent(fit, problem) if bent else fit
    return fit if common_errors is None else replace(fit, common_errors=np.asarray(common_errors, dtype=np.float64))


def fit_speed(
    t_s: ArrayLike,
    rev_s: ArrayLike,
    sigma_rev_s: ArrayLike = 1.0,
    *,
    start: tuple[float, Law] | None = None,
    bent: bool = False,
    coarse: bool = False,
) -> LawFit:
    """The same for a table of speeds in rev/s; ``offset_turns`` is then 0.

    >>> fit_speed([0, 2, 4, 6, 8, 10, 12, 14], [20, 18, 16, 14, 12, 10, 8, 6]).stop_s
    20.0
    """
    t, speed = np.asarray(t_s, dtype=np.float64), np.asarray(rev_s, dtype=np.float64)
    _check_enough(t, _UNKNOWNS_AND_ONE)
    sigma = np.broadcast_to(np.asarray(sigma_rev_s, dtype=np.float64), t.shape)
    problem = Problem(t - t[0], speed, sigma, np.empty((len(t), 0)), speed_after)
    if start:
        guess = unknowns_of(*start)
    else:
        first, last = (float(np.mean(speed[part])) for part in _ends(t))
        guess = _best_guess(first, last, problem)
    fit = _solved(guess, t, problem, COARSE if coarse else FULL)
    return _bent(fit, problem) if bent else fit


def _check_enough(t: FloatArray, least: int) -> None:
    if len(t) < max(LEAST_POINTS, least):
        raise NotDeterminedError("too few turns could be followed to tell how the spool slows")


def _ends(t: FloatArray) -> tuple[slice, slice]:
    tenth = max(len(t) // _END_PART, _END_LEAST)
    return slice(0, tenth), slice(-tenth, None)


def _best_guess(first: float, last: float, problem: Problem) -> FloatArray:
    """The best of several starting points, each fitted coarsely to some of the values."""
    some = problem.subsample()
    tries = [solve(guess, some, COARSE)[0] for guess in _guesses(first, last, float(some.seconds[-1]))]

    def misfit(tried: FloatArray) -> float:
        return float(np.sum(np.abs(without_linear(some.residuals(tried), 1 / some.sigma, some)[0] / some.sigma)))

    return min(tries, key=misfit)


def _guesses(first: float, last: float, seconds: float) -> list[FloatArray]:
    """Unknowns for each of ``START_MIXES``, from the mean loss between the first and the last speed in rev/s."""
    if not first > 0:
        raise NotDeterminedError("nothing turns in this recording")
    loss = max(first - last, _LEAST_LOSS * first) / max(seconds, 1e-9)
    middle = max((first + max(last, 0.0)) / 2, _LEAST_MIDDLE * first)
    pure = loss * np.array([1.0, 1 / middle, 1 / middle**2])
    return [np.array([first, *(pure * part)]) for part in START_MIXES]


def _bent(plain: LawFit, problem: Problem) -> LawFit:
    """The fit with the oil's power free, then with friction that rises towards rest, where each leaves so much less
    that chance does not explain it.
    """
    problem = replace(problem, reference_rev_s=plain.start_rev_s)
    powered = _better(plain, [_powered(plain, problem)], POWER_EVIDENCE)
    risen = [_risen(powered, replace(problem, stribeck_rev_s=speed)) for speed in STRIBECK_SPEEDS_REV_S]
    return _better(powered, risen, STRIBECK_EVIDENCE)


def _powered(plain: LawFit, problem: Problem) -> LawFit | None:
    dry, oil, air = (float(x) for x in plain.law.coefficients)
    moved = _OIL_MOVED * dry
    guess = [plain.start_rev_s, max(dry - moved, 1e-6), oil + moved / plain.start_rev_s, air, _POWER_GUESS, 0.0]
    return _solved(np.array(guess), plain.time_s, problem, BENT)


def _risen(fit: LawFit, problem: Problem) -> LawFit | None:
    """The fit with a Stribeck term of one speed; None where it would hardly show."""
    assert problem.stribeck_rev_s is not None
    dry, oil, air = (float(x) for x in fit.law.coefficients)
    power = float(np.asarray(fit.law.power))
    start = np.array([fit.start_rev_s, dry, oil, air, power, _STRIBECK_PROBE])
    shows = fit.end_rev_s <= _STRIBECK_SEEN * problem.stribeck_rev_s and bool(np.any(fit.residuals))
    if not shows or not _may_help(fit, problem, start):
        return None
    start[[1, 5]] = max(dry / _DRY_GUESS, 1e-6), _STRIBECK_GUESS
    return _solved(start, fit.time_s, problem, BENT)


def _better(fit: LawFit, others: Sequence[LawFit | None], evidence: float) -> LawFit:
    """The best of the others if twice the log of its odds against ``fit`` is more than ``evidence``."""
    tried, before = [other for other in others if other], _robust_misfit(fit)
    if not tried or before == 0:
        return fit
    best = min(tried, key=_robust_misfit)
    independent = len(fit.time_s) / best.correlation_length
    gain = independent * np.log(before / max(_robust_misfit(best), 1e-300))
    return best if gain > evidence else fit


def _may_help(fit: LawFit, risen: Problem, unknowns: FloatArray) -> bool:
    """Whether a small Stribeck term lowers the misfit, to first order, by a good part of what a believed one must."""
    moves = np.column_stack([risen.linear_columns, risen.jacobian(unknowns)]) / fit.sigma[:, None]
    if unknowns[4] == MOST_POWER:
        moves = np.delete(moves, -2, axis=1)
    left = fit.residuals / fit.sigma
    without, with_it = (left - part @ np.linalg.lstsq(part, left, rcond=None)[0] for part in (moves[:, :-1], moves))
    independent = len(left) / correlation_length(with_it)
    evidence = independent * np.log(float(without @ without) / max(float(with_it @ with_it), 1e-300))
    return bool(evidence > WORTH_TRYING * STRIBECK_EVIDENCE)


def _robust_misfit(fit: LawFit) -> float:
    """Sum of squares with outliers cut off at Huber's limit, in units of the given deviations, alike for all fits."""
    scaled = np.abs(fit.residuals) / fit.given_sigma
    limit = HUBER * max(MAD_TO_SIGMA * float(np.median(scaled)), 1e-12)
    return float(np.sum(np.minimum(scaled, limit) ** 2))


def _solved(guess: FloatArray, t: FloatArray, problem: Problem, effort: Effort) -> LawFit:
    """Solve from a guess, and estimate how sure it is."""
    unknowns, weights = solve(guess, problem, effort)
    if not np.all(np.isfinite(unknowns)):
        raise NoConvergenceError("the law did not settle on this recording")
    sigma, linear = problem.sigma, problem.linear_columns
    root = np.sqrt(weights) / sigma
    left, values = without_linear(problem.residuals(unknowns), root, problem)
    spare = max(len(t) - len(unknowns) - linear.shape[1], 1)
    size = np.sqrt(float(np.sum((weights * left / sigma) ** 2) / np.sum(weights)) * len(t) / spare)
    length = correlation_length(left / sigma * np.sqrt(weights))
    moves = np.column_stack([problem.jacobian(unknowns), linear]) * root[:, None]
    plain, sandwich = _covariances(moves, left * root, size, length)
    wider = max(1.0, float(np.mean(np.diag(sandwich)[:4] / np.maximum(np.diag(plain)[:4], 1e-300))))
    has_offset = linear.shape[1] and problem.observable is turns_after
    return LawFit(
        law=law_of(unknowns, problem).referred_to(float(unknowns[0])),
        start_s=float(t[0]),
        start_rev_s=float(unknowns[0]),
        offset_turns=float(values[0]) if has_offset else 0.0,
        nuisance=values[1:],
        time_s=t,
        residuals=left,
        sigma=np.maximum(size * sigma / np.sqrt(np.maximum(weights, 1e-6)), 1e-12),
        given_sigma=sigma,
        covariance=plain[:4, :4] * wider,
        correlation_length=length * wider,
        linear_columns=linear,
        observable=problem.observable,
        common_errors=np.empty((len(t), 0)),
    )


def _covariances(moves: FloatArray, left: FloatArray, size: float, length: float) -> tuple[FloatArray, FloatArray]:
    """The Hessian's covariance times the correlation length, and the sandwich's over a few correlation lengths."""
    bread = np.linalg.pinv(moves.T @ moves, hermitian=True)
    reach = int(min(_AUTOCORRELATION_REACH * length + 1, len(left) // 3))
    total = long_run_variance(moves * left[:, None], reach)
    return np.asarray(bread * size**2 * max(length, 1.0)), np.asarray(bread @ total @ bread)
