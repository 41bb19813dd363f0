"""Draws from a normal distribution of a law's unknowns, cut off where a coefficient would be below 0.

By plain draws, of which those that are allowed are kept; where few would be, by hit and run (R. L. Smith, Operations
Research 32, 1984, p. 1296).
"""

import numpy as np
from scipy.special import ndtr, ndtri

from levelwind.core.fitting import FloatArray, Generator

LEAST_UNKNOWNS = np.array([1e-6, 1e-12, 0.0, 0.0])
"""Start speed, dry, oil and air of a draw, at the least: a law without any dry friction would never come to rest."""
_SWEEPS = 60
"""Steps of hit and run from the start to a draw. Our choice: in four dimensions far more than it takes to forget it."""
_PLAIN_DRAWS = 8
"""Plain draws made for each one wanted, before hit and run. Our choice: that costs as much as a hundred."""


def truncated_normal(
    middle: FloatArray, spread: FloatArray, inside: FloatArray, rng: Generator, count: int
) -> FloatArray:
    """Standard normal draws z, shape (count, 4), for which no coefficient of middle + spread z is below 0.

    Those of a plain draw that are so, where enough are; else by hit and run.
    """
    z = rng.normal(size=(_PLAIN_DRAWS * count, 4))
    z = z[np.all(middle[1:] + z @ spread[1:].T >= 0, axis=1)]
    return z[:count] if len(z) >= count else _hit_and_run(middle, spread, inside, rng, count)


def _hit_and_run(middle: FloatArray, spread: FloatArray, inside: FloatArray, rng: Generator, count: int) -> FloatArray:
    """The same by steps in random directions, each as long as a normal draw cut off where a coefficient meets 0."""
    start = np.linalg.solve(spread, np.maximum(inside, LEAST_UNKNOWNS) - middle)
    z = np.tile(start, (count, 1))
    rows, floor = spread[1:], middle[1:]
    for _ in range(_SWEEPS):
        direction = rng.normal(size=(count, 4))
        direction /= np.linalg.norm(direction, axis=1, keepdims=True)
        along = np.sum(z * direction, axis=1)
        rest = z - along[:, None] * direction
        slope, level = direction @ rows.T, floor + rest @ rows.T
        with np.errstate(divide="ignore"):
            hit = -level / slope
        low = np.max(np.where(slope > 0, hit, -np.inf), axis=1)
        high = np.min(np.where(slope < 0, hit, np.inf), axis=1)
        z = rest + _truncated_draw(low, np.maximum(high, low), along, rng)[:, None] * direction
    return z


def _truncated_draw(low: FloatArray, high: FloatArray, now: FloatArray, rng: Generator) -> FloatArray:
    """One draw each from a standard normal between two ends; stays where it is if both lie too far out for floats."""
    flip = np.where(low > 0, -1.0, 1.0)
    a, b = np.where(flip < 0, -high, low), np.where(flip < 0, -low, high)
    below, above = ndtr(a), ndtr(b)
    x = flip * ndtri(below + rng.random(len(low)) * (above - below))
    return np.asarray(np.where(np.isfinite(x), np.clip(x, low, high), now))
