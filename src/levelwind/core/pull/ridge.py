"""A narrow line followed over the clock: a wave whose pace a hand makes wander more than one law of travel follows.

The rate that carries most of the unevenness is followed from moment to moment (a ridge), the log is turned back by its
phase, and what is left is smoothed to about a fifth of that rate (B. Boashash, Proceedings of the IEEE 80, 1992,
p. 540, from memory). The size comes from its mean square, less what the same smoothing finds beside the line.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import ComplexArray, FloatArray

SLOWEST_HZ, FASTEST_HZ = 0.22, 7.2
"""Rates looked at: those of 0.3 to 6 turns a second (common practice, no source), and a fifth beyond."""
READINGS_A_TURN = 2.4
"""Readings a turn at the least. Our choice: two make a wave (H. Nyquist, 1928), more tell it from its mirror."""
FEWEST_LINE_TURNS = 2.5
"""Turns from which a line is looked for. Our choice: three turns, and what a count may be short of them."""
FEWEST_READINGS = 8
"""Our choice: fewer hold no wave and a floor beside it."""
STEP = 1.04
"""One rate looked at over the next slower one. Our choice: finer than the smoothing's own width by five."""
MOMENTS = 200
"""Moments at which the ridge is looked for at the most. Our choice: every half turn of the longest pull."""
AT_A_TIME = 1 << 20
"""Numbers of all rates' transforms that are held at one time, 16 MB: a long pull takes no more memory for them."""
STIFF = 0.02
"""What a jump of one rate from moment to moment costs, as a part of the unevenness. Set on simulated logs."""
PASS = 0.24
"""Width of the smoothing in parts of the rate, standard deviation of a bell: half the power passes at a fifth. Our
choice."""
WIDTH_TURNS = 1 / (2 * np.pi * PASS)
"""The same over turns."""
BINS = 12
"""Places a turn at which the smoothed line is known. Our choice: eight over its width."""
REACH = 3.5
"""Widths to either side that the smoothing takes in. Our choice: beyond, a bell has fallen to 0.002."""
ROUNDS = 4
"""Times the phase is corrected by what was found, while that makes the line stronger. Our choice."""
BESIDE = (0.5, 1.5)
"""Rates at which the floor is taken, over the line's. Our choice: two widths of the smoothing off."""
STANDS_OUT = 18.0, 90.0
"""Power of a line over the floor beside it that noise does not reach, and what is asked for beyond that over the number
of turns. Set on simulated logs."""
AVERAGED = 0.5
"""Part of the time between readings over which a scale is taken to average. Our choice: none to all is possible."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A narrow line in a log."""

    phase: FloatArray
    """Turns at each reading, rising."""
    half_N: float
    """Half of peak to trough of its first order."""
    error_N: float
    """Standard error of that by noise and by what the scale averages over."""
    over_floor: float
    """Its power over that beside it."""
    explained: float
    """Part of the unevenness that it makes up."""

    @property
    def turns(self) -> float:
        return float(self.phase[-1] - self.phase[0])

    def stands_out(self, asked: tuple[float, float] = STANDS_OUT) -> bool:
        return self.over_floor > asked[0] + asked[1] / self.turns


def follow_line(time_s: FloatArray, uneven_N: FloatArray) -> Line | None:
    """The strongest line in what is uneven; None where the stretch is too short, or read too seldom, for any."""
    seconds = float(time_s[-1] - time_s[0])
    hz = (len(time_s) - 1) / seconds
    slowest, fastest = max(SLOWEST_HZ, FEWEST_LINE_TURNS / seconds), min(FASTEST_HZ, hz / READINGS_A_TURN)
    if len(time_s) < FEWEST_READINGS or fastest <= slowest or not uneven_N.any():
        return None
    phase, places, line = _centred(_ridge(time_s, uneven_N, slowest, fastest), uneven_N)
    there = np.interp(phase, places, line.real) + 1j * np.interp(phase, places, line.imag)
    rest = uneven_N - 2 * np.real(there * np.exp(2j * np.pi * phase))
    turns = float(phase[-1] - phase[0])
    power = float(np.mean(np.abs(line) ** 2))
    beside = [order for order in BESIDE if order * turns / seconds < hz / 2] or list(BESIDE[:1])
    floors = [float(np.mean(np.abs(_turned_back(phase, rest, order)[1]) ** 2)) for order in beside]
    floor = max(float(np.exp(np.mean(np.log(np.maximum(floors, 1e-300))))), 1e-12 * power)
    half = 2 * np.sqrt(max(power - floor, 0.0))
    noise = 2 * np.sqrt(floor / 2 / max(turns / (2 * np.sqrt(np.pi) * WIDTH_TURNS), 1.0))
    lost = float(np.sinc(turns / seconds / hz * AVERAGED))
    error = np.hypot(noise / lost, half * (1 / lost - 1))
    return Line(phase, half / lost, float(error), power / floor, 1 - float(np.var(rest) / np.var(uneven_N)))


def _ridge(time_s: FloatArray, uneven_N: FloatArray, slowest: float, fastest: float) -> FloatArray:
    """Turns at each reading along the strongest rate, which may not jump (the best path: R. Bellman, 1957)."""
    count = len(time_s)
    even = np.linspace(time_s[0], time_s[-1], count)
    padded = count + int(REACH / slowest / (even[1] - even[0]))
    spectrum = np.fft.fft(np.interp(even, time_s, uneven_N), padded)
    rates = slowest * STEP ** np.arange(int(np.log(fastest / slowest) / np.log(STEP)) + 1)
    moments = np.unique(np.linspace(0, count - 1, min(count, MOMENTS)).astype(int))
    strength = np.empty((len(rates), len(moments)))
    at_a_time = max(1, AT_A_TIME // padded)
    for first in range(0, len(rates), at_a_time):
        some = slice(first, first + at_a_time)
        passed = np.exp(-0.5 * ((np.fft.fftfreq(padded, even[1] - even[0]) / rates[some, None] - 1) / PASS) ** 2)
        strength[some] = np.abs(np.fft.ifft(spectrum * passed, axis=1)[:, moments]) ** 2 / np.var(uneven_N)
    jump = STIFF * (np.arange(len(rates))[:, None] - np.arange(len(rates))) ** 2
    score, came = strength[:, 0], []
    for now in strength.T[1:]:
        ways = score[:, None] - jump
        came.append(np.argmax(ways, axis=0))
        score = ways.max(axis=0) + now
    path = [int(np.argmax(score))]
    for back in reversed(came):
        path.append(int(back[path[-1]]))
    rate = np.interp(time_s, even[moments], rates[path[::-1]])
    return np.concatenate([[0.0], np.cumsum((rate[1:] + rate[:-1]) / 2 * np.diff(time_s))])


def _centred(phase: FloatArray, uneven_N: FloatArray) -> tuple[FloatArray, FloatArray, ComplexArray]:
    """The phase corrected by the line's own angle for as long as the line grows, and the line along it."""
    places, line = _turned_back(phase, uneven_N, 1.0)
    for _ in range(ROUNDS):
        nearer = phase + np.interp(phase, places, np.unwrap(np.angle(line))) / (2 * np.pi)
        nearer = np.maximum.accumulate(nearer)
        again = _turned_back(nearer, uneven_N, 1.0)
        if np.mean(np.abs(again[1]) ** 2) <= np.mean(np.abs(line) ** 2):
            break
        phase, (places, line) = nearer, again
    return phase, places, line


def _turned_back(phase: FloatArray, uneven_N: FloatArray, order: float) -> tuple[FloatArray, ComplexArray]:
    """The log turned back by ``order`` of the phase and smoothed over turns, at places along the phase."""
    count = max(int((phase[-1] - phase[0]) * BINS) + 1, 2)
    bins = np.minimum(((phase - phase[0]) * BINS).astype(int), count - 1)
    back = uneven_N * np.exp(-2j * np.pi * order * phase)
    reach = int(REACH * WIDTH_TURNS * BINS)
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) / (WIDTH_TURNS * BINS)) ** 2)
    real, imaginary, weight = (
        np.convolve(np.bincount(bins, column, count), bell)[reach : reach + count]
        for column in (back.real, back.imag, np.ones(len(phase)))
    )
    return phase[0] + (np.arange(count) + 0.5) / BINS, (real + 1j * imaginary) / np.maximum(weight, 1e-9)
