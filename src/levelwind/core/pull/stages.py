"""Where a log is slack, where each pull takes up, slips and lets go."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import FloatArray, robust_deviation

SHORTEST_PULL_S = 0.8
"""A tug shorter than this has no steady slip to speak of. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Rest:
    """What the scale reads with no line on it."""

    level_N: float
    noise_N: float
    """Standard deviation of one reading, never under what the scale's steps allow."""
    seen: bool
    samples: int


@dataclass(frozen=True, slots=True)
class Stages:
    """Sample numbers of one pull: takes up from start, is tightest at onset, slips steadily in [settled, let_go)."""

    start: int
    onset: int
    settled: int
    let_go: int
    end: int


def find_rest(time_s: FloatArray, force_N: FloatArray) -> Rest:
    """The zero of the scale, from the flat lowest stretches of the log.

    A lowest stretch far from the scale's zero counts only if the log begins with it. Where the line was never slack
    the scale's own zero is believed and ``seen`` is false.
    """
    step = scale_step(force_N)
    low, high = np.percentile(force_N, [1, 98])
    flat = np.abs(np.diff(force_N, prepend=force_N[0])) < max(0.02 * (high - low), 2 * step)
    slack = force_N[(force_N < low + 0.12 * (high - low)) & flat]
    quick_noise = robust_deviation(np.diff(force_N, 2)) / np.sqrt(6)
    opening = force_N[: max(4, int(np.searchsorted(time_s, time_s[0] + 0.4)))]
    opens_slack = opening.max() < low + 0.12 * (high - low) and float(np.std(opening)) < 0.02 * (high - low)
    if len(slack) < 4 or not (opens_slack or abs(np.median(slack)) <= 0.3 * high):
        return Rest(0.0, max(quick_noise, 0.3 * step, 1e-4 * high), False, 0)
    level = float(np.median(slack))
    core = slack[np.abs(slack - level) <= max(4 * robust_deviation(slack), step)]
    return Rest(float(np.mean(core)), max(float(np.std(core)), 0.3 * step, 1e-4 * high), True, len(core))


def scale_step(force_N: FloatArray) -> float:
    """The smallest change the scale shows, 0 where it shows every value once.

    >>> scale_step(np.array([0.0, 0.05, 0.05, 0.15, 0.1]))
    0.05
    """
    levels = np.unique(np.round(force_N, 9))
    if len(levels) < 2 or len(levels) > 0.9 * len(force_N):
        return 0.0
    return float(np.percentile(np.diff(levels), 10))


def find_pulls(time_s: FloatArray, net_N: FloatArray, noise_N: float) -> list[tuple[int, int]]:
    """Sample ranges [start, end) of each stretch of tight line, by two thresholds so that noise does not cut it up."""
    top = float(np.percentile(net_N, 98))
    rough = _runs(net_N, slack_below(net_N, noise_N), max(0.08 * top, 6 * noise_N))
    spans = []
    for start, end in _joined(rough, time_s, 0.25):
        level = float(np.median(net_N[start:end][net_N[start:end] > 0.5 * net_N[start:end].max()]))
        tight = _joined(_runs(net_N[start:end], 0.3 * level, 0.6 * level), time_s[start:end], 0.25)
        edges = [start + a for a, _ in tight[1:]]
        firsts, lasts = [start, *edges], [*edges, end]
        spans += list(zip(firsts, lasts, strict=True))
    return spans


def slack_below(net_N: FloatArray, noise_N: float) -> float:
    """Forces under this are the slack line's."""
    return max(0.03 * float(np.percentile(net_N, 98)), 3 * noise_N)


def foot(time_s: FloatArray, net_N: FloatArray, noise_N: float, start_s: float, reach_s: float) -> int:
    """The first tight reading of a pull marked from ``start_s``: down the take-up, never over ``reach_s`` back."""
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
    if here[0] > 0.4 * np.percentile(here, 95):
        raise NotDeterminedError("it was already under way where it begins here, so its start-up is not in it")
    level = float(np.median(here[here > 0.5 * np.percentile(here, 95)]))
    onset = start + _tightest(time_s[start:end], here, level, noise_N)
    let_go = _let_go(time_s, net_N, onset, end, level)
    settle_s = max(0.2, 2.5 * float(np.median(np.diff(time_s[start:end]))))
    settled = int(np.searchsorted(time_s, time_s[onset] + settle_s))
    if let_go - settled < 6 or time_s[let_go - 1] - time_s[settled] < SHORTEST_PULL_S:
        raise NotDeterminedError(
            "the line did not slip steadily for long enough: pull evenly for three seconds or more"
        )
    return Stages(start, onset, settled, let_go, end)


def _tightest(time_s: FloatArray, force: FloatArray, level: float, noise_N: float) -> int:
    """Where the rise ends: at the first peak that gives, else where the slope falls to a quarter of the take-up's."""
    taut = int(np.argmax(force >= 0.6 * level))
    give = max(4 * noise_N, 0.03 * level)
    lift = int(np.argmax(force >= 0.15 * level))
    before = max(lift - 1, 0)
    slope = max(force[taut] - force[before], 0.1 * level) / max(time_s[taut] - time_s[before], 1e-3)
    best = taut
    for i in range(taut + 1, len(force)):
        waited = time_s[i] - time_s[best]
        if force[i] < force[best] - give or (waited > 0.15 and i - best > 1):
            break
        if force[i] > force[best] + 0.25 * slope * waited:
            best = i
    return best


def _let_go(time_s: FloatArray, net_N: FloatArray, onset: int, end: int, level: float) -> int:
    """One past the last sample of steady slip."""
    late = net_N[onset:end]
    late = late[int(0.6 * len(late)) :]
    late = late[late > 0.5 * level]
    if not len(late):
        return onset
    last = onset + int(np.flatnonzero(net_N[onset:end] >= 0.85 * np.median(late))[-1])
    return int(np.searchsorted(time_s, time_s[last] - 0.1))
