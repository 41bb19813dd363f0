"""Straight-line algebra for readings whose errors hang together in time.

Shared by the domains that fit a law to a recording.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

NINETY = 1.6449
"""Standard deviations either side of the middle that hold 90 % of a normal distribution."""


@dataclass(frozen=True, slots=True, eq=False)
class LinearFit:
    """Coefficients of y = columns @ values, with two opinions about how sure they are."""

    values: FloatArray
    plain: FloatArray
    """Covariance if the residuals were independent."""
    sandwich: FloatArray
    """Covariance that lets neighbouring residuals agree (Newey and West, Econometrica 55, 1987, p. 703)."""
    residuals: FloatArray
    noise: float
    """Robust standard deviation of the residuals."""

    def error(self, gradient: FloatArray) -> float:
        """Standard error of ``gradient @ values``: the larger of the two opinions."""
        return float(np.sqrt(max(float(gradient @ cover @ gradient) for cover in (self.plain, self.sandwich))))


def fit_linear(columns: FloatArray, y: FloatArray, *, lag: int = 0) -> LinearFit:
    """Least squares that outliers cannot drag (Huber's weights at 2 sigma), columns shaped (samples, terms).

    ``lag`` is how many samples apart two residuals may still agree.

    >>> x = np.arange(6.0)
    >>> y = 2.0 + 0.5 * x
    >>> y[3] = 40.0
    >>> fit_linear(np.column_stack([np.ones(6), x]), y).values
    array([2. , 0.5])
    """
    weights = np.ones(len(y))
    for _ in range(30):
        root = np.sqrt(weights)
        values = np.asarray(np.linalg.lstsq(columns * root[:, None], y * root, rcond=None)[0], dtype=np.float64)
        residuals = y - columns @ values
        noise = robust_deviation(residuals)
        fresh = np.minimum(1.0, 2.0 * noise / np.maximum(np.abs(residuals), 1e-300)) if noise > 0 else weights
        if np.allclose(fresh, weights, atol=1e-4):
            break
        weights = fresh
    spare = max(len(y) - columns.shape[1], 1)
    bread = np.asarray(np.linalg.pinv((columns * weights[:, None]).T @ columns), dtype=np.float64)
    plain = bread * float(np.sum(weights * residuals**2)) / spare
    scores = columns * (weights * residuals)[:, None]
    return LinearFit(values, plain, bread @ _long_run(scores, lag) @ bread * len(y) / spare, residuals, noise)


def robust_deviation(x: FloatArray) -> float:
    """Standard deviation from the median absolute value about the median (normal-consistent factor 1.4826).

    >>> robust_deviation(np.array([-1.0, 0.0, 1.0, 900.0, 0.0]))
    1.48
    """
    return 1.4826 * float(np.median(np.abs(x - np.median(x))))


def _long_run(scores: FloatArray, lag: int) -> FloatArray:
    total: FloatArray = scores.T @ scores
    for step in range(1, min(lag, len(scores) - 1) + 1):
        cross = scores[step:].T @ scores[:-step]
        total = total + (1 - step / (lag + 1)) * (cross + cross.T)
    return total
