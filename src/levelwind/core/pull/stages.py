"""Where a log is slack, where each pull takes up, slips and lets go."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import FloatArray, robust_deviation

SHORTEST_PULL_S = 0.8
"""s; a tug with less steady slip has none to speak of. Common practice, no source."""
SHORTEST_READINGS = 6
"""Readings of steady slip at the least. Our choice: level, slope and a wave, and two to spare."""
_RANGE = (1, 98)
"""Percentiles of the log that stand for slack and tight line: single spikes do not move them. Our choice."""
_TOP = 98
"""Percentile of the tension that stands for the tightest. Our choice, likewise."""
_FLAT = 0.02
"""Part of the range by which neighbouring readings, or the opening, may differ and still be flat. Our choice."""
_SLACK = 0.12
"""Part of the range, from the lowest, within which a reading may be of slack line. Our choice."""
_OPENING_S, _OPENING_READINGS = 0.4, 4
"""s and readings of the log's opening, which most people leave slack. Our choice."""
_OWN_ZERO = 0.3
"""Part of the highest reading that the scale's zero may be off, for a slack that the log does not begin with. Our
choice: more is no zero but a held pull."""
_STEP_NOISE, _LEAST_NOISE = 0.3, 1e-4
"""Noise of a reading at the least: part of the scale's step (that of rounding is 0.29 of it, 1/√12), and part of the
highest reading. Our choice."""
_SLACK_OUTLIER = 4.0
"""Robust deviations beyond which a slack reading is left out of the zero. Our choice."""
_DIGITS = 9
"""Decimals to which readings are one and the same: floats from text differ beyond. Our choice."""
_STEPS_SEEN, _STEP_PERCENTILE = 0.9, 10
"""Part of the readings that may be unlike one another for the scale to show steps, and the percentile of the gaps that
stands for one step: rounding can split one. Our choice."""
_LOOSE_PART, _LOOSE_NOISE = 0.03, 3.0
"""Tension below this part of the tightest, or so many deviations of noise, is that of slack line. Our choice."""
_TAUT_PART, _TAUT_NOISE = 0.08, 6.0
"""Tension above which a stretch may be a pull, likewise. Our choice: twice the loose one and more, so that noise does
not cut a pull up."""
_GAP_S = 0.25
"""s; shorter gaps do not divide a pull. Our choice: a hand takes longer to begin again."""
_PULL_LOW, _PULL_HIGH = 0.3, 0.6
"""Parts of a pull's level: tension that falls below the first and rises over the second again is another pull. Our
choice."""
_UNDER_WAY = 0.4
"""Part of its tightest tension that a pull may begin at and still have its start-up in the log. Our choice."""
_TIGHT = 0.5
"""Part of the tightest tension above which readings count towards a pull's level. Our choice."""
_TIGHTEST = 95
"""Percentile of a pull's tension that stands for its tightest. Our choice: a start-up peak is shorter than the rest."""
_SETTLE_S, _SETTLE_READINGS = 0.2, 2.5
"""s and readings after the peak in which tension settles. Our choice: longer than the slowest fall of ``FALL_S``."""
_CALM_S, _CALM_PART = 1.0, 0.25
"""s after the peak in which what the start-up held more dies away (half a second to one: common practice, no source),
and the part of the slip that this may be at the most. Our choice: what is left must still show a level."""
_LIFT, _TAUT = 0.15, 0.6
"""Parts of the level between which the take-up's slope is taken. Our choice: its upper part is straight."""
_GIVE_NOISE, _GIVE_PART = 4.0, 0.03
"""The drag has given once tension falls by so many deviations of noise and this part of the level. Our choice."""
_WAIT_S = 0.15
"""s without a higher reading after which the rise is over. Our choice: longer than a fast scale's readings."""
_SLOW_RISE = 0.25
"""Part of the take-up's slope below which tension is no longer taking up: a slow drift of the drag. Our choice."""
_LATE, _LET_GO, _LET_GO_S = 0.6, 0.85, 0.1
"""From this part of the pull on its late level is taken; the last reading above the second part of it, less so many s,
is where the hand lets go. Our choice: a hand eases off within a tenth of a second."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What the scale reads with the line slack."""

    level_N: float
    noise_N: float
    """Standard deviation of one reading, never under what the scale's steps allow."""
    seen: bool
    """Whether the log shows slack line; else the scale's own zero is believed."""
    samples: int
    """Readings the level was taken from."""


@dataclass(frozen=True, slots=True)
class Stages:
    """Sample numbers of one pull: takes up from start, is tightest at onset, slips steadily in [settled, let_go)."""

    start: int
    onset: int
    settled: int
    calm: int
    """From here on the start-up has died away."""
    let_go: int
    last: int
    """The last reading before the hand lets go."""
    end: int


def find_rest(time_s: FloatArray, force_N: FloatArray) -> Rest:
    """The zero of the scale, from the flat lowest stretches of the log.

    A lowest stretch far from the scale's zero counts only if the log begins with it: else it may be a held pull. Where
    the line was never slack the scale's own zero is believed and ``seen`` is false.
    """
    step = scale_step(force_N)
    low, high = np.percentile(force_N, _RANGE)
    flat = np.abs(np.diff(force_N, prepend=force_N[0])) < max(_FLAT * (high - low), 2 * step)
    opening = force_N[: max(_OPENING_READINGS, int(np.searchsorted(time_s, time_s[0] + _OPENING_S)))]
    opens_flat = float(np.std(opening)) < _FLAT * (high - low)
    zero = float(np.median(opening)) if opens_flat and opening.max() < low + _OWN_ZERO * (high - low) else low
    slack = force_N[(np.abs(force_N - zero) < _SLACK * (high - low)) & flat]
    # second differences of white noise have six times its variance, and a steady climb has none
    quick_noise = robust_deviation(np.diff(force_N, 2)) / np.sqrt(6)
    opens_slack = zero > low or (opens_flat and opening.max() < low + _SLACK * (high - low))
    if len(slack) < _OPENING_READINGS or not (opens_slack or abs(np.median(slack)) <= _OWN_ZERO * high):
        return Rest(0.0, max(quick_noise, _STEP_NOISE * step, _LEAST_NOISE * high), False, 0)
    level = zero if opens_slack else float(np.median(slack))
    core = slack[np.abs(slack - level) <= max(_SLACK_OUTLIER * robust_deviation(slack), step)]
    return Rest(
        float(np.mean(core)), max(float(np.std(core)), _STEP_NOISE * step, _LEAST_NOISE * high), True, len(core)
    )


def scale_step(force_N: FloatArray) -> float:
    """The smallest change the scale shows, 0 where it shows every value once.

    >>> scale_step(np.array([0.0, 0.05, 0.05, 0.15, 0.1]))
    0.05
    """
    levels = np.unique(np.round(force_N, _DIGITS))
    if len(levels) < 2 or len(levels) > _STEPS_SEEN * len(force_N):
        return 0.0
    return float(np.percentile(np.diff(levels), _STEP_PERCENTILE))


def find_pulls(time_s: FloatArray, net_N: FloatArray, noise_N: float) -> list[tuple[int, int]]:
    """Sample ranges [start, end) of each stretch of tight line.

    By two thresholds, one to begin and a lower one to end (hysteresis), so that noise does not cut a pull up.
    """
    top = float(np.percentile(net_N, _TOP))
    rough = _runs(net_N, slack_below(net_N, noise_N), max(_TAUT_PART * top, _TAUT_NOISE * noise_N))
    spans = []
    for start, end in _joined(rough, time_s, _GAP_S):
        level = float(np.median(net_N[start:end][net_N[start:end] > _TIGHT * net_N[start:end].max()]))
        tight = _joined(_runs(net_N[start:end], _PULL_LOW * level, _PULL_HIGH * level), time_s[start:end], _GAP_S)
        edges = [start + a for a, _ in tight[1:]]
        firsts, lasts = [start, *edges], [*edges, end]
        spans += list(zip(firsts, lasts, strict=True))
    return spans


def slack_below(net_N: FloatArray, noise_N: float) -> float:
    """Tension in N below which the line is slack."""
    return max(_LOOSE_PART * float(np.percentile(net_N, _TOP)), _LOOSE_NOISE * noise_N)


def foot(time_s: FloatArray, net_N: FloatArray, noise_N: float, start_s: float, reach_s: float) -> int:
    """The first tight reading of a pull marked from ``start_s``: down its take-up, by ``reach_s`` s at the most."""
    at, earliest = (int(np.searchsorted(time_s, when)) for when in (start_s, start_s - reach_s))
    slack = slack_below(net_N, noise_N)
    while at > earliest and net_N[at - 1] < net_N[at] and net_N[at] > slack:
        at -= 1
    return at + 1


def _runs(net_N: FloatArray, low: float, high: float) -> list[tuple[int, int]]:
    """Ranges that rise above ``high`` and stay above ``low``."""
    above = net_N > low
    edges = np.flatnonzero(np.diff(np.concatenate([[False], above, [False]]).astype(int)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2) if net_N[a:b].max() > high]


def _joined(runs: list[tuple[int, int]], time_s: FloatArray, gap_s: float) -> list[tuple[int, int]]:
    """Runs with the gaps shorter than ``gap_s`` closed."""
    joined: list[tuple[int, int]] = []
    for start, end in runs:
        if joined and time_s[start] - time_s[joined[-1][1] - 1] < gap_s:
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((start, end))
    return joined


def divide(time_s: FloatArray, net_N: FloatArray, span: tuple[int, int], noise_N: float) -> Stages:
    """The stages of one pull. Raises NotDeterminedError where there is no steady slip in it."""
    start, end = max(span[0] - 1, 0), span[1]
    here = net_N[start:end]
    if here[0] > _UNDER_WAY * np.percentile(here, _TIGHTEST):
        raise NotDeterminedError("it was already under way where it begins here, so its start-up is not in it")
    level = float(np.median(here[here > _TIGHT * np.percentile(here, _TIGHTEST)]))
    onset = start + _tightest(time_s[start:end], here, level, noise_N)
    last = _last(net_N, onset, end, level)
    let_go = max(int(np.searchsorted(time_s, time_s[last] - _LET_GO_S)), onset)
    settle_s = max(_SETTLE_S, _SETTLE_READINGS * float(np.median(np.diff(time_s[start:end]))))
    settled = int(np.searchsorted(time_s, time_s[onset] + settle_s))
    if let_go - settled < SHORTEST_READINGS or time_s[let_go - 1] - time_s[settled] < SHORTEST_PULL_S:
        raise NotDeterminedError(
            "the line did not slip steadily for long enough: pull evenly for three seconds or more"
        )
    calm_s = min(_CALM_S, _CALM_PART * float(time_s[let_go - 1] - time_s[onset]))
    calm = max(settled, min(int(np.searchsorted(time_s, time_s[onset] + calm_s)), let_go - SHORTEST_READINGS))
    return Stages(start, onset, settled, calm, let_go, last, end)


def _tightest(time_s: FloatArray, force: FloatArray, level: float, noise_N: float) -> int:
    """Where the rise ends: at the first peak after which tension falls, else where it rises much slower than before."""
    taut = int(np.argmax(force >= _TAUT * level))
    give = max(_GIVE_NOISE * noise_N, _GIVE_PART * level)
    lift = int(np.argmax(force >= _LIFT * level))
    before = max(lift - 1, 0)
    slope = max(force[taut] - force[before], 0.1 * level) / max(time_s[taut] - time_s[before], 1e-3)
    best = taut
    for i in range(taut + 1, len(force)):
        waited = time_s[i] - time_s[best]
        if force[i] < force[best] - give or (waited > _WAIT_S and i - best > 1):
            break
        if force[i] > force[best] + _SLOW_RISE * slope * waited:
            best = i
    return best


def _last(net_N: FloatArray, onset: int, end: int, level: float) -> int:
    """The last reading of the slip before the hand eases off."""
    late = net_N[onset:end]
    late = late[int(_LATE * len(late)) :]
    late = late[late > _TIGHT * level]
    if not len(late):
        return onset
    return onset + int(np.flatnonzero(net_N[onset:end] >= _LET_GO * np.median(late))[-1])
