"""Ticks followed along a law: at which phase of the tick each stretch of a recording stands, by maximum likelihood.

A tick is one sound of a fixed length whatever the rate. So its shape is kept as a spectrum over frequency, shared by
all rates: the delay that a slow ringing adds is then the same time at every rate, and does not curvature the phase."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from levelwind.core.fitting import ComplexArray, FloatArray
from levelwind.core.spin.fit import LawFit, fit_phase, rocking_inflation
from levelwind.core.spin.law import Law, speed_after, turns_after
from levelwind.core.spin.sound_envelope import Envelope
from levelwind.core.spin.sound_map import HIGHEST_HZ

PHASE_WINDOW_S, WINDOW_TICKS = 0.1, 3
"""Seconds and ticks that a stretch holds at the least. Our choice: enough ticks to stand out, too short for the speed
to change much."""
KNOWN_ROUND, ROUND_TICKS, ROUND_ABOVE_HZ = 1, 12, 60.0
"""Where the ticks a turn are known (more than the first), stretches are whole turns, so that unlike ticks weigh alike
in all of them. Else, above the third in Hz, they are multiples of the second: of 1, 2, 3, 4 and 6 ticks a turn. Our
choice."""
TICK_MULTIPLES = 40
"""Multiples of the tick rate that are used. Our choice: at 10 ticks a second they reach ``HIGHEST_HZ`` nearly."""
PHASE_LEVELS = 64
"""Levels of phase over one tick. Our choice: an eighth of a tick's width; Newton's steps do the rest."""
MOST_MOVE, MOVE_DEVIATIONS = 16, 4.0
"""Levels that the phase may move from one stretch to the next, and in deviations of what is allowed. Our choice: a
quarter of a tick, so that no tick is jumped."""
SLOWEST_HZ, FASTEST_HZ = 0.7, 420.0
"""Ticks a second that are followed. Our choice: slower ones do not come often enough, of faster ones no second multiple
is in the envelope."""
SHAPE_BINS = 23
"""Bins of the tick's spectrum up to ``HIGHEST_HZ``, of 20 Hz each. Our choice: a tick is shorter than a twentieth of a
second."""
FIRST_SHAPE = 0.004 + 0j
"""The tick's spectrum before any was heard: the same at all frequencies, as of a click. Any small value does."""
SHAPE_ROUNDS = 2
"""Times that the shape is found from the phases, and these from it. Our choice: a third changes nothing that shows."""
DELAY_S = 0.0006
"""Seconds; how much later than at rest a tick may seem at full rate, as its tail runs into the next. Set on made
recordings: docs/decisions/spin-intervals.md."""
TOLD_GAIN = 3.0
"""A stretch whose ticks are not e³ times likelier than none tells nothing. Our choice."""
MOST_GAIN, GAIN_COST = 50.0, 1.0
"""Where the run of ticks begins and ends is told by the gains, counted up to the first, less the second each: a stretch
of nothing costs, and one loud stretch cannot join two runs. Our choice."""
LEAST_WINDOWS, LEAST_KEPT, LEAST_SECONDS = 9, 8, 1
"""Stretches in all, and told, and seconds that there must be to follow anything. Our choice: eight values make a
fit."""
HEARD_PART = 0.25
"""Part of the samples in which a multiple lies below ``HIGHEST_HZ`` from which its power is told. Our choice."""
SHARPENING_STEPS = 3
"""Newton's steps between two levels. Our choice: from so near three settle it."""
LEAST_SIGMA_TICKS = 0.002
"""Ticks; no phase is taken to be surer, as ticks are not set evenly to better than that. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """Phases of the stretches of a recording that told one, and how sure each is."""

    time_s: FloatArray
    ticks: FloatArray
    """Ticks since the law's start, to a fraction of a tick."""
    sigma: FloatArray
    """Standard deviation of each, in ticks."""
    gain: FloatArray
    """How much likelier ticks are than none, as a natural logarithm."""
    from_s: float
    to_s: float
    all_windows: int
    """How many stretches lie between the ends, whether they told a phase or not."""
    power: FloatArray
    """Power at each multiple of the rate with all ticks brought into phase, over noise's power, less 1."""


@dataclass(frozen=True, slots=True, eq=False)
class _Windows:
    """Sums of the envelope against each multiple of the tick phase, a row for each of n stretches."""

    edges: NDArray[np.int64]
    """Samples between which the stretches lie, shape (n + 1,)."""
    middle_s: FloatArray
    middle_ticks: FloatArray
    rate: FloatArray
    """Ticks a second in the middle."""
    sums: ComplexArray
    """Shape (n, ``TICK_MULTIPLES``)."""
    size: FloatArray
    """Samples in each."""
    usable: NDArray[np.bool_]
    """Which multiples lie below ``HIGHEST_HZ``, shape (n, ``TICK_MULTIPLES``)."""


def follow(
    envelope: Envelope,
    law: Law,
    start_s: float,
    start_hz: float,
    between: tuple[float, float],
    *,
    every: int,
    loose: float,
) -> Followed | None:
    """Follow ticks along a law between two times in s, at which ``start_hz`` at ``start_s`` is the law's rate.

    ``every`` is how many ticks make a turn, 1 where nobody knows. ``loose`` is the deviation in ticks by which the law
    may be out from one stretch to the next. None where nothing is left to follow.
    """
    windows = _windows(envelope, law, start_s, start_hz, between, every)
    if windows is None:
        return None
    shape = np.full(SHAPE_BINS, FIRST_SHAPE)
    for _ in range(SHAPE_ROUNDS):
        likely = _likelihood(windows, shape)
        offset = _path(likely, loose)
        shape = _shape(windows, offset)
    likely = _likelihood(windows, shape)
    offset, gain, sigma = _sharpened(windows, shape, _path(likely, loose))
    first, last = _best_run(gain)
    kept = np.zeros(len(gain), dtype=bool)
    kept[first : last + 1] = True
    kept &= (gain > TOLD_GAIN) & np.isfinite(sigma)
    if kept.sum() < LEAST_KEPT:
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
    if len(inside) < LEAST_SECONDS * hz:
        return None
    low, t, rate = low + int(inside[0]), t[inside[0] : inside[-1] + 1], rate[inside[0] : inside[-1] + 1]
    ticks = turns_after(law, start_hz, t - start_s)
    edges = _edges(ticks, rate, every)
    if len(edges) < LEAST_WINDOWS + 1:
        return None
    sums = _sums(envelope.at[low : low + len(t)], ticks, edges)
    size = np.diff(edges).astype(np.float64)
    middle = (edges[:-1] + edges[1:] - 1) / 2
    i = middle.astype(int)
    rates = rate[i]
    usable = rates[:, None] * np.arange(1, TICK_MULTIPLES + 1) < HIGHEST_HZ
    place = np.interp(middle, np.arange(len(t)), ticks)
    return _Windows(edges + low, (middle + low) / hz, place, rates, np.where(usable, sums, 0), size, usable)


def _sums(envelope: FloatArray, ticks: FloatArray, edges: NDArray[np.int64]) -> ComplexArray:
    """Σ envelope · exp(−2πi h · ticks) between the edges, for each multiple h; single precision is enough.

    Each multiple's factor is the one before times exp(−2πi · ticks), so that sine and cosine are taken once.
    """
    angle = (2 * np.pi * (ticks - np.floor(ticks))).astype(np.float32)
    turn = np.cos(angle) - 1j * np.sin(angle)
    met = envelope.astype(np.complex64)
    sums = np.empty((len(edges) - 1, TICK_MULTIPLES), dtype=np.complex128)
    for h in range(TICK_MULTIPLES):
        met *= turn
        sums[:, h] = np.add.reduceat(met[: edges[-1]], edges[:-1])
    return sums


def _edges(ticks: FloatArray, rate: FloatArray, every: int) -> NDArray[np.int64]:
    """Sample numbers that divide the recording into stretches of whole turns, or of ticks where no turn is known."""
    at, marks = float(np.ceil(ticks[0])), []
    while at < ticks[-1]:
        marks.append(at)
        now = float(np.interp(at, ticks, rate))
        whole = every if every > KNOWN_ROUND else (ROUND_TICKS if now > ROUND_ABOVE_HZ else 1)
        at += whole * max(1.0, np.round(max(WINDOW_TICKS, PHASE_WINDOW_S * now) / whole))
    return np.unique(np.searchsorted(ticks, marks)).astype(np.int64)


def _expected(windows: _Windows, shape: ComplexArray) -> ComplexArray:
    """What each sum would be per sample if the ticks lay exactly on the law, shape (stretches, multiples)."""
    frequency = windows.rate[:, None] * np.arange(1, TICK_MULTIPLES + 1)
    at = np.clip(frequency / HIGHEST_HZ * SHAPE_BINS - 0.5, 0, SHAPE_BINS - 1.001)
    left = at.astype(int)
    smooth = shape[left] * (1 - at + left) + shape[left + 1] * (at - left)
    return np.asarray(np.where(windows.usable, smooth * windows.rate[:, None], 0))


def _likelihood(windows: _Windows, shape: ComplexArray) -> FloatArray:
    """Log likelihood ratio of ticks at each phase against none, shape (stretches, ``PHASE_LEVELS``)."""
    expected = _expected(windows, shape)
    offsets = np.arange(PHASE_LEVELS) / PHASE_LEVELS
    waves = np.exp(-2j * np.pi * np.outer(np.arange(1, TICK_MULTIPLES + 1), offsets))
    met = 2 * np.real((np.conj(expected) * windows.sums) @ waves)
    return np.asarray(met - (windows.size * np.sum(np.abs(expected) ** 2, axis=1))[:, None])


def _path(likely: FloatArray, loose: float) -> FloatArray:
    """The likeliest sequence of phases off the law, in ticks, unwrapped, that moves little between stretches.

    Viterbi's algorithm (A. Viterbi, IEEE Transactions on Information Theory 13, 1967, p. 260; from memory).
    """
    count = len(likely)
    reach = min(int(np.ceil(MOVE_DEVIATIONS * loose * PHASE_LEVELS)), MOST_MOVE)
    moves = np.arange(-reach, reach + 1)
    cost = (moves / PHASE_LEVELS / loose) ** 2 / 2
    best, came = likely[0], np.zeros((count, PHASE_LEVELS), dtype=np.int64)
    before = (np.arange(PHASE_LEVELS)[:, None] - moves) % PHASE_LEVELS
    for j in range(1, count):
        options = best[before] - cost
        came[j] = np.argmax(options, axis=1)
        best = options[np.arange(PHASE_LEVELS), came[j]] + likely[j]
    at = int(np.argmax(best))
    steps, place = np.zeros(count), at
    for j in range(count - 1, 0, -1):
        move = int(moves[came[j, place]])
        steps[j] = move
        place = (place - move) % PHASE_LEVELS
    first = place if place < PHASE_LEVELS / 2 else place - PHASE_LEVELS
    return np.asarray((first + np.cumsum(steps)) / PHASE_LEVELS)


def _shape(windows: _Windows, offset: FloatArray) -> ComplexArray:
    """The spectrum of one tick, by least squares over all stretches brought into phase."""
    h = np.arange(1, TICK_MULTIPLES + 1)
    turned = windows.sums * np.exp(-2j * np.pi * offset[:, None] * h)
    weight = windows.rate[:, None] + 0 * h
    where = np.clip(windows.rate[:, None] * h / HIGHEST_HZ * SHAPE_BINS, 0, SHAPE_BINS - 1).astype(int)
    some = windows.usable
    real, imaginary = (
        np.bincount(where[some], (part * weight)[some], SHAPE_BINS) for part in (turned.real, turned.imag)
    )
    power = np.bincount(where[some], (weight**2 * windows.size[:, None])[some], SHAPE_BINS)
    return np.asarray((real + 1j * imaginary) / np.maximum(power, 1e-9))


def _sharpened(windows: _Windows, shape: ComplexArray, offset: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Phases between the levels by Newton's steps, the log likelihood ratio there, and the deviation by its
    curvature."""
    expected, h = np.conj(_expected(windows, shape)), np.arange(1, TICK_MULTIPLES + 1)
    level = windows.size * np.sum(np.abs(expected) ** 2, axis=1)
    fine = offset.copy()
    for _ in range(SHARPENING_STEPS):
        met = expected * windows.sums * np.exp(-2j * np.pi * fine[:, None] * h)
        slope = 2 * np.sum(2 * np.pi * h * met.imag, axis=1)
        curvature = -2 * np.sum((2 * np.pi * h) ** 2 * met.real, axis=1)
        step = np.where(curvature < 0, -slope / np.where(curvature < 0, curvature, -1.0), 0.0)
        fine = np.clip(
            fine + np.clip(step, -0.5 / PHASE_LEVELS, 0.5 / PHASE_LEVELS),
            offset - 1 / PHASE_LEVELS,
            offset + 1 / PHASE_LEVELS,
        )
    met = expected * windows.sums * np.exp(-2j * np.pi * fine[:, None] * h)
    curvature = 2 * np.sum((2 * np.pi * h) ** 2 * met.real, axis=1)
    sigma = np.where(curvature > 0, 1 / np.sqrt(np.where(curvature > 0, curvature, 1.0)), np.inf)
    return fine, 2 * np.sum(met.real, axis=1) - level, sigma


def _power(windows: _Windows, offset: FloatArray, kept: NDArray[np.bool_]) -> FloatArray:
    """``Followed.power``, for the multiples that are heard in enough of the recording."""
    turned = windows.sums * np.exp(-2j * np.pi * offset[:, None] * np.arange(1, TICK_MULTIPLES + 1))
    summed = np.abs(turned[kept].sum(axis=0)) ** 2
    noise = (windows.usable[kept] * windows.size[kept, None]).sum(axis=0)
    heard = noise > HEARD_PART * windows.size[kept].sum()
    return np.asarray(summed[heard] / noise[heard] - 1)


def _best_run(gain: FloatArray) -> tuple[int, int]:
    """First and last stretch of the run with the largest summed gain (Kadane's algorithm)."""
    best = run = 0.0
    first = last = begun = 0
    for j, each in enumerate(np.minimum(gain, MOST_GAIN) - GAIN_COST):
        if run <= 0:
            run, begun = 0.0, j
        run += each
        if run > best:
            best, first, last = run, begun, j
    return first, last


def fit_followed(
    followed: Followed, marks: float, law: Law, start_hz: float, *, bent: bool = False, coarse: bool = False
) -> LawFit:
    """The law in turns fitted to what was followed, with ``marks`` ticks a turn.

    ``law``, in ticks, and its rate ``start_hz`` at the first of them are a first guess. That ticks run into one another
    at full rate is allowed for as a common error.
    """
    start = float(start_hz) / marks, law.turning(1 / marks)
    rate = speed_after(law, start_hz, followed.time_s - followed.time_s[0])
    sigma = np.maximum(followed.sigma, LEAST_SIGMA_TICKS) / marks * rocking_inflation(rate / marks)
    late = DELAY_S * rate * (rate / rate[0]) / marks
    return fit_phase(
        followed.time_s,
        followed.ticks / marks,
        sigma,
        start=start,
        bent=bent,
        common_errors=late[:, None],
        coarse=coarse,
    )
