"""How tight the line was when the drag gave, between two readings of a scale that smooths.

The line tightens along a ramp, the drag gives at a moment nobody sampled, and tension falls to the running drag; the
scale reports averages over a time it does not tell. Every moment, smoothing and fall worth considering is tried. The
linear unknowns (peak, slope, level after the fall) are solved for exactly under each case, and each case is weighted by
how well the readings near the peak agree with it: Bayes' rule on a grid with the linear terms integrated out (e.g. C.
M. Bishop, Pattern Recognition and Machine Learning, 2006, section 3.3)."""

import numpy as np

from levelwind.core.fitting import FloatArray
from levelwind.core.quantities import Quantity

FALL_S = np.array([0.006, 0.018, 0.05, 0.14])
"""s; time constants of the fall: from a light spool on stiff line to a sticky washer on soft. Our choice of range."""
SMOOTHING = np.array([0.02, 0.25, 0.5, 0.75, 1.0])
"""Parts of the time between two readings that the scale may average over: from hardly any to all of it (any other would
lose or double readings)."""
OFF_PEAK, OFF_GAIN = 0.004, 0.2
"""Standard deviation of what a straight ramp and an exponential fall leave out, as a part of the peak and of the gain
between two readings. From simulation: a contact begins to creep before it gives, which rounds the peak off."""
SURE_PEAK = 0.006
"""How far, as a part of the peak, a reading may lie over it: no average can, so only noise and warps do. Our choice,
from simulation."""
OVER_GAIN = 0.7
"""How far over the highest reading the peak lies at a likelihood e times lower, in gains between two readings. From
simulation: on rounded peaks 0.23 of a gain in the middle, on sharp ones 0.37 (docs/physics/pull.md)."""
MOST_READINGS, PEAK_RAMP_FROM = 8, 0.5
"""Readings before the highest that are used, and the part of the highest that they must reach. Our choice: the lower
ramp curves, as a knot draws tight and slack is taken up."""
MOMENTS, MOMENT_POINTS = (-1.4, 0.8), 36
"""Readings before and after the highest between which the drag may have given, and moments tried there. Our choice: the
highest reading averages over up to one reading's time before it."""
PEAK_PRIOR, SLOPE_PRIOR, LEVEL_PRIOR = 0.1, 0.35, 0.12
"""Standard deviations of what is known beforehand: of the peak (with one gain) as a part of the highest reading, of the
slope and of the running drag as parts of themselves. Our choice: wide against what the readings tell."""
LOGISTIC = 1.7
"""Factor that makes a logistic curve stand for the normal distribution function, to 0.01 (standard; from memory)."""

NORMAL_POINTS = np.array([-1.96, -1.28, -0.84, -0.52, -0.25, 0.0, 0.25, 0.52, 0.84, 1.28, 1.96])
"""Eleven points of equal weight that stand for a standard normal distribution: its quantiles in steps of about a tenth,
the ends at 2.5 and 97.5 % (tables of the normal law)."""


def find_breakaway(
    time_s: FloatArray, net_N: FloatArray, highest: int, *, slope_N_s: float, running_N: float, noise_N: float
) -> Quantity:
    """Tension at which the drag first gave, from the readings on the ramp up to one past the ``highest``.

    ``slope_N_s`` is how fast the line tightens, ``running_N`` the tension it falls to, both roughly; ``noise_N`` the
    standard deviation of a reading.
    """
    period = float(np.median(np.diff(time_s)))
    first = highest
    while first > 0 and highest - first < MOST_READINGS and net_N[first - 1] > PEAK_RAMP_FROM * net_N[highest]:
        first -= 1
    last = min(highest + 2, len(net_N))
    t, f = time_s[first:last] - time_s[highest], net_N[first:last]
    at = np.linspace(MOMENTS[0] * period, MOMENTS[1] * period, MOMENT_POINTS)
    moment, smoothing, fall = (grid.ravel() for grid in np.meshgrid(at, SMOOTHING * period, FALL_S, indexing="ij"))
    columns = _templates(t[None, :] - moment[:, None], smoothing[:, None], fall[:, None])
    top, gain = float(net_N[highest]), slope_N_s * period
    noise = float(np.sqrt(noise_N**2 + (OFF_PEAK * top) ** 2 + (OFF_GAIN * gain) ** 2))
    known = np.array([top + gain / 2, slope_N_s, running_N])
    deviations = np.array([gain + PEAK_PRIOR * top, SLOPE_PRIOR * slope_N_s + 1e-9, LEVEL_PRIOR * running_N])
    peak, error, weight = _solved(columns, f, noise, known, deviations**-2.0)
    points = peak[:, None] + error[:, None] * NORMAL_POINTS
    above = _log_prior_above(points - top, gain, float(np.hypot(noise_N, SURE_PEAK * top)))
    return _mixture(points, weight[:, None] + above)


def _templates(t: FloatArray, smoothing: FloatArray, fall: FloatArray) -> FloatArray:
    """What peak, slope and level after the fall each add to every reading, shape (cases, readings, 3).

    ``t`` is since the moment of giving; each reading averages over ``smoothing`` s before it, so it is a difference of
    integrals.
    """

    def integrals(x: FloatArray) -> FloatArray:
        before, after = np.minimum(x, 0.0), np.maximum(x, 0.0)
        decayed = fall * -np.expm1(-after / fall)
        return np.stack([before + decayed, before**2 / 2, after - decayed], axis=-1)

    averaged: FloatArray = (integrals(t) - integrals(t - smoothing)) / smoothing[..., None]
    return averaged


def _solved(
    columns: FloatArray, f: FloatArray, noise: float, known: FloatArray, precision: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Peak, its standard error, and the log evidence of each case, with a normal prior about ``known``."""
    posterior = np.einsum("kni,knj->kij", columns, columns) / noise**2 + np.diag(precision)
    right = np.einsum("kni,n->ki", columns, f) / noise**2 + precision * known
    middle = np.linalg.solve(posterior, right[..., None])[..., 0]
    misfit = np.sum((f - np.einsum("kni,ki->kn", columns, middle)) ** 2, axis=1) / noise**2
    misfit += np.sum(precision * (middle - known) ** 2, axis=1)
    weight = -misfit / 2 - np.linalg.slogdet(posterior)[1] / 2
    return middle[:, 0], np.sqrt(np.linalg.inv(posterior)[:, 0, 0]), weight


def _log_prior_above(above: FloatArray, gain: float, noise: float) -> FloatArray:
    """Log weight of a peak so far above the highest reading: hardly below it, as readings are averages; seldom far."""
    below = -np.logaddexp(0.0, -LOGISTIC * above / noise)
    return np.asarray(below - np.maximum(above, 0.0) / (OVER_GAIN * gain + 1e-9))


def _mixture(peaks: FloatArray, weights: FloatArray) -> Quantity:
    """Median and 90 % interval of all cases together."""
    points, mass = peaks.ravel(), np.exp(weights - weights.max()).ravel()
    order = np.argsort(points)
    share = np.cumsum(mass[order]) / mass.sum()
    low, middle, high = points[order][np.searchsorted(share, [0.05, 0.5, 0.95])]
    return Quantity(float(middle), float(low), float(high))
