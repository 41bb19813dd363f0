"""A map of how well a train of ticks of each rate fits each moment of a recording, slowing ticks included.

Each stretch is resampled so that ticks slowing at a given pace become even; then the powers at the multiples of each
rate are added. All multiples up to a fixed frequency count, and the sum is divided by the root of their number, so that
half and twice the true rate score less.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.sparse import csr_array

FloatArray = NDArray[np.float64]

STRETCH_S, STEP_S = 0.4, 0.1
HIGHEST_HZ = 460.0
RATES_HZ = np.exp(np.arange(np.log(8.0), np.log(330.0), 0.007))
PACES_PER_S = (0.0, 0.08, 0.16, 0.25, 0.35, 0.47, 0.62, 0.8, 1.1, 1.5)
"""−(df/dt)/f of the ticks within a stretch."""
_POINTS = 1024
SLOWER = 4
MOST_POWER = 9.0
"""No single line counts for more: a hum must not pass for a comb."""


@dataclass(frozen=True, slots=True, eq=False)
class CombMap:
    """``score[i, j]``: in deviations, how far ticks at ``rates_hz[j]`` stand out of the stretch about ``time_s[i]``."""

    time_s: FloatArray
    rates_hz: FloatArray
    score: FloatArray


def slow_comb_map(envelope: FloatArray, hz: float) -> CombMap:
    """The same for ticks ``SLOWER`` times slower, in stretches as much longer.

    >>> t = np.arange(12000) / 1000
    >>> combs = slow_comb_map(np.maximum(np.cos(2 * np.pi * 5 * t) - 0.9, 0) - 0.01, 1000.0)
    >>> round(float(combs.rates_hz[np.argmax(combs.score[10])]), 1)
    5.0
    """
    whole = len(envelope) // SLOWER * SLOWER
    fast = comb_map(envelope[:whole].reshape(-1, SLOWER).mean(axis=1), hz)
    return CombMap(fast.time_s * SLOWER, fast.rates_hz / SLOWER, fast.score)


def comb_map(envelope: FloatArray, hz: float, *, coarse: bool = False) -> CombMap:
    """The map; ``coarse`` looks at fewer stretches and paces, to compare bands.

    >>> t = np.arange(3000) / 1000
    >>> combs = comb_map(np.maximum(np.cos(2 * np.pi * 40 * t) - 0.9, 0) - 0.01, 1000.0)
    >>> round(float(combs.rates_hz[np.argmax(combs.score[10])]), -1)
    40.0
    """
    size = int(STRETCH_S * hz)
    step = int(STEP_S * hz) * (4 if coarse else 1)
    starts = np.arange(0, max(len(envelope) - size, 1), step)
    padded = np.pad(envelope.astype(np.float32), (0, size))
    stretches = padded[starts[:, None] + np.arange(size)]
    best = np.full((len(starts), len(RATES_HZ)), -np.inf, dtype=np.float32)
    for pace in (0.0, 0.16, 0.47) if coarse else PACES_PER_S:
        np.maximum(best, _scores(stretches, hz, pace), out=best)
    return CombMap(np.asarray((starts + size / 2) / hz), RATES_HZ, best.astype(np.float64))


def _scores(stretches: FloatArray, hz: float, pace: float) -> FloatArray:
    size = stretches.shape[1]
    power = (
        np.abs(fft.rfft(_evened(stretches, hz, pace) * np.hanning(size).astype(stretches.dtype), _POINTS, axis=1)) ** 2
    )
    power = power[:, : int(HIGHEST_HZ * _POINTS / hz) + 2]
    excess = np.minimum(power / _floor(power), MOST_POWER) - 1
    return np.asarray((_combs(hz, power.shape[1]) @ excess.T).T)


@cache
def _combs(hz: float, lines: int) -> csr_array:
    """A row for each rate: at its multiples up to the highest frequency one over the root of their number."""
    multiples = np.arange(1, int(HIGHEST_HZ / RATES_HZ[0]) + 1)
    rate, multiple = np.nonzero(np.outer(RATES_HZ, multiples) < HIGHEST_HZ)
    at = np.round(multiples[multiple] * RATES_HZ[rate] * _POINTS / hz).astype(int)
    each = 1 / np.sqrt(np.bincount(rate))[rate]
    return csr_array((each.astype(np.float32), (rate, at)), shape=(len(RATES_HZ), lines))


def _evened(stretches: FloatArray, hz: float, pace: float) -> FloatArray:
    """The stretch read at the times when ticks of that pace would have come had they not slowed."""
    if pace == 0.0:
        return stretches
    size = stretches.shape[1]
    u = (np.arange(size) - size / 2) / hz
    at = np.clip((u + pace * u * u / 2) * hz + size / 2, 0, size - 1.001)
    left = at.astype(int)
    part = at - left
    part = part.astype(stretches.dtype)
    return np.asarray(stretches[:, left] * (1 - part) + stretches[:, left + 1] * part)


def _floor(power: FloatArray) -> FloatArray:
    """The noise about each frequency: what the middle of its neighbours says the mean of noise alone would be."""
    size = 32
    whole = power.shape[1] // size * size
    ordered = np.sort(power[:, :whole].reshape(len(power), -1, size), axis=2)  # so few are sorted sooner than halved
    blocks = ordered[:, :, size // 2 - 1 : size // 2 + 1].mean(axis=2) / np.log(2)
    blocks = np.maximum(blocks, 0.02 * blocks.mean(axis=1, keepdims=True) + 1e-12)
    middle = np.arange(blocks.shape[1]) * size + size / 2
    at = np.clip((np.arange(power.shape[1]) - middle[0]) / size, 0, len(middle) - 1.001)
    left = at.astype(int)
    part = (at - left).astype(power.dtype)
    return np.asarray(blocks[:, left] * (1 - part) + blocks[:, np.minimum(left + 1, len(middle) - 1)] * part)
