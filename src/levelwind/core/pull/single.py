"""One pull measured: its stages are known, everything else is worked out here."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from levelwind.core.fitting import NINETY, FloatArray
from levelwind.core.notes import Note, newtons
from levelwind.core.pull.breakaway import find_breakaway
from levelwind.core.pull.model import Pull
from levelwind.core.pull.stages import Rest, Stages
from levelwind.core.pull.sticking import WARP_EXPLAINS, Sticking, find_sticking
from levelwind.core.pull.turns import FEWEST_TURNS, Turning, fit_turning, spool_travel
from levelwind.core.quantities import Quantity

UNSTEADY_HAND_PERCENT = 1.0
"""%; what a hand that changes speed does to a drag that minds it, which may be taken for fade. Our choice of width,
from simulation."""
TOO_QUICK = 0.15
"""Part of the peak that tension gains between two readings, beyond which the peak is a guess. From simulation."""
TOLD_HIGHER = 1.01
"""Breakaway over the highest reading from which what was added is told. Our choice: less is within a scale's error."""
CORRELATED_S, CORRELATED_PART = 0.35, 4
"""s over which the slip's unevenness is correlated, and the part of the slip that this may be at the most. Our choice,
from simulation."""
SLOPE_RAMP_FROM = 0.3
"""Part of the peak above which the take-up's slope is taken. Our choice: below, slack and knots are drawn tight."""
ZERO_UNKNOWN = 0.01
"""Part of the level; standard error of the zero where the log shows no slack line. Our choice."""
FEW_SWINGS = 10
"""With too few cycles, the range of tension over this is the standard error of its level. Our choice."""


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """A checked log with its tare taken off."""

    time_s: FloatArray
    net_N: FloatArray
    travel_m: FloatArray | None
    rest: Rest


def measure(log: Log, stages: Stages) -> Pull:
    """All that one pull shows of the drag."""
    steady = slice(stages.settled, stages.let_go)
    along = log.time_s if log.travel_m is None else log.travel_m
    slope = take_up_slope(along, log.net_N, stages)
    turning = _turning(along[steady], log.net_N[steady], slope, _lag(log.time_s[steady]))
    sticking = find_sticking(
        along[steady], log.net_N[steady], slope=slope, noise_N=log.rest.noise_N, warp=turning.explained
    )
    running = _sticking_level(log, stages, sticking) if sticking.sticks else _level(turning, log.rest)
    breakaway = _breakaway(log, stages, running)
    seconds = float(log.time_s[steady][-1] - log.time_s[steady][0])
    whole = not sticking.sticks and turning.turns >= FEWEST_TURNS
    return Pull(
        start_s=float(log.time_s[stages.start]),
        end_s=float(log.time_s[stages.end - 1]),
        breakaway_N=breakaway,
        running_N=running,
        startup_ratio=ratio(breakaway, running),
        wobble_N=_wobble(turning) if whole else None,
        wobble_period_s=seconds / turning.turns if whole else None,
        stick_slip=sticking.sticks,
        stick_slip_hz=len(sticking.falls) / seconds if sticking.sticks and sticking.falls else None,
        fade_percent=None if sticking.sticks else _fade(turning),
        cautions=_cautions(log, stages, breakaway, sticking, turning),
        breakaway_s=float(log.time_s[stages.onset]),
        steady_s=(float(log.time_s[stages.settled]), float(log.time_s[stages.let_go - 1])),
    )


def _turning(along: FloatArray, net_N: FloatArray, slope: float, lag: int) -> Turning:
    """What comes round once a turn of the spool.

    A take-up read too slowly gives a wrong slope, and with it a wrong travel of the spool: where only the hand's own
    travel shows a warp, that counts.
    """
    first = fit_turning(along, spool_travel(along, net_N, slope), net_N, lag)
    if first.explained > WARP_EXPLAINS:
        return first
    second = fit_turning(along, along - along[0], net_N, lag)
    return second if second.explained > WARP_EXPLAINS else first


def take_up_slope(along: FloatArray, net_N: FloatArray, stages: Stages) -> float:
    """How fast the line tightens over the upper part of the ramp, in N per unit of ``along``; 0 if too quick to see."""
    ramp = net_N[stages.start : stages.onset + 1]
    low = int(np.argmax(ramp > SLOPE_RAMP_FROM * ramp[-1]))
    first = stages.start + max(low - 1, 0)
    x, f = along[first : stages.onset + 1], net_N[first : stages.onset + 1]
    if len(x) < 2 or x[-1] <= x[0]:
        return 0.0
    centred = x - x.mean()
    return max(float(centred @ f / (centred @ centred)), 0.0)


def ratio(above: Quantity, below: Quantity) -> Quantity:
    """One over the other, their errors taken as independent and small (first order).

    >>> ratio(Quantity(30.0, 28.0, 32.0), Quantity(20.0, 20.0, 20.0))
    Quantity(value=1.5, low=1.4, high=1.6)
    """
    value = above.value / below.value
    down = np.hypot((above.value - above.low) / above.value, (below.high - below.value) / below.value)
    up = np.hypot((above.high - above.value) / above.value, (below.value - below.low) / below.value)
    return Quantity(value, value * (1 - float(down)), value * (1 + float(up)))


def _lag(time_s: FloatArray) -> int:
    """Samples over which the slip's unevenness is correlated."""
    return max(1, min(int(CORRELATED_S / float(np.median(np.diff(time_s)))), len(time_s) // CORRELATED_PART))


def _level(turning: Turning, rest: Rest) -> Quantity:
    level = float(turning.fit.values[0])
    gradient = np.zeros(len(turning.fit.values))
    gradient[0] = 1
    return _about(level, np.hypot(turning.fit.error(gradient), _tare_error(level, rest)))


def _tare_error(level: float, rest: Rest) -> float:
    return rest.noise_N / np.sqrt(max(rest.samples, 1)) if rest.seen else ZERO_UNKNOWN * level


def _about(value: float, error: float) -> Quantity:
    wide = NINETY * float(error)
    return Quantity(value, value - wide, value + wide)


def _sticking_level(log: Log, stages: Stages, sticking: Sticking) -> Quantity:
    """Mean tension over whole cycles, its error from how they differ; without a whole one, the middle of the swings.

    The first swing is the breakaway itself and no part of a cycle: after a long rest it is larger than those that
    follow.
    """
    time, net = log.time_s[stages.onset :], log.net_N[stages.onset : stages.let_go]
    falls = [(a + stages.settled - stages.onset, b + stages.settled - stages.onset) for a, b in sticking.falls]
    peaks = [peak for peak, _ in falls]
    if len(peaks) < 2:
        first = int(np.argmin(net[: peaks[0]] if peaks else net))
        swings = [(net[a] + net[b]) / 2 for a, b in ((0, first), *falls)]
        return _about(float(np.mean(swings)), float(np.ptp(net)) / FEW_SWINGS)
    cycles = [float(np.mean(net[a:b])) for a, b in pairwise(peaks)]
    spread = float(np.std(cycles, ddof=1) if len(cycles) > 1 else np.ptp(net) / FEW_SWINGS) / np.sqrt(len(cycles))
    level = float(np.average(cycles, weights=np.diff(time[peaks])))
    return _about(level, np.hypot(spread, _tare_error(level, log.rest)))


def _breakaway(log: Log, stages: Stages, running: Quantity) -> Quantity:
    cut = slice(stages.start, stages.end)
    slope = take_up_slope(log.time_s, log.net_N, stages)
    return find_breakaway(
        log.time_s[cut],
        log.net_N[cut],
        stages.onset - stages.start,
        slope_N_s=slope,
        running_N=running.value,
        noise_N=log.rest.noise_N,
    )


def _wobble(turning: Turning) -> Quantity:
    value, error = turning.half_span()
    return Quantity(value, max(value - NINETY * error, 0.0), value + NINETY * error)


def _fade(turning: Turning) -> Quantity:
    level, slope = turning.fit.values[0], turning.fit.values[1]
    head = level - slope / 2
    gradient = np.zeros(len(turning.fit.values))
    gradient[:2] = 100 * slope / head**2, -100 * level / head**2
    return _about(float(-100 * slope / head), np.hypot(turning.fit.error(gradient), UNSTEADY_HAND_PERCENT))


def _cautions(log: Log, stages: Stages, breakaway: Quantity, sticking: Sticking, turning: Turning) -> tuple[Note, ...]:
    notes = []
    highest = float(log.net_N[stages.onset])
    if breakaway.value > TOLD_HIGHER * highest:
        notes.append(
            Note.of(
                "peak_between_readings",
                "the highest reading at start-up was {highest}; the peak between the readings is put {higher} higher",
                highest=newtons(highest, decimals=1),
                higher=newtons(breakaway.value - highest, decimals=1),
            )
        )
    gain = take_up_slope(log.time_s, log.net_N, stages) * float(np.median(np.diff(log.time_s)))
    if gain > TOO_QUICK * highest:
        notes.append(
            Note.of(
                "too_quick",
                "the line tightened by {gain} between two readings, too quickly to catch the peak: "
                "draw more slowly, or on a longer line",
                gain=newtons(gain, decimals=1),
            )
        )
    if 0 < turning.turns < FEWEST_TURNS:
        few = "fewer than two turns were drawn, too few to tell a warped washer from a change of the drag"
        notes.append(Note.of("few_turns", few))
    if sticking.doubtful:
        unsure = "tension comes and goes, and whether it sticks or only wobbles is not told for sure"
        notes.append(Note.of("sticking_unsure", unsure))
    return tuple(notes)
