"""A force log in, the drag's numbers out."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.fitting import FloatArray
from levelwind.core.notes import Note, newtons, plain
from levelwind.core.options import Span
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.pull.options import NOTHING_SAID, PullOptions
from levelwind.core.pull.single import Log, measure
from levelwind.core.pull.stages import Rest, divide, find_pulls, find_rest, foot, scale_step
from levelwind.core.writing import written

FASTEST_HZ = 250.0
"""Readings a second; quicker logs are averaged down first. Our choice: a hand does nothing quicker, and a million rows
take a moment."""
OVER_S = 0.1
"""s; a pull marked no further than this outside the log is taken to end with it. Our choice: a finger is no more
exact."""
FOOT_S = 0.5
"""s; how far back a start marked on the take-up is moved to its foot at the most. Our choice: the length of a
take-up."""
LEAST_READINGS = 8
"""Readings a log must have. Our choice: fewer hold no pull with slack before and after it."""
_GAP = 3.0
"""Median steps of time above which a step is a gap in the log. Our choice."""
_RANGE = (2, 98)
"""Percentiles that stand for the lowest and highest force: single spikes do not move them. Our choice."""
_OPENING = 5
"""Readings at the start whose median is the slack line's. Our choice."""
_UPRIGHT_LOW, _UPRIGHT_DROP = 0.5, 2.0
"""Pulling reads as negative if the lowest force is below zero by this part of the range, and the log falls from its
start by this many times what it rises. Our choice."""
_SPIKE, _SPIKE_LEVEL, _SPIKE_BACK = 0.3, 0.1, 0.3
"""Parts of the range: a reading that jumps by the first and back is a spike, if the two readings on either side lie
within the second of one another, and both sides within the third. Our choice."""
FEW_HZ = 8.0
"""Readings a second below which the start-up peak is told to fall between them. Our choice: a take-up then has four."""
AT_LIMIT = 0.99
"""Part of the scale's capacity from which a reading is at its limit. Our choice: a scale's own error."""
_PINNED, _PINNED_LEVELS, _PINNED_STEP = 5, 20, 0.002
"""The log's top is a limit if so many readings in a row are alike, more than so many values occur, and the scale's step
is below this part of the range. Our choice: on a coarse scale a flat top is nothing unusual."""


def analyse(
    time_s: ArrayLike,
    force_N: ArrayLike,
    *,
    travel_m: ArrayLike | None = None,
    options: PullOptions = NOTHING_SAID,
    unit_found: str = "N",
    cautions: Sequence[Note] = (),
    progress: Callable[[float], None] = lambda part: None,
) -> PullResult:
    """Find every pull in a log of line tension and measure it.

    ``time_s`` and ``force_N`` are one-dimensional, of one length, times not falling; so is ``travel_m``, how far the
    scale was drawn, where the log has it. ``options``: what a person says of the log; its unit is the reader's affair.
    ``unit_found`` and ``cautions`` are what the reader of the file has to say, and are handed on. ``progress`` is told
    the part of the pulls that is measured, 0 to 1.

    Intervals hold 90 %. They take in noise, the scale's steps, its sampling and the unevenness of the slip, and not an
    error in the scale's own calibration, which the start-up ratio and a comparison on one scale are free of.

    Raises InputError for arrays that are no log, NotDeterminedError where nothing can be said.

    >>> t = np.arange(0.0, 6.0, 0.05)
    >>> pulled = np.where(t < 1.4, 60 * (t - 1), 18.0 + 0.2 * np.sin(9 * t))
    >>> log = np.where((t > 1) & (t < 5), pulled, 0.0)
    >>> pull = analyse(t, log).pulls[0]
    >>> round(pull.running_N.value), round(pull.startup_ratio.value, 1)
    (18, 1.2)
    """
    time, force, travel = _checked(time_s, force_N, travel_m)
    if float(np.ptp(force)) == 0.0:
        raise NotDeterminedError(
            Note.of(
                "level_log",
                "every force in the log is {force}: nothing was pulled, or the scale was on hold",
                force=newtons(float(force[0])),
            )
        )
    hz = _sample_hz(time)
    time, force, travel = _thinned(time, force, travel, hz)
    force, turned = _upright(force)
    force, spikes = _without_spikes(force)
    rest = find_rest(time, force)
    net = force - rest.level_N
    spans = _marked(time, net, rest, options.spans_s) if options.spans_s else find_pulls(time, net, rest.noise_N)
    pulls, left_out = _each(Log(time, net, travel, rest), spans, progress)
    if not pulls:
        raise NotDeterminedError(left_out[0] if left_out else "no pull stands out from the slack line in this log")
    notes = [*cautions, *turned, *spikes, *_log_cautions(force, rest, hz, options.capacity_N), *left_out]
    return PullResult(tuple(pulls), tuple(notes), unit_found, hz, rest.level_N)


def _checked(
    time_s: ArrayLike, force_N: ArrayLike, travel_m: ArrayLike | None
) -> tuple[FloatArray, FloatArray, FloatArray | None]:
    time, force = np.asarray(time_s, dtype=float), np.asarray(force_N, dtype=float)
    travel = None if travel_m is None else np.asarray(travel_m, dtype=float)
    if time.ndim != 1 or time.shape != force.shape or (travel is not None and travel.shape != time.shape):
        raise InputError(
            "the log", f"times of shape {time.shape}, forces of {force.shape}", "one time for each reading"
        )
    if len(time) < LEAST_READINGS:
        raise NotDeterminedError(f"the log has {len(time)} readings: a pull needs at least eight")
    if not (np.isfinite(time).all() and np.isfinite(force).all() and (travel is None or np.isfinite(travel).all())):
        raise InputError("the log", "not finite everywhere", "finite times and forces")
    if np.any(np.diff(time) < 0):
        raise InputError(
            "the log's time", f"running backwards at {written(time[int(np.argmax(np.diff(time) < 0))])} s", "rising"
        )
    if time[-1] == time[0]:
        raise InputError("the log's time", "standing still", "rising")
    return time, force, travel


def _sample_hz(time: FloatArray) -> float:
    """Readings a second while the log runs, gaps left out."""
    steps = np.diff(time)
    steps = steps[steps > 0]
    return 1 / float(np.mean(steps[steps <= _GAP * np.median(steps)]))


def _thinned(
    time: FloatArray, force: FloatArray, travel: FloatArray | None, hz: float
) -> tuple[FloatArray, FloatArray, FloatArray | None]:
    """No quicker than ``FASTEST_HZ``, by averages of neighbours; one reading at each moment."""
    block = max(int(hz // FASTEST_HZ), 1)
    whole = len(time) // block * block
    rows = np.vstack([time, force] if travel is None else [time, force, travel])
    rows = rows[:, :whole].reshape(len(rows), -1, block).mean(axis=2)
    rows = rows[:, np.concatenate([[True], np.diff(rows[0]) > 0])]
    return rows[0], rows[1], rows[2] if travel is not None else None


def _upright(force: FloatArray) -> tuple[FloatArray, list[Note]]:
    """Forces with pulling positive, whichever way the scale counts; a log begins with the line slack."""
    low, high = np.percentile(force, _RANGE)
    slack = float(np.median(force[:_OPENING]))
    if -low > _UPRIGHT_LOW * (high - low) and slack - low > _UPRIGHT_DROP * (high - slack):
        turned = Note.of("turned_round", "pulling reads as negative on this scale: every force is turned round")
        return -force, [turned]
    return force, []


def _without_spikes(force: FloatArray) -> tuple[FloatArray, list[Note]]:
    """A single reading that jumps away from level neighbours and back is the scale's fault, not the drag's."""
    low, high = np.percentile(force, _RANGE)
    size = float(high - low)
    before, here, after = force[1:-3], force[2:-2], force[3:-1]
    away = np.minimum((here - before) * np.sign(here - after), np.abs(here - after)) > _SPIKE * size
    level = np.maximum(np.abs(before - force[:-4]), np.abs(after - force[4:])) < _SPIKE_LEVEL * size
    spikes = np.flatnonzero(away & level & (np.abs(before - after) < _SPIKE_BACK * size)) + 2
    if not len(spikes):
        return force, []
    mended = force.copy()
    mended[spikes] = (force[spikes - 1] + force[spikes + 1]) / 2
    return mended, [Note.of("spikes", "{count} readings that jump away and back are left out", count=len(spikes))]


def _marked(time: FloatArray, net: FloatArray, rest: Rest, spans_s: tuple[Span, ...]) -> list[tuple[int, int]]:
    """Pulls as a person marked them, in order; a start marked half way up the take-up is moved to its foot."""
    for start, end in spans_s:
        if start < time[0] - OVER_S or end > time[-1] + OVER_S:
            allowed = f"a start and an end between {written(time[0])} and {written(time[-1])} s"
            raise InputError("the marked pull", f"{written(start)} to {written(end)} s", allowed)
    ends = [int(np.searchsorted(time, until, "right")) for _, until in spans_s]
    return [(foot(time, net, rest.noise_N, a, FOOT_S), end) for (a, _), end in zip(spans_s, ends, strict=True)]


def _each(log: Log, spans: list[tuple[int, int]], progress: Callable[[float], None]) -> tuple[list[Pull], list[Note]]:
    pulls, left_out = [], []
    for number, span in enumerate(spans):
        progress(number / len(spans))
        try:
            pulls.append(measure(log, divide(log.time_s, log.net_N, span, log.rest.noise_N)))
        except NotDeterminedError as why:
            at = plain(float(log.time_s[min(span[0], len(log.time_s) - 1)]), "s", decimals=1)
            left_out.append(Note.of("tug", "the tug at {at} is left out: {why}", at=at, why=Note.from_error(why)))
    return pulls, left_out


def _log_cautions(force: FloatArray, rest: Rest, hz: float, capacity_N: float | None) -> list[Note]:
    notes = []
    if not rest.seen:
        notes.append(
            Note.of(
                "never_slack",
                "the line is never slack in this log, so the scale's own zero is believed: "
                "leave a second of slack first",
            )
        )
    if hz < FEW_HZ:
        few = "{hz} readings a second are few: the start-up peak falls between them"
        notes.append(Note.of("few_readings", few, hz=plain(hz, decimals=1)))
    if capacity_N is not None and force.max() >= AT_LIMIT * capacity_N:
        at_least = "the scale reached its limit of {most}: breakaway is at least what is shown"
        notes.append(Note.of("limit_reached", at_least, most=newtons(capacity_N)))
    elif capacity_N is None and _pinned(force):
        repeats = "the highest reading repeats as if the scale had reached its limit: say what it can carry"
        notes.append(Note.of("limit_likely", repeats))
    return notes


def _pinned(force: FloatArray) -> bool:
    """Whether the log's top is a flat line, five readings or more, that a scale with this much noise would break."""
    runs = np.convolve(force == force.max(), np.ones(_PINNED), "valid")
    unlike = len(np.unique(force)) > _PINNED_LEVELS
    return bool(np.any(runs == _PINNED)) and unlike and scale_step(force) < _PINNED_STEP * float(np.ptp(force))
