"""The law fitted to the phase, or to the speeds, of a whole recording at once.

Phase is what a mark or a tick tells best, and it is the law's own integral: nothing is differentiated. Levenberg and
Marquardt's steps with the coefficients held at nought or above, Huber's weights, and two opinions about how sure it is.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from levelwind.core.errors import NoConvergenceError, NotDeterminedError
from levelwind.core.spin.law import Law, speed_after, time_between, turns_after

FloatArray = NDArray[np.float64]
Observed = Callable[[Law, ArrayLike, ArrayLike], FloatArray]

HUBER = 2.0
"""Beyond this many deviations a phase pulls no harder."""

LEAST_POINTS = 8
FEW = 80
_STEPS = 60
_RUNGS = 1 - np.linspace(1.0, 0.0, 201) ** 1.5
_LADDER = np.sort(np.concatenate([_RUNGS, (_RUNGS[1:] + _RUNGS[:-1]) / 2]))
"""Speeds from first to last, with the middle of each step, closer together where the spool is slow."""
RISE_SPEEDS_REV_S = (0.4, 1.2, 3.0)
"""Speeds below which dry friction may rise towards rest. Invented range: a mixed-film bearing's, at a spool's size."""
RISE_TOLD = 10.0
"""Twice the logarithm of the odds from which a rise is believed: one unknown and its speed by Schwarz's criterion."""
WORTH_A_TRY = 0.3
"""Part of that from which it is worth fitting one; BARELY is the rise at which its slope is taken."""
MOST_RISE, BARELY = 2.0, 1e-3
ROCKS_REV_S = 1.2
"""A spool out of balance rocks at about this speed: docs/decisions/film-backward-from-rest.md."""


@dataclass(frozen=True, slots=True, eq=False)
class LawFit:
    """The law's speed and phase through a recording, and how far to believe them."""

    law: Law
    start_s: float
    """Time of the first phase, at which the speed was ``start_rev_s``."""
    start_rev_s: float
    offset_turns: float
    nuisance: FloatArray
    """What the extra columns were given, in the order they came."""
    time_s: FloatArray
    residuals: FloatArray
    sigma: FloatArray
    """Of one value, brought to the size the residuals have, outliers widened."""
    weighed: FloatArray
    """The deviations the fit was given."""
    cover: FloatArray
    """Covariance of (start_rev_s, dry, oil, air): the larger of the Hessian's and the sandwich's."""
    together: float
    """How many phases err as one: by the residuals' autocorrelation, or by the sandwich where that says more."""
    columns: FloatArray
    """The straight-line columns, shaped (values, columns): for phases a column of ones, then the extras."""
    observed: "Observed"
    """What was fitted: ``turns_after`` or ``speed_after``."""
    doubts: FloatArray
    """How far every value may be out in common ways, one column a way, at one deviation."""

    @property
    def stop_s(self) -> float:
        """When the law comes to rest; infinite where nothing is dry."""
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


def unsure_when_slow(rev_s: ArrayLike) -> FloatArray:
    """By what factor a phase is less sure where the spool may rock: √(1 + (1.2/f)⁴), as its balance works with 1/f².

    >>> round(float(unsure_when_slow(1.2)), 2)
    1.41
    """
    slow = ROCKS_REV_S / np.maximum(np.asarray(rev_s, dtype=np.float64), 0.1)
    return np.asarray(np.sqrt(1 + slow**4))


def fit_phase(
    t_s: ArrayLike,
    phase_turns: ArrayLike,
    sigma_turns: ArrayLike = 1.0,
    *,
    columns: ArrayLike | None = None,
    start: tuple[float, Law] | None = None,
    may_rise: bool = False,
    doubts: ArrayLike | None = None,
    roughly: bool = False,
) -> LawFit:
    """Fit speed at the first moment, dry, oil, air and an offset to unwrapped phase.

    ``sigma_turns`` weighs the phases against one another; its size is judged again from the residuals. ``columns``,
    shaped (phases, extras), are further straight-line terms such as a mark off centre. ``start`` is a first guess of
    speed and law. With ``may_rise`` dry friction may rise towards rest, where the phases insist on it.
    ``doubts``, shaped (phases, ways), are common errors of one deviation each: not fitted, but allowed for when laws
    are drawn. ``roughly`` takes fewer steps, to a part in ten thousand of the misfit. Raises NotDeterminedError with
    fewer than eight phases or no rotation.

    >>> t = np.linspace(0.0, 15.0, 200)
    >>> fit = fit_phase(t, turns_after(Law(0.5, 0.05, 0.002), 20.0, t))
    >>> fit.start_rev_s, float(fit.law.oil_per_s)
    (20.0, 0.050)
    """
    t, phase = np.asarray(t_s, dtype=np.float64), np.asarray(phase_turns, dtype=np.float64)
    sigma = np.broadcast_to(np.asarray(sigma_turns, dtype=np.float64), t.shape)
    extra = np.empty((len(t), 0)) if columns is None else np.asarray(columns, dtype=np.float64)
    _enough(t, 6 + extra.shape[1])
    problem = _Problem(t - t[0], phase, sigma, np.column_stack([np.ones(len(t)), extra]), turns_after)
    if start:
        guess = _unknowns(*start)
    else:
        first, last = (np.polyfit(problem.seconds[part], phase[part], 1)[0] for part in _ends(t))
        guess = _best_guess(first, last, problem)
    fit = _described(*_settled(guess, problem, roughly=roughly), t, problem)
    fit = _risen(fit, problem) if may_rise else fit
    return fit if doubts is None else replace(fit, doubts=np.asarray(doubts, dtype=np.float64))


def fit_speed(
    t_s: ArrayLike,
    rev_s: ArrayLike,
    sigma_rev_s: ArrayLike = 1.0,
    *,
    start: tuple[float, Law] | None = None,
    roughly: bool = False,
) -> LawFit:
    """The same for a table of speeds in rev/s; ``offset_turns`` is then 0.

    >>> fit_speed([0, 2, 4, 6, 8, 10, 12, 14], [20, 18, 16, 14, 12, 10, 8, 6]).stop_s
    20.0
    """
    t, speed = np.asarray(t_s, dtype=np.float64), np.asarray(rev_s, dtype=np.float64)
    _enough(t, 6)
    sigma = np.broadcast_to(np.asarray(sigma_rev_s, dtype=np.float64), t.shape)
    problem = _Problem(t - t[0], speed, sigma, np.empty((len(t), 0)), speed_after)
    if start:
        guess = _unknowns(*start)
    else:
        first, last = (float(np.mean(speed[part])) for part in _ends(t))
        guess = _best_guess(first, last, problem)
    return _described(*_settled(guess, problem, roughly=roughly), t, problem)


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """What is fitted: values at times since the first, their deviations, straight-line columns, and the law's view."""

    seconds: FloatArray
    values: FloatArray
    sigma: FloatArray
    straight: FloatArray
    observed: Observed
    rise_rev_s: float = 1.0
    """Below which speed dry friction may rise, where the unknowns hold a rise."""

    def few(self) -> "_Problem":
        """Some of the values, spread evenly, without the extra columns."""
        few = np.unique(np.linspace(0, len(self.seconds) - 1, FEW).astype(int))
        kept = (self.seconds[few], self.values[few], self.sigma[few])
        return _Problem(*kept, self.straight[few, :1], self.observed)

    def left(self, unknowns: FloatArray) -> FloatArray:
        return self.values - self.observed(_law(unknowns, self.rise_rev_s), unknowns[0], self.seconds)

    def slopes(self, unknowns: FloatArray) -> FloatArray:
        return slopes(_law(unknowns, self.rise_rev_s), float(unknowns[0]), self.seconds, self.observed)


def _enough(t: FloatArray, least: int) -> None:
    if len(t) < max(LEAST_POINTS, least):
        raise NotDeterminedError("too few turns could be followed to tell how the spool slows")


def _ends(t: FloatArray) -> tuple[slice, slice]:
    tenth = max(len(t) // 10, 3)
    return slice(0, tenth), slice(-tenth, None)


def _unknowns(start_rev_s: float, law: Law) -> FloatArray:
    return np.array([start_rev_s, *(float(x) for x in law.coefficients)])


def _law(unknowns: FloatArray, rise_rev_s: float = 1.0) -> Law:
    dry, oil, air = (float(x) for x in unknowns[1:4])
    return Law(dry, oil, air, float(unknowns[4]) if len(unknowns) > 4 else 0.0, rise_rev_s)


def _risen(plain: LawFit, problem: _Problem) -> LawFit:
    """The fit with friction that rises towards rest, where it leaves so much less that chance does not explain it."""
    dry, oil, air = (float(x) for x in plain.law.coefficients)
    best = plain
    for rise_rev_s in RISE_SPEEDS_REV_S:
        risen = replace(problem, rise_rev_s=rise_rev_s)
        if plain.end_rev_s > 2 * rise_rev_s or not _may_rise(plain, risen):
            continue
        guess = np.array([plain.start_rev_s, max(dry / 1.3, 1e-6), oil, air, 0.3])
        fit = _described(*_fit(guess, risen, rounds=4), plain.time_s, risen)
        best = fit if _left_over(fit) < _left_over(best) else best
    if best is plain:
        return plain
    told = len(plain.time_s) / best.together * np.log(_left_over(plain) / max(_left_over(best), 1e-300))
    return best if told > RISE_TOLD else plain


def _may_rise(plain: LawFit, risen: _Problem) -> bool:
    """Whether a small rise, by its slope, lowers what is left over by a good part of what a believed one must."""
    unknowns = np.append(_unknowns(plain.start_rev_s, plain.law), BARELY)
    moves = np.column_stack([risen.straight, risen.slopes(unknowns)]) / plain.sigma[:, None]
    left = plain.residuals / plain.sigma
    without, with_it = (left - part @ np.linalg.lstsq(part, left, rcond=None)[0] for part in (moves[:, :-1], moves))
    told = len(left) / agreement(with_it) * np.log(float(without @ without) / max(float(with_it @ with_it), 1e-300))
    return bool(told > WORTH_A_TRY * RISE_TOLD)


def _left_over(fit: LawFit) -> float:
    """Robust sum of squares, in what the sizes of both fits have in common."""
    scaled = np.abs(fit.residuals) / fit.weighed
    limit = HUBER * max(1.4826 * float(np.median(scaled)), 1e-12)
    return float(np.sum(np.minimum(scaled, limit) ** 2))


def _best_guess(first: float, last: float, problem: _Problem) -> FloatArray:
    """The best of several starts, each fitted to a few of the values."""
    few = problem.few()
    tries = [_fit(guess, few, rounds=3, close=1e-4)[0] for guess in _guesses(first, last, float(few.seconds[-1]))]

    def misfit(tried: FloatArray) -> float:
        return float(np.sum(np.abs(_residuals(few.left(tried), 1 / few.sigma, few)[0] / few.sigma)))

    return min(tries, key=misfit)


def _guesses(first: float, last: float, seconds: float) -> list[FloatArray]:
    """From the speeds of the first and the last tenth: nearly all dry, mostly oil, a third of each."""
    if not first > 0:
        raise NotDeterminedError("nothing turns in this recording")
    loss = max(first - last, 0.02 * first) / max(seconds, 1e-9)
    middle = max((first + max(last, 0.0)) / 2, 0.05 * first)
    pure = loss * np.array([1.0, 1 / middle, 1 / middle**2])
    return [np.array([first, *(pure * part)]) for part in ((0.98, 0.01, 0.01), (0.1, 0.8, 0.1), (0.34, 0.33, 0.33))]


def _residuals(left: FloatArray, root: FloatArray, problem: _Problem) -> tuple[FloatArray, FloatArray]:
    """What is left over once the straight-line terms are fitted, and those terms."""
    values = np.linalg.lstsq(problem.straight * root[:, None], left * root, rcond=None)[0]
    return left - problem.straight @ values, np.asarray(values, dtype=np.float64)


def slopes(law: Law, start_rev_s: float, seconds: FloatArray, observed: Observed) -> FloatArray:
    """What is observed by start speed, dry, oil, air and, where the law has one, the rise; shaped (values, 4 or 5).

    Where the loss P changes by g, speed f is reached T = ∫ g/P² df sooner, and G = ∫ f g/P² df turns sooner, both from
    f to the start; so at a given time the turns change by f T − G and the speed by −P T.

    >>> slopes(Law(0.5, 0.0, 0.0), 20.0, np.array([0.0, 10.0]), turns_after).round(6)[:, :2]
    array([[  0.,   0.],
           [ 10., -50.]])
    """
    f = speed_after(law, start_rev_s, seconds)
    ladder = start_rev_s + (float(np.min(f)) - start_rev_s) * _LADDER
    weight = 1 / law.loss(ladder) ** 2
    terms = [law.risen(ladder), ladder, ladder**2]
    if law.rise:
        terms.append(float(law.coefficients[0]) * np.exp(-ladder / law.rise_rev_s))
    changes, rungs = np.stack(terms) * weight, ladder[::2]
    earlier = _summed(ladder, changes)
    if observed is speed_after:
        first = factor = np.where(f > 0, law.loss(f), 0.0)
        moved = -earlier
    else:
        first, factor = start_rev_s - f, np.ones_like(f)
        moved = rungs * earlier - _summed(ladder, changes * ladder)
    columns = [np.interp(-f, -rungs, each) * factor for each in moved]
    return np.column_stack([first / float(law.loss(start_rev_s)), *columns])


def _summed(ladder: FloatArray, rates: FloatArray) -> FloatArray:
    """Integrals from each second rung up to the first, by Simpson's rule, a row each."""
    steps = ladder[:-2:2] - ladder[2::2]
    pieces = steps * (rates[:, :-2:2] + 4 * rates[:, 1:-1:2] + rates[:, 2::2]) / 6
    return np.concatenate([np.zeros((len(rates), 1)), np.cumsum(pieces, axis=1)], axis=1)


def _settled(guess: FloatArray, problem: _Problem, *, roughly: bool) -> tuple[FloatArray, FloatArray]:
    return _fit(guess, problem, rounds=3, close=1e-4) if roughly else _fit(guess, problem)


def _fit(
    guess: FloatArray, problem: _Problem, *, rounds: int = 8, close: float = 1e-7
) -> tuple[FloatArray, FloatArray]:
    """Unknowns and Huber's weights; ``close`` is the part of the misfit a last step may still win."""
    unknowns, weights, sigma = guess, np.ones(len(problem.seconds)), problem.sigma
    left = problem.left(unknowns)
    for _ in range(rounds):
        unknowns, left = _descend(unknowns, left, np.sqrt(weights) / sigma, problem, close)
        size = np.abs(_residuals(left, np.sqrt(weights) / sigma, problem)[0] / sigma)
        noise = 1.4826 * float(np.median(size))
        fresh = np.minimum(1.0, HUBER * noise / np.maximum(size, 1e-300)) if noise > 0 else weights
        settled = float(np.max(np.abs(fresh - weights))) < 1e-2
        weights = fresh
        if settled:
            break
    return unknowns, weights


def _descend(
    unknowns: FloatArray, over: FloatArray, root: FloatArray, problem: _Problem, close: float
) -> tuple[FloatArray, FloatArray]:
    """Levenberg and Marquardt, on the residuals with the straight-line terms projected out.

    From unknowns and what they leave over to better ones and what those leave over.
    """
    basis = np.linalg.qr(problem.straight * root[:, None])[0]
    seconds = max(float(problem.seconds[-1]), 1e-9)
    floor = np.array([1e-6, 1e-7 * max(float(unknowns[0]), 1e-6) / seconds, 0.0, 0.0, 1e-6])[: len(unknowns)]
    roof = np.array([np.inf, np.inf, np.inf, np.inf, MOST_RISE])[: len(unknowns)]

    def clean(columns: FloatArray) -> FloatArray:
        return np.asarray(columns - basis @ (basis.T @ columns))

    damping, left = 1e-6, clean(over * root)
    best = float(left @ left)
    for _ in range(_STEPS):
        moves = clean(problem.slopes(unknowns) * root[:, None])
        gain = moves.T @ left
        free = ~((unknowns <= floor) & (gain < 0)) & ~((unknowns >= roof) & (gain > 0))
        normal = moves[:, free].T @ moves[:, free]
        before = best
        while damping < 1e12:
            step = np.linalg.lstsq(normal + damping * np.diag(np.diag(normal) + 1e-300), gain[free], rcond=None)[0]
            moved = unknowns.copy()
            moved[free] = np.clip(unknowns[free] + step, floor[free], roof[free])
            seen = problem.left(moved)
            left_there = clean(seen * root) if np.all(np.isfinite(seen)) else np.full(len(seen), 1e100)
            there = float(left_there @ left_there)
            if there <= best:
                unknowns, over, left, best = moved, seen, left_there, there
                damping = max(damping / 10, 1e-12)
                break
            damping *= 5
        if before - best <= close * before + 1e-30:
            break
    return unknowns, over


def _described(unknowns: FloatArray, weights: FloatArray, t: FloatArray, problem: _Problem) -> LawFit:
    if not np.all(np.isfinite(unknowns)):
        raise NoConvergenceError("the law did not settle on this recording")
    sigma, straight = problem.sigma, problem.straight
    root = np.sqrt(weights) / sigma
    left, values = _residuals(problem.left(unknowns), root, problem)
    spare = max(len(t) - 4 - straight.shape[1], 1)
    size = np.sqrt(float(np.sum((weights * left / sigma) ** 2) / np.sum(weights)) * len(t) / spare)
    together = agreement(left / sigma * np.sqrt(weights))
    moves = np.column_stack([problem.slopes(unknowns), straight]) * root[:, None]
    plain, sandwich = _covers(moves, left * root, size, together)
    wider = max(1.0, float(np.mean(np.diag(sandwich)[:4] / np.maximum(np.diag(plain)[:4], 1e-300))))
    turning = straight.shape[1] and problem.observed is turns_after
    return LawFit(
        law=_law(unknowns, problem.rise_rev_s),
        start_s=float(t[0]),
        start_rev_s=float(unknowns[0]),
        offset_turns=float(values[0]) if turning else 0.0,
        nuisance=values[1:],
        time_s=t,
        residuals=left,
        sigma=np.maximum(size * sigma / np.sqrt(np.maximum(weights, 1e-6)), 1e-12),
        weighed=sigma,
        cover=plain[:4, :4] * wider,
        together=together * wider,
        columns=straight,
        observed=problem.observed,
        doubts=np.empty((len(t), 0)),
    )


def _covers(moves: FloatArray, left: FloatArray, size: float, together: float) -> tuple[FloatArray, FloatArray]:
    """The Hessian's covariance, and the sandwich's with Bartlett weights over the residuals' own reach."""
    bread = np.linalg.pinv(moves.T @ moves, hermitian=True)
    scores = moves * left[:, None]
    total = scores.T @ scores
    reach = int(min(3 * together + 1, len(left) // 3))
    for lag in range(1, reach + 1):
        cross = scores[lag:].T @ scores[:-lag]
        total = total + (1 - lag / (reach + 1)) * (cross + cross.T)
    return np.asarray(bread * size**2 * max(together, 1.0)), np.asarray(bread @ total @ bread)


def agreement(residuals: ArrayLike) -> float:
    """How many neighbouring residuals err as one: 1 + 2 Σ autocorrelation, over Sokal's window of five times itself.

    Sokal, Monte Carlo methods in statistical mechanics, 1989, section 3. At least 1.

    >>> agreement(np.tile([1.0, -1.0], 50))
    1.0
    """
    left = np.asarray(residuals, dtype=np.float64)
    left = left - left.mean()
    n = len(left)
    power = np.abs(np.fft.rfft(left, 2 * n)) ** 2
    auto = np.fft.irfft(power)[:n]
    if not auto[0] > 0:
        return 1.0
    summed = 1 + 2 * np.cumsum(auto[1:] / auto[0])
    lags = np.arange(1, n)
    ends = np.flatnonzero(lags >= 5 * summed)
    return float(max(1.0, summed[ends[0]] if len(ends) else summed[n // 4]))
