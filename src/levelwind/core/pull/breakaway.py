"""How tight the line was when the drag gave, between two readings of a scale that smooths.

The line tightens along a ramp, gives at a moment nobody sampled, and falls back towards the running drag; the scale
reports averages over a time it does not tell. Every moment, smoothing and fall worth considering is tried, the straight
part (peak, slope, where it falls to) solved for exactly under each, and each weighed by how well the readings near the
peak agree with it: Bayes' rule on a grid with the linear terms integrated out (e.g. C. M. Bishop, Pattern Recognition
and Machine Learning, 2006, section 3.3).
"""

import numpy as np

from levelwind.core.fitting import FloatArray
from levelwind.core.quantities import Quantity

FALL_S = np.array([0.006, 0.018, 0.05, 0.14])
"""How fast the line falls back: a light spool on stiff line to a sticky washer on soft. Invented range."""
SMOOTHING = np.array([0.02, 0.25, 0.5, 0.75, 1.0])
"""How much of the time between two readings the scale may average over."""
OFF_PEAK, OFF_GAIN = 0.004, 0.2
"""What a straight ramp and an exponential fall leave out, as a share of the peak and of the gain between two readings.
From simulation: a contact begins to creep before it gives, which rounds the peak off."""
SURE_PEAK = 0.006
"""How far, as a share of the peak, a reading may lie over it: no average can, so only noise and warps do."""
OVER_GAIN = 0.7
"""How far over the highest reading the peak lies at a likelihood e times lower, in gains. From simulation: on rounded
peaks 0.23 of a gain in the middle, on sharp ones 0.37."""

_NORMAL = np.array([-1.96, -1.28, -0.84, -0.52, -0.25, 0.0, 0.25, 0.52, 0.84, 1.28, 1.96])
"""Eleven points that stand for a normal distribution."""


def find_breakaway(
    time_s: FloatArray, net_N: FloatArray, highest: int, *, slope_N_s: float, running_N: float, noise_N: float
) -> Quantity:
    """Tension at which the drag first gave, from the readings on the ramp up to one past the ``highest``.

    ``slope_N_s`` is how fast the line tightens, ``running_N`` where it falls to, both roughly.
    """
    period = float(np.median(np.diff(time_s)))
    first = highest
    while first > 0 and highest - first < 8 and net_N[first - 1] > 0.5 * net_N[highest]:
        first -= 1
    last = min(highest + 2, len(net_N))
    t, f = time_s[first:last] - time_s[highest], net_N[first:last]
    at = np.linspace(-1.4 * period, 0.8 * period, 36)
    moment, smoothing, fall = (grid.ravel() for grid in np.meshgrid(at, SMOOTHING * period, FALL_S, indexing="ij"))
    columns = _templates(t[None, :] - moment[:, None], smoothing[:, None], fall[:, None])
    top, gain = float(net_N[highest]), slope_N_s * period
    noise = float(np.sqrt(noise_N**2 + (OFF_PEAK * top) ** 2 + (OFF_GAIN * gain) ** 2))
    known = np.array([top + gain / 2, slope_N_s, running_N])
    sure = np.array([gain + 0.1 * top, 0.35 * slope_N_s + 1e-9, 0.12 * running_N]) ** -2.0
    peak, error, weight = _solved(columns, f, noise, known, sure)
    points = peak[:, None] + error[:, None] * _NORMAL
    return _mixture(points, weight[:, None] + _over(points - top, gain, float(np.hypot(noise_N, SURE_PEAK * top))))


def _templates(t: FloatArray, smoothing: FloatArray, fall: FloatArray) -> FloatArray:
    """What peak, slope and resting level each add to every reading: averages over the smoothing, by integrals."""

    def integrals(x: FloatArray) -> FloatArray:
        before, after = np.minimum(x, 0.0), np.maximum(x, 0.0)
        decayed = fall * -np.expm1(-after / fall)
        return np.stack([before + decayed, before**2 / 2, after - decayed], axis=-1)

    averaged: FloatArray = (integrals(t) - integrals(t - smoothing)) / smoothing[..., None]
    return averaged


def _solved(
    columns: FloatArray, f: FloatArray, noise: float, known: FloatArray, sure: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Peak, its standard error, and the log weight of each case."""
    precision = np.einsum("kni,knj->kij", columns, columns) / noise**2 + np.diag(sure)
    middle = np.linalg.solve(precision, (np.einsum("kni,n->ki", columns, f) / noise**2 + sure * known)[..., None])[
        ..., 0
    ]
    misfit = np.sum((f - np.einsum("kni,ki->kn", columns, middle)) ** 2, axis=1) / noise**2
    misfit += np.sum(sure * (middle - known) ** 2, axis=1)
    weight = -misfit / 2 - np.linalg.slogdet(precision)[1] / 2
    return middle[:, 0], np.sqrt(np.linalg.inv(precision)[:, 0, 0]), weight


def _over(above: FloatArray, gain: float, noise: float) -> FloatArray:
    """Log weight of a peak so far above the highest reading: hardly below it, as readings are averages; seldom far."""
    below = -np.logaddexp(0.0, -1.7 * above / noise)  # a logistic curve that stands for the normal one
    return np.asarray(below - np.maximum(above, 0.0) / (OVER_GAIN * gain + 1e-9))


def _mixture(peaks: FloatArray, weights: FloatArray) -> Quantity:
    """Median and 90 % interval of all cases together."""
    points, mass = peaks.ravel(), np.exp(weights - weights.max()).ravel()
    order = np.argsort(points)
    share = np.cumsum(mass[order]) / mass.sum()
    low, middle, high = points[order][np.searchsorted(share, [0.05, 0.5, 0.95])]
    return Quantity(float(middle), float(low), float(high))
