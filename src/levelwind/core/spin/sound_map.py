"""A map of how well ticks of each rate fit each moment of a recording, slowing ticks included.

Each stretch is resampled so that ticks slowing at a given pace become even; then the powers at the multiples of each
rate are added (a comb filter over the spectrum). All multiples up to a fixed frequency count, and the sum is divided by
the root of their number: noise then scores the same at every rate, and half and twice the true rate score less.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy import fft
from scipy.sparse import csr_array

from levelwind.core.fitting import FloatArray

STRETCH_S, STEP_S = 0.4, 0.1
"""Seconds: length of a stretch, and from one to the next. Our choice: 0.4 s hold three ticks of the lowest rate."""
HIGHEST_HZ = 460.0
"""Hz; multiples of a rate up to here count. Our choice: just below half of the envelope's thousand values a second."""
LOWEST_RATE_HZ, HIGHEST_RATE_HZ, RATE_STEP = 8.0, 330.0, 0.007
"""Ticks a second that are looked for, and the step of their logarithm. Our choice: 330 is six marks at 55 turns a
second; a stretch tells rates some 0.7 % apart at the high multiples."""
RATES_HZ = np.exp(np.arange(np.log(LOWEST_RATE_HZ), np.log(HIGHEST_RATE_HZ), RATE_STEP))
"""Ticks a second, each 0.7 % over the one before."""
PACES_PER_S = (0.0, 0.08, 0.16, 0.25, 0.35, 0.47, 0.62, 0.8, 1.1, 1.5)
"""Per second; −(df/dt)/f of the ticks within a stretch. Our choice: from even ticks to those of
a spool that stops within a second."""
COARSE_PACES_PER_S, COARSE_STEPS = (0.0, 0.16, 0.47), 4
"""Paces looked for, and steps from one stretch to the next, where bands are only compared. Our choice, for speed."""
_POINTS = 1024
"""Points of a stretch's transform. Our choice: the power of two over twice a stretch, so that lines are well
resolved."""
SLOWER = 4
"""Times slower that ticks on the second map are. Our choice: down to two a second."""
MOST_POWER = 9.0
"""Noise powers. No single line counts for more: a hum must not pass for a comb. Our choice."""
MEDIAN_OF_POWER = np.log(2)
"""Median of noise's power over its mean: it is exponentially distributed (ln 2, exact)."""
_NEIGHBOURS = 32
"""Lines whose median is the noise about each. Our choice: wider than a comb's line."""
_LEAST_NOISE = 0.02
"""Part of the mean noise that it is taken as at the least anywhere. Our choice: keeps silence from being divided by."""


@dataclass(frozen=True, slots=True, eq=False)
class CombMap:
    """``score[i, j]``: in deviations, how far ticks at ``rates_hz[j]`` stand out of the stretch about ``time_s[i]``.

    The best over all paces, so that noise scores above 0.
    """

    time_s: FloatArray
    rates_hz: FloatArray
    score: FloatArray


def slow_comb_map(envelope: FloatArray, hz: float) -> CombMap:
    """The map for ticks ``SLOWER`` times slower, in stretches as much longer.

    >>> t = np.arange(12000) / 1000
    >>> combs = slow_comb_map(np.maximum(np.cos(2 * np.pi * 5 * t) - 0.9, 0) - 0.01, 1000.0)
    >>> round(float(combs.rates_hz[np.argmax(combs.score[10])]), 1)
    5.0
    """
    whole = len(envelope) // SLOWER * SLOWER
    fast = comb_map(envelope[:whole].reshape(-1, SLOWER).mean(axis=1), hz)
    return CombMap(fast.time_s * SLOWER, fast.rates_hz / SLOWER, fast.score)


def comb_map(envelope: FloatArray, hz: float, *, coarse: bool = False) -> CombMap:
    """The map of an envelope at ``hz``; ``coarse`` looks at fewer stretches and paces, to compare bands.

    >>> t = np.arange(3000) / 1000
    >>> combs = comb_map(np.maximum(np.cos(2 * np.pi * 40 * t) - 0.9, 0) - 0.01, 1000.0)
    >>> round(float(combs.rates_hz[np.argmax(combs.score[10])]), -1)
    40.0
    """
    size = int(STRETCH_S * hz)
    step = int(STEP_S * hz) * (COARSE_STEPS if coarse else 1)
    starts = np.arange(0, max(len(envelope) - size, 1), step)
    padded = np.pad(envelope.astype(np.float32), (0, size))
    stretches = padded[starts[:, None] + np.arange(size)]
    best = np.full((len(starts), len(RATES_HZ)), -np.inf, dtype=np.float32)
    for pace in COARSE_PACES_PER_S if coarse else PACES_PER_S:
        np.maximum(best, _scores(stretches, hz, pace), out=best)
    return CombMap(np.asarray((starts + size / 2) / hz), RATES_HZ, best.astype(np.float64))


def _scores(stretches: FloatArray, hz: float, pace: float) -> FloatArray:
    """Of each stretch how far each rate stands out if ticks slow at one pace; shape (stretches, rates)."""
    size = stretches.shape[1]
    power = (
        np.abs(fft.rfft(_evened(stretches, hz, pace) * np.hanning(size).astype(stretches.dtype), _POINTS, axis=1)) ** 2
    )
    power = power[:, : int(HIGHEST_HZ * _POINTS / hz) + 2]
    excess = np.minimum(power / _noise(power), MOST_POWER) - 1
    return np.asarray((_combs(hz, power.shape[1]) @ excess.T).T)


@cache
def _combs(hz: float, lines: int) -> csr_array:
    """A row for each rate: at each of its multiples up to ``HIGHEST_HZ``, one over the root of their number."""
    multiples = np.arange(1, int(HIGHEST_HZ / RATES_HZ[0]) + 1)
    rate, multiple = np.nonzero(np.outer(RATES_HZ, multiples) < HIGHEST_HZ)
    at = np.round(multiples[multiple] * RATES_HZ[rate] * _POINTS / hz).astype(int)
    each = 1 / np.sqrt(np.bincount(rate))[rate]
    return csr_array((each.astype(np.float32), (rate, at)), shape=(len(RATES_HZ), lines))


def _evened(stretches: FloatArray, hz: float, pace: float) -> FloatArray:
    """The stretches resampled so that ticks slowing at this pace become even: read at u + pace u²/2, u from the
    middle."""
    if pace == 0.0:
        return stretches
    size = stretches.shape[1]
    u = (np.arange(size) - size / 2) / hz
    at = np.clip((u + pace * u * u / 2) * hz + size / 2, 0, size - 1.001)
    left = at.astype(int)
    part = at - left
    part = part.astype(stretches.dtype)
    return np.asarray(stretches[:, left] * (1 - part) + stretches[:, left + 1] * part)


def _noise(power: FloatArray) -> FloatArray:
    """The mean power of noise about each frequency, from the median of its neighbours: a comb's lines do not move
    it."""
    size = _NEIGHBOURS
    whole = power.shape[1] // size * size
    ordered = np.sort(power[:, :whole].reshape(len(power), -1, size), axis=2)  # quicker than a median
    blocks = ordered[:, :, size // 2 - 1 : size // 2 + 1].mean(axis=2) / MEDIAN_OF_POWER
    blocks = np.maximum(blocks, _LEAST_NOISE * blocks.mean(axis=1, keepdims=True) + 1e-12)
    middle = np.arange(blocks.shape[1]) * size + size / 2
    at = np.clip((np.arange(power.shape[1]) - middle[0]) / size, 0, len(middle) - 1.001)
    left = at.astype(int)
    part = (at - left).astype(power.dtype)
    return np.asarray(blocks[:, left] * (1 - part) + blocks[:, np.minimum(left + 1, len(middle) - 1)] * part)
