"""Straight-line algebra for readings whose errors are correlated in time.

Shared by the domains that fit a law to a recording.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
Generator = np.random.Generator  # noqa: TID251 -- the type of the dice that callers pass in

NINETY = 1.6449
"""Standard deviations either side of the mean that hold 90 % of a normal distribution (tables of the normal law)."""

HUBER = 2.0
"""Standard deviations. A residual beyond it counts less, in proportion to its size (Huber's weights: P. Huber, Robust
Statistics, 1981). The textbook value is 1.345 (from memory). Ours is larger by choice: the scatter of a recording is
close to normal, and only true outliers shall lose weight."""

MAD_TO_SIGMA = 1.4826
"""Standard deviation of a normal distribution over its median absolute deviation, 1/Φ⁻¹(3/4) (P. Huber, Robust
Statistics, 1981; from memory)."""

MOST_ROUNDS = 30
"""Re-weightings at most. Our choice: a guard against weights that never settle."""

WEIGHTS_SETTLED, WEIGHTS_SETTLED_PART = 1e-4, 1e-5
"""Change of every weight, and part of the weight besides, below which the re-weighting stops. Our choice: far below
what moves a result."""

IACT_WINDOW = 5.0
"""Autocorrelation times over which the autocorrelation is summed (A. Sokal, Monte Carlo Methods in Statistical
Mechanics, 1989, section 3: a window of about five; from memory)."""


@dataclass(frozen=True, slots=True, eq=False)
class LinearFit:
    """Coefficients of y = columns @ values, with two estimates of their covariance."""

    values: FloatArray
    plain: FloatArray
    """Covariance if the residuals were independent."""
    sandwich: FloatArray
    """Covariance that allows for correlated neighbours (W. Newey and K. West, Econometrica 55, 1987, p. 703)."""
    residuals: FloatArray
    noise: float
    """Robust standard deviation of the residuals."""

    def error(self, gradient: FloatArray) -> float:
        """Standard error of ``gradient @ values``: the larger one of the two estimates."""
        return float(np.sqrt(max(float(gradient @ cover @ gradient) for cover in (self.plain, self.sandwich))))


def fit_linear(columns: FloatArray, y: FloatArray, *, lag: int = 0) -> LinearFit:
    """Robust least squares by re-weighting (Huber's weights), columns shaped (samples, terms).

    ``lag`` is up to how many samples apart two residuals may be correlated.

    >>> x = np.arange(6.0)
    >>> y = 2.0 + 0.5 * x
    >>> y[3] = 40.0
    >>> fit_linear(np.column_stack([np.ones(6), x]), y).values
    array([2. , 0.5])
    """
    weights = np.ones(len(y))
    for _ in range(MOST_ROUNDS):
        root = np.sqrt(weights)
        values = np.asarray(np.linalg.lstsq(columns * root[:, None], y * root, rcond=None)[0], dtype=np.float64)
        residuals = y - columns @ values
        noise = robust_deviation(residuals)
        fresh = np.minimum(1.0, HUBER * noise / np.maximum(np.abs(residuals), 1e-300)) if noise > 0 else weights
        if np.all(np.abs(fresh - weights) <= WEIGHTS_SETTLED + WEIGHTS_SETTLED_PART * weights):
            break
        weights = fresh
    spare = max(len(y) - columns.shape[1], 1)
    bread = np.asarray(np.linalg.pinv((columns * weights[:, None]).T @ columns), dtype=np.float64)
    plain = bread * float(np.sum(weights * residuals**2)) / spare
    scores = columns * (weights * residuals)[:, None]
    return LinearFit(values, plain, bread @ long_run_variance(scores, lag) @ bread * len(y) / spare, residuals, noise)


def robust_deviation(x: FloatArray) -> float:
    """Standard deviation from the median absolute deviation about the median.

    >>> robust_deviation(np.array([-1.0, 0.0, 1.0, 900.0, 0.0]))
    1.48
    """
    return MAD_TO_SIGMA * _median(np.abs(x - _median(x)))


def _median(x: FloatArray) -> float:
    """As ``np.median`` of finite numbers, which spends most of its time on whatever else it might be given."""
    if not len(x):
        return float("nan")
    low, high = (len(x) - 1) // 2, len(x) // 2
    sorted_there = np.partition(x, (low, high))
    return float(sorted_there[low] + sorted_there[high]) / 2


def long_run_variance(scores: FloatArray, lag: int) -> FloatArray:
    """Covariances of ``scores``, shaped (samples, terms), summed over all lags up to ``lag``, with Bartlett's weights.

    Σ_j (1 − |j|/(lag + 1)) Σ_t s_t s_{t−j}ᵀ (Newey and West, 1987).

    >>> long_run_variance(np.array([[1.0], [1.0], [1.0]]), 1)
    array([[5.]])
    """
    total: FloatArray = scores.T @ scores
    for step in range(1, min(lag, len(scores) - 1) + 1):
        cross = scores[step:].T @ scores[:-step]
        total = total + (1 - step / (lag + 1)) * (cross + cross.T)
    return total


def correlation_length(residuals: ArrayLike) -> float:
    """How many neighbouring residuals err as one: the integrated autocorrelation time, in samples, at least 1.

    1 + 2 Σ autocorrelation, summed over ``IACT_WINDOW`` times itself (Sokal, 1989). Independent residuals have 1.

    >>> correlation_length(np.tile([1.0, -1.0], 50))
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
    ends = np.flatnonzero(lags >= IACT_WINDOW * summed)
    # without a lag that far out the sum over a quarter of the recording stands: beyond it noise only adds up
    return float(max(1.0, summed[ends[0]] if len(ends) else summed[n // 4]))
