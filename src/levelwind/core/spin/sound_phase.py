"""Ticks followed along a law: where in the round of ticks each stretch of a recording stands, by maximum likelihood.

A tick is one sound of a fixed length whatever the rate, so that its shape is kept as a spectrum over frequency, shared
by all rates: the delay that a slow ringing adds at one rate and not at another then cancels.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.spin.fit import LawFit, fit_phase, rocking_inflation
from levelwind.core.spin.law import Law, speed_after, turns_after
from levelwind.core.spin.sound_envelope import Envelope
from levelwind.core.spin.sound_map import HIGHEST_HZ

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]

WINDOW_S, LEAST_TICKS = 0.1, 3
MULTIPLES = 40
_LEVELS, _REACH, _DEVIATIONS = 64, 16, 4.0
SLOWEST_HZ, FASTEST_HZ = 0.7, 420.0
_SHAPE_BINS = 23
DELAY_S = 0.0006
"""How much later than at rest a tick may seem at full rate, its tail running into the next."""
LEAST_GAIN = 3.0
"""A stretch whose ticks are not e³ times likelier than none tells nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """Tick phases of stretches of a recording, and what they are worth."""

    time_s: FloatArray
    ticks: FloatArray
    sigma: FloatArray
    gain: FloatArray
    """How much likelier ticks are than none, as a natural logarithm."""
    from_s: float
    to_s: float
    all_windows: int
    """How many stretches lie between, told or not."""
    power: FloatArray
    """At each multiple of the rate, ticks laid on one another: in noise's power, noise taken off."""


@dataclass(frozen=True, slots=True, eq=False)
class _Windows:
    """Sums of the envelope against each multiple of the tick phase, a row a stretch."""

    edges: NDArray[np.int64]
    middle_s: FloatArray
    middle_ticks: FloatArray
    rate: FloatArray
    sums: ComplexArray
    size: FloatArray
    usable: NDArray[np.bool_]


def follow(
    envelope: Envelope,
    law: Law,
    start_s: float,
    start_hz: float,
    between: tuple[float, float],
    *,
    every: int = 1,
    loose: float = 0.06,
) -> Followed | None:
    """Follow ticks through the stretches between two times; ``every`` is how many ticks make a turn, where known.

    ``loose`` is how many ticks the law may be out from one stretch to the next. None where nothing is left to follow.
    """
    windows = _windows(envelope, law, start_s, start_hz, between, every)
    if windows is None:
        return None
    shape = np.full(_SHAPE_BINS, 0.004 + 0j)
    for _ in range(2):
        likely = _likelihood(windows, shape)
        offset = _path(likely, loose)
        shape = _shape(windows, offset)
    likely = _likelihood(windows, shape)
    offset, gain, sigma = _sharpened(windows, shape, _path(likely, loose))
    first, last = _best_run(gain)
    kept = np.zeros(len(gain), dtype=bool)
    kept[first : last + 1] = True
    kept &= (gain > LEAST_GAIN) & np.isfinite(sigma)
    if kept.sum() < 8:
        return None
    hz = envelope.hz
    return Followed(
        windows.middle_s[kept],
        (windows.middle_ticks + offset)[kept],
        sigma[kept],
        gain[kept],
        float(windows.edges[first] / hz),
        float(windows.edges[last + 1] / hz),
        last - first + 1,
        _power(windows, offset, kept),
    )


def _windows(
    envelope: Envelope, law: Law, start_s: float, start_hz: float, between: tuple[float, float], every: int
) -> _Windows | None:
    hz = envelope.hz
    low, high = max(int(between[0] * hz), 0), min(int(between[1] * hz), len(envelope.at))
    t = np.arange(low, high) / hz
    rate = speed_after(law, start_hz, t - start_s)
    inside = np.flatnonzero((rate > SLOWEST_HZ) & (rate < FASTEST_HZ))
    if len(inside) < hz:
        return None
    low, t, rate = low + int(inside[0]), t[inside[0] : inside[-1] + 1], rate[inside[0] : inside[-1] + 1]
    ticks = turns_after(law, start_hz, t - start_s)
    edges = _edges(ticks, rate, every)
    if len(edges) < 10:
        return None
    sums = _sums(envelope.at[low : low + len(t)], ticks, edges)
    size = np.diff(edges).astype(np.float64)
    middle = (edges[:-1] + edges[1:] - 1) / 2
    i = middle.astype(int)
    rates = rate[i]
    usable = rates[:, None] * np.arange(1, MULTIPLES + 1) < HIGHEST_HZ
    place = np.interp(middle, np.arange(len(t)), ticks)
    return _Windows(edges + low, (middle + low) / hz, place, rates, np.where(usable, sums, 0), size, usable)


def _sums(envelope: FloatArray, ticks: FloatArray, edges: NDArray[np.int64]) -> ComplexArray:
    """Of the envelope turned back by each multiple of the tick phase, between edges; single precision is enough."""
    angle = (2 * np.pi * (ticks - np.floor(ticks))).astype(np.float32)
    turn = np.cos(angle) - 1j * np.sin(angle)
    met = envelope.astype(np.complex64)
    sums = np.empty((len(edges) - 1, MULTIPLES), dtype=np.complex128)
    for h in range(MULTIPLES):
        met *= turn
        sums[:, h] = np.add.reduceat(met[: edges[-1]], edges[:-1])
    return sums


def _edges(ticks: FloatArray, rate: FloatArray, every: int) -> NDArray[np.int64]:
    """Sample numbers that part the recording into stretches of whole turns, or of ticks where no turn is known."""
    at, marks = float(np.ceil(ticks[0])), []
    while at < ticks[-1]:
        marks.append(at)
        now = float(np.interp(at, ticks, rate))
        whole = every if every > 1 else (12 if now > 60 else 1)
        at += whole * max(1.0, np.round(max(LEAST_TICKS, WINDOW_S * now) / whole))
    return np.unique(np.searchsorted(ticks, marks)).astype(np.int64)


def _expected(windows: _Windows, shape: ComplexArray) -> ComplexArray:
    """The mean of each sum per sample, were the ticks just on the law."""
    frequency = windows.rate[:, None] * np.arange(1, MULTIPLES + 1)
    at = np.clip(frequency / HIGHEST_HZ * _SHAPE_BINS - 0.5, 0, _SHAPE_BINS - 1.001)
    left = at.astype(int)
    smooth = shape[left] * (1 - at + left) + shape[left + 1] * (at - left)
    return np.asarray(np.where(windows.usable, smooth * windows.rate[:, None], 0))


def _likelihood(windows: _Windows, shape: ComplexArray) -> FloatArray:
    """Logarithm of how much likelier ticks at each of 64 offsets are than none: (stretches, offsets)."""
    expected = _expected(windows, shape)
    offsets = np.arange(_LEVELS) / _LEVELS
    waves = np.exp(-2j * np.pi * np.outer(np.arange(1, MULTIPLES + 1), offsets))
    met = 2 * np.real((np.conj(expected) * windows.sums) @ waves)
    return np.asarray(met - (windows.size * np.sum(np.abs(expected) ** 2, axis=1))[:, None])


def _path(likely: FloatArray, loose: float) -> FloatArray:
    """The likeliest run of offsets, in ticks, unwrapped, that moves little from one stretch to the next (Viterbi)."""
    count = len(likely)
    reach = min(int(np.ceil(_DEVIATIONS * loose * _LEVELS)), _REACH)
    moves = np.arange(-reach, reach + 1)
    cost = (moves / _LEVELS / loose) ** 2 / 2
    best, came = likely[0], np.zeros((count, _LEVELS), dtype=np.int64)
    before = (np.arange(_LEVELS)[:, None] - moves) % _LEVELS
    for j in range(1, count):
        options = best[before] - cost
        came[j] = np.argmax(options, axis=1)
        best = options[np.arange(_LEVELS), came[j]] + likely[j]
    at = int(np.argmax(best))
    steps, place = np.zeros(count), at
    for j in range(count - 1, 0, -1):
        move = int(moves[came[j, place]])
        steps[j] = move
        place = (place - move) % _LEVELS
    first = place if place < _LEVELS / 2 else place - _LEVELS
    return np.asarray((first + np.cumsum(steps)) / _LEVELS)


def _shape(windows: _Windows, offset: FloatArray) -> ComplexArray:
    """The spectrum of one tick from all stretches, laid on one another."""
    h = np.arange(1, MULTIPLES + 1)
    turned = windows.sums * np.exp(-2j * np.pi * offset[:, None] * h)
    weight = windows.rate[:, None] + 0 * h
    where = np.clip(windows.rate[:, None] * h / HIGHEST_HZ * _SHAPE_BINS, 0, _SHAPE_BINS - 1).astype(int)
    some = windows.usable
    real, imaginary = (
        np.bincount(where[some], (part * weight)[some], _SHAPE_BINS) for part in (turned.real, turned.imag)
    )
    power = np.bincount(where[some], (weight**2 * windows.size[:, None])[some], _SHAPE_BINS)
    return np.asarray((real + 1j * imaginary) / np.maximum(power, 1e-9))


def _sharpened(windows: _Windows, shape: ComplexArray, offset: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Offsets between the levels by Newton's steps, the gain there, and the deviation from the curvature."""
    expected, h = np.conj(_expected(windows, shape)), np.arange(1, MULTIPLES + 1)
    level = windows.size * np.sum(np.abs(expected) ** 2, axis=1)
    fine = offset.copy()
    for _ in range(3):
        met = expected * windows.sums * np.exp(-2j * np.pi * fine[:, None] * h)
        slope = 2 * np.sum(2 * np.pi * h * met.imag, axis=1)
        bend = -2 * np.sum((2 * np.pi * h) ** 2 * met.real, axis=1)
        step = np.where(bend < 0, -slope / np.where(bend < 0, bend, -1.0), 0.0)
        fine = np.clip(fine + np.clip(step, -0.5 / _LEVELS, 0.5 / _LEVELS), offset - 1 / _LEVELS, offset + 1 / _LEVELS)
    met = expected * windows.sums * np.exp(-2j * np.pi * fine[:, None] * h)
    bend = 2 * np.sum((2 * np.pi * h) ** 2 * met.real, axis=1)
    sigma = np.where(bend > 0, 1 / np.sqrt(np.where(bend > 0, bend, 1.0)), np.inf)
    return fine, 2 * np.sum(met.real, axis=1) - level, sigma


def _power(windows: _Windows, offset: FloatArray, kept: NDArray[np.bool_]) -> FloatArray:
    turned = windows.sums * np.exp(-2j * np.pi * offset[:, None] * np.arange(1, MULTIPLES + 1))
    summed = np.abs(turned[kept].sum(axis=0)) ** 2
    noise = (windows.usable[kept] * windows.size[kept, None]).sum(axis=0)
    heard = noise > 0.25 * windows.size[kept].sum()
    return np.asarray(summed[heard] / noise[heard] - 1)


def _best_run(gain: FloatArray) -> tuple[int, int]:
    """First and last stretch of the run with the largest summed gain (Kadane)."""
    best = run = 0.0
    first = last = begun = 0
    for j, each in enumerate(np.minimum(gain, 50.0) - 1.0):
        if run <= 0:
            run, begun = 0.0, j
        run += each
        if run > best:
            best, first, last = run, begun, j
    return first, last


def fit_followed(
    followed: Followed, marks: float, law: Law, start_hz: float, *, allow_stribeck: bool = False, coarse: bool = False
) -> LawFit:
    """The law in turns through what was followed; ``law``, in ticks, and its rate at the first of them are a guess."""
    dry, oil, air = law.coefficients
    start = float(start_hz) / marks, Law(dry / marks, oil, air * marks)
    rate = speed_after(law, start_hz, followed.time_s - followed.time_s[0])
    sigma = np.maximum(followed.sigma, 0.002) / marks * rocking_inflation(rate / marks)
    late = DELAY_S * rate * (rate / rate[0]) / marks
    return fit_phase(
        followed.time_s,
        followed.ticks / marks,
        sigma,
        start=start,
        allow_stribeck=allow_stribeck,
        common_errors=late[:, None],
        coarse=coarse,
    )
