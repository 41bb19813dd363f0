"""One pull measured: its stages are known, everything else is worked out here."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from levelwind.core.fitting import NINETY, FloatArray
from levelwind.core.notes import Note, newtons
from levelwind.core.pull.beside import find_beside
from levelwind.core.pull.breakaway import find_breakaway
from levelwind.core.pull.hand import of_the_hand, why_no_wave
from levelwind.core.pull.level import Level, find_level
from levelwind.core.pull.model import Pull
from levelwind.core.pull.stages import Rest, Stages
from levelwind.core.pull.sticking import WARP_EXPLAINS, Sticking, find_sticking
from levelwind.core.pull.turns import (
    FEWEST_TURNS,
    Turning,
    fit_line_turning,
    fit_turning,
    spool_travel,
)
from levelwind.core.quantities import Quantity

HIDDEN = (
    "while it sticks, a wave that comes round about as often, or oftener, does not show: whether a washer is warped "
    "besides is not told"
)
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
LEAST_TURNS = 1.0
"""Turns of a wave from which it is taken off the running level, though it is not told. Our choice: less is a fade."""
BENDS = 0.05
"""Part of the level that a fade bends by at the most; more is a part of a turn. Our choice."""
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
    time, net = log.time_s[steady], log.net_N[steady]
    lag, seconds = _lag(time), float(np.ptp(time))
    by_spool, by_hand = (
        fit_turning(along[steady], way, net, seconds=seconds, lag=lag)
        for way in (spool_travel(along[steady], net, slope), along[steady] - along[steady][0])
    )
    line = fit_line_turning(time, net, lag)
    sticking = find_sticking(
        along[steady], net, slope=slope, noise_N=log.rest.noise_N, warp=by_spool.explained, line=line
    )
    turning = max(by_spool, by_hand, key=lambda way: way.explained)
    if line is not None and turning.explained < WARP_EXPLAINS:
        turning = line
    hands = turning.turns > 0 and of_the_hand(turning, line is not None, seconds)
    if sticking.sticks:
        running, fade = _sticking_level(log, stages, sticking), None
        wobble, period = _wobble(*find_beside(time, net, sticking.falls))
    else:
        level = _find_level(log, stages, turning, slope, lag)
        running, fade = _level(level, log.rest), _fade(level)
        wobble, period = _wobble(None if hands else turning, seconds)
        if wobble is not None and sticking.sticks is None:
            wobble = replace(wobble, low=0.0)  # it may all be sticking
    breakaway = _breakaway(log, stages, running)
    return Pull(
        start_s=float(log.time_s[stages.start]),
        end_s=float(log.time_s[stages.end - 1]),
        breakaway_N=breakaway,
        running_N=running,
        startup_ratio=ratio(breakaway, running),
        wobble_N=wobble,
        wobble_period_s=period,
        stick_slip=sticking.sticks,
        stick_slip_hz=len(sticking.falls) / seconds if sticking.sticks and sticking.falls else None,
        fade_percent=fade,
        cautions=_cautions(log, stages, (breakaway, running), sticking, turning, wobble is not None),
        breakaway_s=float(log.time_s[stages.onset]),
        steady_s=(
            float(log.time_s[stages.settled if sticking.sticks else stages.calm]),
            float(log.time_s[stages.let_go - 1]),
        ),
    )


def _find_level(log: Log, stages: Stages, turning: Turning, slope: float, lag: int) -> Level:
    """Level and fade, less the wave.

    The start-up's decay can pass for a part of a turn: that counts as one only where it is seen after the decay too.
    """
    along = log.time_s if log.travel_m is None else log.travel_m
    part = (along - along[stages.onset]) / (along[stages.last] - along[stages.onset]) - 0.5
    steady, late = slice(stages.settled, stages.let_go), slice(stages.calm, stages.let_go)
    calm = stages.calm - stages.settled
    if turning.turns >= FEWEST_TURNS:
        return find_level(part[steady], turning.waveless_N, calm, lag)
    net, seconds = log.net_N[late], float(np.ptp(log.time_s[late]))
    again = fit_turning(along[late], spool_travel(along[late], net, slope), net, seconds=seconds, lag=lag)
    if turning.turns < LEAST_TURNS or again.turns == 0:
        small = again.turns == 0 or again.half_span()[0] < BENDS * again.fit.values[0]
        return find_level(part[steady], log.net_N[steady], calm, lag, may_bend=small)
    error = turning.fit.error(np.eye(len(turning.fit.values))[0])
    return find_level(part[steady], turning.waveless_N, calm, lag, may_bend=False, wave_error_N=error)


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


def _level(level: Level, rest: Rest) -> Quantity:
    return _about(level.half_way_N, np.hypot(level.error_N, _tare_error(level.half_way_N, rest)))


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


def _wobble(turning: Turning | None, seconds: float) -> tuple[Quantity | None, float | None]:
    """Half of peak to trough, and the seconds of one turn."""
    if turning is None or turning.turns < FEWEST_TURNS:
        return None, None
    value, error = turning.half_span()
    wide = NINETY * error
    return Quantity(value, max(value - wide, 0.0), value + wide + turning.higher * value), seconds / turning.turns


def _fade(level: Level) -> Quantity:
    middle, slope = level.straight.values
    head = middle - slope / 2
    by_slope = 100 * middle / head**2
    error = level.straight.error(np.array([100 * slope / head**2, -by_slope]))
    errors = np.array([error, by_slope * level.slope_moves_N, UNSTEADY_HAND_PERCENT])
    return _about(float(-100 * slope / head), float(np.linalg.norm(errors)))


def _cautions(
    log: Log,
    stages: Stages,
    forces: tuple[Quantity, Quantity],
    sticking: Sticking,
    turning: Turning,
    wave_told: bool,
) -> tuple[Note, ...]:
    """What to bear in mind; ``forces`` are breakaway and running drag."""
    notes = []
    breakaway, running = forces
    if breakaway.high < running.value:
        notes.append(
            Note.of(
                "starts_lower",
                "it gave at less than it runs at: the drag grew once it slipped, or the line had slipped before; "
                "leave it slack for a minute and pull again",
            )
        )
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
    hz = 1 / float(np.median(np.diff(log.time_s)))
    seconds = float(log.time_s[stages.let_go - 1] - log.time_s[stages.settled])
    notes += why_no_wave(turning, seconds, hz, settled=wave_told or bool(sticking.sticks))
    if sticking.sticks and not wave_told:
        notes.append(Note.of("wave_hidden", HIDDEN))
    if sticking.doubtful:
        unsure = "tension comes and goes, and whether it sticks or only wobbles is not told for sure"
        notes.append(Note.of("sticking_unsure", unsure))
    return tuple(notes)
