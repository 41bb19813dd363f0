"""How loud a recording is from millisecond to millisecond: several bands, weighted by how regularly each ticks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import FloatArray
from levelwind.core.spin.sound_map import CombMap, comb_map

ENVELOPE_HZ = 1000.0
"""Values of the envelope a second. Our choice: ticks are told to a fraction of a millisecond by their phase."""
LOUDNESS_WINDOW_S = 0.0027
"""Seconds of sound in one value. Our choice: about as long as a tick rings."""
BANDS_HZ = ((500, 1400), (1400, 2600), (2600, 4200), (4200, 6500), (6500, 11500))
"""Hz; bands heard apart. Our choice: ticks of metal ring in the upper ones, voices and hum are mostly below 1400."""
LEVELLING_S, SPREAD_TIMES = 0.35, 4
"""Seconds over which a running mean is taken off, and how many times that for the running deviation. Our choice: longer
than ticks are apart, shorter than it takes a spool to slow."""
STEADY_TONE = 3.0
"""A line of the whole recording's spectrum this many times over the median of its neighbours is a steady tone (hum, a
fan). Our choice, judged on made recordings: docs/decisions/spin-sound-search.md."""
TONE_NEIGHBOURS = 101
"""Lines of the spectrum whose median is the ground about a tone. Our choice: a tone is one or two of them."""
SILENT = 1e-6
"""Amplitude, of full scale, below which nothing was recorded. Our choice: a thirtieth of the least step of 16 bits."""
SHORTEST_VALUES = 1000
"""Values of the envelope, one second, below which there is nothing to follow. Our choice."""
CLIPPED = (-4.0, 6.0)
"""Running deviations at which loudness is cut off, so that a bang does not outweigh the ticks. Our choice."""
LEAST_SPREAD = 0.02
"""Part of the largest running deviation that any is taken as at the least, so that silence is not blown up. Our
choice."""
LEAST_REGULAR, LEAST_WEIGHT = 0.5, 1e-3
"""Part of the best band's regularity below which a band counts for nothing, and the weight it still has. Our choice."""
FRAMES_AT_ONCE, SAMPLES_AT_ONCE = 20_000, 1_000_000
"""Values of the envelope, and samples to be squared, taken together. Our choice: ten minutes at once take 500 MB."""
CLEAREST_PART = 3
"""A band's regularity is the mean over that third of the recording in which it is clearest. Our choice: ticks may fill
no more of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """Loudness with its slow drift taken off, scaled to deviation 1; ``at[i]`` belongs to ``i / hz`` seconds."""

    at: FloatArray
    hz: float


def envelope_of(samples: NDArray[np.float32], sample_hz: float) -> Envelope:
    """The envelope of ``samples``, full scale ±1, at ``sample_hz``. Raises NotDeterminedError for silence.

    >>> tick = np.zeros(48000, np.float32)
    >>> tick[::12000] = 1.0
    >>> abs(int(np.argmax(envelope_of(tick, 24000.0).at[300:700])) - 200) <= 1
    True
    """
    bands = _bands(samples, sample_hz)
    weights = np.array([_regularity(comb_map(band, ENVELOPE_HZ, coarse=True)) for band in bands])
    weights = np.maximum(weights - LEAST_REGULAR * weights.max(), LEAST_WEIGHT)
    mixed = _without_steady_tones(np.einsum("b,bt->t", weights / weights.sum(), bands))
    return Envelope(mixed / max(float(np.std(mixed)), 1e-12), ENVELOPE_HZ)


def _bands(samples: NDArray[np.float32], sample_hz: float) -> FloatArray:
    """Shape (bands, milliseconds): the fourth root of power, less its running mean, over its running deviation.

    The fourth root brings loud and soft ticks nearer to one another, as the ear does.
    """
    step, width = round(sample_hz / ENVELOPE_HZ), round(sample_hz * LOUDNESS_WINDOW_S)
    padded = np.pad(np.asarray(samples, dtype=np.float32), (width // 2, width))
    frames = np.lib.stride_tricks.sliding_window_view(padded, width)[::step][: len(samples) // step]
    if len(frames) < SHORTEST_VALUES or _root_mean_square(samples) < SILENT:
        raise NotDeterminedError("silence: nothing to hear in this recording")
    window, tones = np.hanning(width).astype(np.float32), np.fft.rfftfreq(width, 1 / sample_hz)
    loud = np.empty((len(BANDS_HZ), len(frames)), np.float32)
    for start in range(0, len(frames), FRAMES_AT_ONCE):
        part = slice(start, start + FRAMES_AT_ONCE)
        power = np.abs(fft.rfft(frames[part] * window, axis=1)) ** 2
        for band, (low, high) in zip(loud, BANDS_HZ, strict=True):
            band[part] = power[:, (tones >= low) & (tones < high)].sum(1)
    floor = SILENT * SILENT * width**2
    return np.stack([_level(np.sqrt(np.sqrt(band + floor))) for band in loud])


def _root_mean_square(samples: NDArray[np.float32]) -> float:
    parts = (samples[start : start + SAMPLES_AT_ONCE] for start in range(0, len(samples), SAMPLES_AT_ONCE))
    return float(np.sqrt(sum(float(np.sum(np.square(part, dtype=np.float64))) for part in parts) / len(samples)))


def _without_steady_tones(x: FloatArray) -> FloatArray:
    """With lines that keep one rate through the whole recording (hum, a fan, a clock) taken down to their neighbours.

    What slows spreads over many lines, so that a spool's ticks lose nothing.
    """
    spectrum = fft.rfft(x)
    size = np.abs(spectrum)
    width = TONE_NEIGHBOURS
    whole = -(-len(size) // width) * width
    middle = np.median(np.pad(size, (0, whole - len(size)), mode="edge").reshape(-1, width), axis=1)
    ground = np.interp(np.arange(len(size)), np.arange(len(middle)) * width + width // 2, middle)
    return np.asarray(fft.irfft(spectrum * np.minimum(1.0, STEADY_TONE * ground / np.maximum(size, 1e-12)), len(x)))


def _level(x: FloatArray) -> FloatArray:
    """Less its running mean, over its running deviation."""
    size = int(LEVELLING_S * ENVELOPE_HZ)
    around = x - running_mean(x, size)
    spread = np.sqrt(running_mean(around**2, SPREAD_TIMES * size))
    return np.asarray(np.clip(around / np.maximum(spread, LEAST_SPREAD * np.max(spread) + 1e-12), *CLIPPED))


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
    """How far the best comb stands out, in deviations, where it stands out most."""
    best = np.sort(combs.score.max(axis=1))
    return float(np.mean(best[-max(len(best) // CLEAREST_PART, 1) :]))
