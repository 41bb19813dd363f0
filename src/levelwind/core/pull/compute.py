"""A force log in, the drag's numbers out."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fitting import NINETY, FloatArray
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.periodic import Steady, fit_steady, half_span, rise_share
from levelwind.core.pull.stages import Rest, Stages, divide, find_pulls, find_rest, scale_step
from levelwind.core.quantities import Quantity

FASTEST_HZ = 250.0
"""Logs faster than this are averaged down first: a hand does nothing quicker, and a million rows take a moment."""


def analyse(
    time_s: ArrayLike,
    force_N: ArrayLike,
    *,
    spans_s: Sequence[tuple[float, float]] | None = None,
    capacity_N: float | None = None,
    unit_found: str = "N",
    cautions: Sequence[str] = (),
) -> PullResult:
    """Find every pull in a log of line tension and measure it.

    ``time_s`` and ``force_N`` are one-dimensional, of one length, times not falling. ``spans_s`` says where the pulls
    are if the person has marked them; ``capacity_N`` is the most the scale can read. ``unit_found`` and ``cautions``
    are what the reader of the file has to say, and are handed on.

    Intervals hold 90 %. They take in noise, the scale's steps, its sampling and the unevenness of the slip, and not an
    error in the scale's own calibration, which the start-up ratio and a comparison on one scale are free of.

    Raises InputError for arrays that are no log, NotDeterminedError where nothing can be said.
    """
    time, force = _checked(time_s, force_N)
    if float(np.ptp(force)) == 0.0:
        raise NotDeterminedError(
            f"every force in the log is {force[0]:g} N: nothing was pulled, or the scale was on hold"
        )
    hz = _sample_hz(time)
    time, force = _thinned(time, force, hz)
    rest = find_rest(force)
    net = force - rest.level_N
    spans = _marked(time, spans_s) if spans_s is not None else find_pulls(time, net, rest.noise_N)
    pulls, left_out = _each(time, net, spans, rest)
    if not pulls:
        raise NotDeterminedError(left_out[0] if left_out else "no pull stands out from the slack line in this log")
    notes = [*cautions, *_log_cautions(force, rest, hz, capacity_N), *left_out]
    return PullResult(tuple(pulls), tuple(notes), unit_found, hz, rest.level_N)


def _checked(time_s: ArrayLike, force_N: ArrayLike) -> tuple[FloatArray, FloatArray]:
    time, force = np.asarray(time_s, dtype=float), np.asarray(force_N, dtype=float)
    if time.ndim != 1 or time.shape != force.shape:
        raise InputError("the log", f"times of shape {time.shape}, forces of {force.shape}", "one time for each force")
    if len(time) < 8:
        raise NotDeterminedError(f"the log has {len(time)} readings: a pull needs at least eight")
    if not (np.isfinite(time).all() and np.isfinite(force).all()):
        raise InputError("the log", "not finite everywhere", "finite times and forces")
    if np.any(np.diff(time) < 0):
        raise InputError(
            "the log's time", f"running backwards at {time[int(np.argmax(np.diff(time) < 0))]:g} s", "rising"
        )
    if time[-1] == time[0]:
        raise InputError("the log's time", "standing still", "rising")
    return time, force


def _sample_hz(time: FloatArray) -> float:
    """Readings a second while the log runs, gaps left out."""
    steps = np.diff(time)
    steps = steps[steps > 0]
    return 1 / float(np.mean(steps[steps <= 3 * np.median(steps)]))


def _thinned(time: FloatArray, force: FloatArray, hz: float) -> tuple[FloatArray, FloatArray]:
    """No faster than FASTEST_HZ, by averages of neighbours; at one moment one reading."""
    block = int(hz // FASTEST_HZ)
    if block > 1:
        whole = len(time) // block * block
        time, force = time[:whole].reshape(-1, block).mean(axis=1), force[:whole].reshape(-1, block).mean(axis=1)
    keep = np.concatenate([[True], np.diff(time) > 0])
    return time[keep], force[keep]


def _marked(time: FloatArray, spans_s: Sequence[tuple[float, float]]) -> list[tuple[int, int]]:
    for start, end in spans_s:
        if not time[0] <= start < end <= time[-1]:
            raise InputError("the marked pull", f"{start:g} to {end:g} s", f"between {time[0]:g} and {time[-1]:g} s")
    return [(int(np.searchsorted(time, a)), int(np.searchsorted(time, b, "right"))) for a, b in spans_s]


def _each(time: FloatArray, net: FloatArray, spans: list[tuple[int, int]], rest: Rest) -> tuple[list[Pull], list[str]]:
    pulls, left_out = [], []
    for start, end in spans:
        try:
            pulls.append(_one(time, net, divide(time, net, (start, end), rest.noise_N), rest))
        except NotDeterminedError as why:
            left_out.append(f"the tug at {time[start]:.1f} s is left out: {why}")
    return pulls, left_out


def _one(time: FloatArray, net: FloatArray, stages: Stages, rest: Rest) -> Pull:
    t, f = time[stages.settled : stages.let_go], net[stages.settled : stages.let_go]
    steady = fit_steady(t, f, rest.noise_N)
    running = _running(steady, rest)
    breakaway = _breakaway(time, net, stages, rest)
    sticks = steady.frequency_hz is not None and rise_share(steady) > 0.62
    wobble = None if sticks or steady.frequency_hz is None else _wobble(steady, f)
    return Pull(
        start_s=float(time[stages.start]),
        end_s=float(time[stages.end - 1]),
        breakaway_N=breakaway,
        running_N=running,
        startup_ratio=ratio(breakaway, running),
        wobble_N=wobble,
        wobble_period_s=1 / steady.frequency_hz if wobble and steady.frequency_hz else None,
        stick_slip=sticks,
        stick_slip_hz=steady.frequency_hz if sticks else None,
        fade_percent=_fade(steady),
        breakaway_s=float(time[stages.onset]),
        steady_s=(float(t[0]), float(t[-1])),
    )


def _running(steady: Steady, rest: Rest) -> Quantity:
    gradient = np.zeros(steady.columns.shape[1])
    gradient[0] = 1
    tare = rest.noise_N / np.sqrt(max(rest.samples, 1)) if rest.seen else 0.01 * steady.level
    wide = NINETY * float(np.hypot(steady.fit.error(gradient), tare))
    return Quantity(steady.level, steady.level - wide, steady.level + wide)


def _breakaway(time: FloatArray, net: FloatArray, stages: Stages, rest: Rest) -> Quantity:
    """The highest reading, and half of what the line may have gained before the next one."""
    onset = stages.onset
    steps = slice(max(onset - 2, stages.start), onset + 1)
    slope = max(float(net[onset] - net[steps.start]) / max(float(time[onset] - time[steps.start]), 1e-3), 0.0)
    lost = slope * float(np.median(np.diff(time[stages.start : stages.end])))
    value = float(net[onset]) + lost / 2
    noise = NINETY * rest.noise_N
    return Quantity(value, value - lost / 2 - noise, value + lost / 2 + noise)


def ratio(above: Quantity, below: Quantity) -> Quantity:
    """One over the other, their errors taken as independent and small (first order).

    >>> ratio(Quantity(30.0, 28.0, 32.0), Quantity(20.0, 20.0, 20.0))
    Quantity(value=1.5, low=1.4, high=1.6)
    """
    value = above.value / below.value
    down = np.hypot((above.value - above.low) / above.value, (below.high - below.value) / below.value)
    up = np.hypot((above.high - above.value) / above.value, (below.value - below.low) / below.value)
    return Quantity(value, value * (1 - float(down)), value * (1 + float(up)))


def _wobble(steady: Steady, force: FloatArray) -> Quantity:
    value = half_span(steady)
    gradient = np.zeros(steady.columns.shape[1])
    gradient[2:] = steady.fit.values[2:] / max(float(np.linalg.norm(steady.fit.values[2:])), 1e-12)
    wide = NINETY * steady.fit.error(gradient)
    return Quantity(value, max(value - wide, 0.0), value + wide)


def _fade(steady: Steady) -> Quantity:
    level, slope = steady.fit.values[0], steady.fit.values[1]
    head = level - slope / 2
    value = -100 * slope / head
    gradient = np.zeros(steady.columns.shape[1])
    gradient[:2] = 100 * slope / head**2, -100 * level / head**2
    wide = NINETY * steady.fit.error(gradient)
    return Quantity(float(value), float(value - wide), float(value + wide))


def _log_cautions(force: FloatArray, rest: Rest, hz: float, capacity_N: float | None) -> list[str]:
    notes = []
    if not rest.seen:
        notes.append(
            "the line is never slack in this log, so the scale's own zero is believed: leave a second of slack first"
        )
    if hz < 8:
        notes.append(
            f"{hz:.1f} readings a second are few: the start-up peak falls between them, and its interval is wide"
        )
    if capacity_N is not None and force.max() >= 0.99 * capacity_N:
        notes.append(f"the scale reached its limit of {capacity_N:g} N: breakaway is at least what is shown")
    elif capacity_N is None and _pinned(force):
        notes.append("the highest reading repeats as if the scale had reached its limit: say what it can carry")
    return notes


def _pinned(force: FloatArray) -> bool:
    """Whether the log's top is a flat line that noise would have broken."""
    top = force == force.max()
    return bool(
        top.sum() >= 5 and np.any(top[:-4] & top[1:-3] & top[2:-2] & top[3:-1] & top[4:]) and scale_step(force) == 0
    )
