"""How loud a recording is from millisecond to millisecond: several bands, put together by how regularly each ticks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin.sound_map import CombMap, comb_map

FloatArray = NDArray[np.float64]

ENVELOPE_HZ = 1000.0
WINDOW_S = 0.0027
BANDS_HZ = ((500, 1400), (1400, 2600), (2600, 4200), (4200, 6500), (6500, 11500))
_SMOOTH_S = 0.35
STEADY = 3.0
"""A line this many times over the middle of its neighbours is a steady tone."""
SILENT = 1e-6
"""Power, of full scale, below which nothing was recorded."""


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """Loudness about its own drift, at even times; ``at[i]`` belongs to ``i / hz`` seconds."""

    at: FloatArray
    hz: float


def envelope_of(samples: NDArray[np.float32], sample_hz: float) -> Envelope:
    """One envelope. Raises NotDeterminedError for silence.

    >>> tick = np.zeros(48000, np.float32)
    >>> tick[::12000] = 1.0
    >>> abs(int(np.argmax(envelope_of(tick, 24000.0).at[300:700])) - 200) <= 1
    True
    """
    bands = _bands(samples, sample_hz)
    weights = np.array([_regularity(comb_map(band, ENVELOPE_HZ, coarse=True)) for band in bands])
    weights = np.maximum(weights - 0.5 * weights.max(), 1e-3)
    together = _without_steady_tones(np.einsum("b,bt->t", weights / weights.sum(), bands))
    return Envelope(together / max(float(np.std(together)), 1e-12), ENVELOPE_HZ)


def _bands(samples: NDArray[np.float32], sample_hz: float) -> FloatArray:
    """Shaped (bands, milliseconds): the fourth root of power, less its running mean, over its running deviation."""
    step, width = round(sample_hz / ENVELOPE_HZ), round(sample_hz * WINDOW_S)
    padded = np.pad(np.asarray(samples, dtype=np.float32), (width // 2, width))
    frames = np.lib.stride_tricks.sliding_window_view(padded, width)[::step][: len(samples) // step]
    if len(frames) < 1000 or float(np.mean(np.square(samples, dtype=np.float64))) < SILENT * SILENT:
        raise NotDeterminedError("silence: nothing to hear in this recording")
    power = np.abs(fft.rfft(frames * np.hanning(width).astype(np.float32), axis=1)) ** 2
    tones = np.fft.rfftfreq(width, 1 / sample_hz)
    loud = [power[:, (tones >= low) & (tones < high)].sum(1) for low, high in BANDS_HZ]
    floor = SILENT * SILENT * width**2
    return np.stack([_level(np.sqrt(np.sqrt(band + floor))) for band in loud])


def _without_steady_tones(x: FloatArray) -> FloatArray:
    """Lines that keep one rate through the whole recording taken down to their neighbours: hum, a fan, a clock.

    What slows spreads over many lines, so that a spool loses nothing.
    """
    spectrum = fft.rfft(x)
    size = np.abs(spectrum)
    width = 101
    whole = -(-len(size) // width) * width
    middle = np.median(np.pad(size, (0, whole - len(size)), mode="edge").reshape(-1, width), axis=1)
    ground = np.interp(np.arange(len(size)), np.arange(len(middle)) * width + width // 2, middle)
    return np.asarray(fft.irfft(spectrum * np.minimum(1.0, STEADY * ground / np.maximum(size, 1e-12)), len(x)))


def _level(x: FloatArray) -> FloatArray:
    size = int(_SMOOTH_S * ENVELOPE_HZ)
    around = x - running_mean(x, size)
    spread = np.sqrt(running_mean(around**2, 4 * size))
    return np.asarray(np.clip(around / np.maximum(spread, 0.02 * np.max(spread) + 1e-12), -4.0, 6.0))


def running_mean(x: FloatArray, size: int) -> FloatArray:
    """Mean over ``size`` neighbours, shorter at the ends.

    >>> running_mean(np.array([0.0, 3.0, 6.0]), 3)
    array([1.5, 3. , 4.5])
    """
    total = np.concatenate([[0.0], np.cumsum(x)])
    i = np.arange(len(x))
    low, high = np.maximum(i - size // 2, 0), np.minimum(i + size - size // 2, len(x))
    return np.asarray((total[high] - total[low]) / (high - low))


def _regularity(combs: CombMap) -> float:
    """How far the best comb stands out, over the third of the recording where it stands out most."""
    best = np.sort(combs.score.max(axis=1))
    return float(np.mean(best[-max(len(best) // 3, 1) :]))
