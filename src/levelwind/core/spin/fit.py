"""The law fitted to the phase of a whole recording at once.

Phase is what a mark or a tick tells best, and it is the law's own integral: nothing is differentiated. Levenberg and
Marquardt's steps with the coefficients held at nought or above, Huber's weights, and two opinions about how sure it is.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from levelwind.core.errors import NoConvergenceError, NotDeterminedError
from levelwind.core.fitting import robust_deviation
from levelwind.core.spin.law import Law, speed_after, time_between, turns_after

FloatArray = NDArray[np.float64]

HUBER = 2.0
"""Beyond this many deviations a phase pulls no harder."""

LEAST_POINTS = 8
_ROUNDS, _STEPS = 8, 60


@dataclass(frozen=True, slots=True, eq=False)
class PhaseFit:
    """The law's speed and phase through a recording, and how far to believe them."""

    law: Law
    start_s: float
    """Time of the first phase, at which the speed was ``start_rev_s``."""
    start_rev_s: float
    offset_turns: float
    nuisance: FloatArray
    """What the extra columns were given, in the order they came."""
    time_s: FloatArray
    residual_turns: FloatArray
    sigma_turns: FloatArray
    """Of one phase, brought to the size the residuals have, outliers widened."""
    cover: FloatArray
    """Covariance of (start_rev_s, dry, oil, air): the larger of the Hessian's and the sandwich's."""
    together: float
    """How many neighbouring phases err as one (integrated autocorrelation of the residuals)."""
    columns: FloatArray
    """The extra columns, shaped (phases, extras)."""

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


def fit_phase(
    t_s: ArrayLike,
    phase_turns: ArrayLike,
    sigma_turns: ArrayLike = 1.0,
    *,
    columns: ArrayLike | None = None,
    start: tuple[float, Law] | None = None,
) -> PhaseFit:
    """Fit speed at the first moment, dry, oil, air and an offset to unwrapped phase.

    ``sigma_turns`` weighs the phases against one another; its size is judged again from the residuals. ``columns``,
    shaped (phases, extras), are further straight-line terms such as a mark off centre. ``start`` is a first guess of
    speed and law. Raises NotDeterminedError with fewer than eight phases or no rotation.

    >>> t = np.linspace(0.0, 15.0, 200)
    >>> fit = fit_phase(t, turns_after(Law(0.5, 0.05, 0.002), 20.0, t))
    >>> fit.start_rev_s, float(fit.law.oil_per_s)
    (20.0, 0.050)
    """
    t, phase = np.asarray(t_s, dtype=np.float64), np.asarray(phase_turns, dtype=np.float64)
    sigma = np.broadcast_to(np.asarray(sigma_turns, dtype=np.float64), t.shape)
    extra = np.empty((len(t), 0)) if columns is None else np.asarray(columns, dtype=np.float64)
    if len(t) < max(LEAST_POINTS, 6 + extra.shape[1]):
        raise NotDeterminedError("too few turns could be followed to tell how the spool slows")
    seconds = t - t[0]
    straight = np.column_stack([np.ones(len(t)), extra])
    guesses = [_unknowns(*start)] if start else _guesses(seconds, phase)
    tries = [_fit(guess, seconds, phase, sigma, straight) for guess in guesses]
    unknowns, weights = min(tries, key=lambda each: _cost(each[0], seconds, phase, sigma, straight))
    return _described(unknowns, weights, t, phase, sigma, straight)


def _unknowns(start_rev_s: float, law: Law) -> FloatArray:
    return np.array([start_rev_s, *(float(x) for x in law.coefficients)])


def _law(unknowns: FloatArray) -> Law:
    return Law(*(float(x) for x in unknowns[1:]))


def _guesses(seconds: FloatArray, phase: FloatArray) -> list[FloatArray]:
    """From the speeds of the first and the last tenth: all dry, all oil, all air, and a third of each."""
    tenth = max(len(seconds) // 10, 3)
    first, last = (np.polyfit(seconds[part], phase[part], 1)[0] for part in (slice(0, tenth), slice(-tenth, None)))
    if not first > 0:
        raise NotDeterminedError("nothing turns in this recording")
    loss = max(first - last, 0.02 * first) / max(seconds[-1], 1e-9)
    middle = max((first + max(last, 0.0)) / 2, 0.05 * first)
    pure = loss * np.array([1.0, 1 / middle, 1 / middle**2])
    return [np.array([first, *(pure * part)]) for part in ((0.98, 0.01, 0.01), (0.1, 0.8, 0.1), (0.34, 0.33, 0.33))]


def _residuals(
    unknowns: FloatArray, seconds: FloatArray, phase: FloatArray, root: FloatArray, straight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Phase left over once the straight-line terms are fitted, and those terms."""
    left = phase - turns_after(_law(unknowns), unknowns[0], seconds)
    values = np.linalg.lstsq(straight * root[:, None], left * root, rcond=None)[0]
    return left - straight @ values, np.asarray(values, dtype=np.float64)


def _slopes(unknowns: FloatArray, seconds: FloatArray) -> FloatArray:
    """Turns by start speed, dry, oil and air, shaped (phases, 4): differences, one-sided at nought."""
    law = _law(unknowns)
    here = turns_after(law, unknowns[0], seconds)
    speed = max(unknowns[0], 1e-6)
    scale = float(law.loss(speed))
    columns = []
    for i, size in enumerate((speed, scale, scale / speed, scale / speed**2)):
        step = 1e-6 * size
        moved = unknowns.copy()
        moved[i] += step
        columns.append((turns_after(_law(moved), moved[0], seconds) - here) / step)
    return np.column_stack(columns)


def _floor(unknowns: FloatArray, seconds: FloatArray) -> FloatArray:
    least = 1e-7 * max(unknowns[0], 1e-6) / max(float(seconds[-1]), 1e-9)
    return np.array([1e-6, least, 0.0, 0.0])


def _fit(
    guess: FloatArray, seconds: FloatArray, phase: FloatArray, sigma: FloatArray, straight: FloatArray
) -> tuple[FloatArray, FloatArray]:
    unknowns, weights = guess, np.ones(len(seconds))
    for _ in range(_ROUNDS):
        unknowns = _descend(unknowns, seconds, phase, np.sqrt(weights) / sigma, straight)
        left, _ = _residuals(unknowns, seconds, phase, np.sqrt(weights) / sigma, straight)
        noise = robust_deviation(left / sigma)
        fresh = np.minimum(1.0, HUBER * noise / np.maximum(np.abs(left / sigma), 1e-300)) if noise > 0 else weights
        settled = np.allclose(fresh, weights, atol=1e-3)
        weights = fresh
        if settled:
            break
    return unknowns, weights


def _descend(
    unknowns: FloatArray, seconds: FloatArray, phase: FloatArray, root: FloatArray, straight: FloatArray
) -> FloatArray:
    """Levenberg and Marquardt, on the residuals with the straight-line terms projected out."""
    basis = np.linalg.qr(straight * root[:, None])[0]
    floor = _floor(unknowns, seconds)

    def clean(columns: FloatArray) -> FloatArray:
        return np.asarray(columns - basis @ (basis.T @ columns))

    def misfit(at: FloatArray) -> FloatArray:
        return clean((phase - turns_after(_law(at), at[0], seconds)) * root)

    damping, left = 1e-3, misfit(unknowns)
    best = float(left @ left)
    for _ in range(_STEPS):
        slopes = clean(_slopes(unknowns, seconds) * root[:, None])
        gain = slopes.T @ left
        free = ~((unknowns <= floor) & (gain < 0))
        normal = slopes[:, free].T @ slopes[:, free]
        before = best
        while damping < 1e12:
            try:
                step = np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-300), gain[free])
            except np.linalg.LinAlgError:
                damping *= 10
                continue
            moved = unknowns.copy()
            moved[free] = np.maximum(unknowns[free] + step, floor[free])
            left_there = misfit(moved)
            there = float(left_there @ left_there)
            if there <= best:
                unknowns, left, best = moved, left_there, there
                damping = max(damping / 10, 1e-12)
                break
            damping *= 5
        if before - best <= 1e-10 * before + 1e-30:
            break
    return unknowns


def _cost(
    unknowns: FloatArray, seconds: FloatArray, phase: FloatArray, sigma: FloatArray, straight: FloatArray
) -> float:
    left, _ = _residuals(unknowns, seconds, phase, 1 / sigma, straight)
    return float(np.sum(np.abs(left / sigma)))


def _described(
    unknowns: FloatArray,
    weights: FloatArray,
    t: FloatArray,
    phase: FloatArray,
    sigma: FloatArray,
    straight: FloatArray,
) -> PhaseFit:
    seconds = t - t[0]
    if not np.all(np.isfinite(unknowns)):
        raise NoConvergenceError("the law did not settle on this recording")
    root = np.sqrt(weights) / sigma
    left, values = _residuals(unknowns, seconds, phase, root, straight)
    spare = max(len(t) - 4 - straight.shape[1], 1)
    size = np.sqrt(float(np.sum(weights * (left / sigma) ** 2)) / spare)
    together = agreement(left / sigma * np.sqrt(weights))
    slopes = np.column_stack([_slopes(unknowns, seconds), straight]) * root[:, None]
    plain, sandwich = _covers(slopes, left * root, size, together)
    cover = plain if np.trace(plain / _scale(plain)) >= np.trace(sandwich / _scale(plain)) else sandwich
    widened = size * sigma / np.sqrt(np.maximum(weights, 1e-6))
    return PhaseFit(
        _law(unknowns),
        float(t[0]),
        float(unknowns[0]),
        float(values[0]),
        values[1:],
        t,
        left,
        np.maximum(widened, 1e-12),
        cover[:4, :4],
        together,
        straight[:, 1:],
    )


def _scale(cover: FloatArray) -> FloatArray:
    spread = np.sqrt(np.maximum(np.diag(cover), 1e-300))
    return np.outer(spread, spread)


def _covers(slopes: FloatArray, left: FloatArray, size: float, together: float) -> tuple[FloatArray, FloatArray]:
    """The Hessian's covariance, and the sandwich's with Bartlett weights over the residuals' own reach."""
    bread = np.linalg.pinv(slopes.T @ slopes, hermitian=True)
    scores = slopes * left[:, None]
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
