"""A force log as any phone or scale saves it: text or workbook in, times and newtons out.

>>> log = read_force_log(b"Zeit [s];Kraft [kgf]\\n0,0;0,02\\n0,1;1,50\\n0,2;2,25\\n", name="invented.csv")
>>> log.unit_found, log.force_N.round(1)
('kgf', array([ 0.2, 14.7, 22.1]))
"""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.notes import Note, entered, newtons, plain
from levelwind.core.pull.options import NOTHING_SAID, PullOptions
from levelwind.core.quantities import NEWTONS_PER, SCALE_UNITS
from levelwind.recordings.force_columns import choose_columns, out_of_order
from levelwind.recordings.media import check_readable
from levelwind.recordings.table import Table, listed, read_table

FloatArray = NDArray[np.float64]

LARGEST_BYTES = 50_000_000
ALLOWED = "a table with a column of times and one of forces, saved as csv, tsv, txt or xlsx"
MOST_N = 600.0
"""More than this on a hanging scale is a slip of the unit: sixty kilograms of pull. Common practice, no source."""
LEAST_N = 0.5
MOST_READ_N = 1e7
"""More is no force at all, whatever the unit: grams called kilograms stay below. A judgement."""
LONGEST_S, MOST_HZ = 100_000.0, 100_000.0
"""Past a day, or faster than any load cell is read, the numbers are no times in seconds. A judgement."""


@dataclass(frozen=True, slots=True, eq=False)
class ForceLog:
    """Line tension over time. Times rise strictly and start at 0."""

    time_s: FloatArray
    force_N: FloatArray
    unit_found: str
    sample_hz: float
    cautions: tuple[Note, ...]
    sha256: str
    travel_m: FloatArray | None = None
    """How far the scale was drawn, where the log says."""


def read_force_log(source: bytes | Path, *, name: str = "", options: PullOptions = NOTHING_SAID) -> ForceLog:
    """Read csv, tsv, txt or xlsx with any header, separator and decimal mark.

    The unit of ``options`` is what the forces are in where the file does not say, and wins where it does. Raises
    InputError, in one sentence, for a file that is no force log.
    """
    data, name = _bytes(source, name)
    table = read_table(data, name, ALLOWED)
    columns = choose_columns(table, name)
    if columns.time is None:
        raise InputError(name, f"a table without times ({_named(table)})", ALLOWED)
    readings = np.vstack([columns.force] if columns.travel_m is None else [columns.force, columns.travel_m])
    time, readings, cautions = _clean(columns.time * columns.time_factor, readings, name)
    _check_span(time, name)
    found, notes = _unit(options.unit, columns.unit, name)
    force_N = readings[0] * NEWTONS_PER[found]
    if (most := float(np.max(np.abs(force_N)))) > MOST_READ_N:
        raise InputError(f"a force in {name}", entered(most, figures=2), "what a hanging scale can read")
    notes = [*columns.cautions, *cautions, *notes, *_questions(force_N, found)]
    travel = readings[1] if len(readings) > 1 else None
    return ForceLog(time, force_N, found, _sample_hz(time), tuple(notes), sha256(data).hexdigest(), travel)


def _check_span(time: FloatArray, name: str) -> None:
    if time[-1] > LONGEST_S:
        raise InputError(
            f"the time in {name}", f"{time[-1]:.2g} s in all", "one session at the scale, of at most a day"
        )
    if len(time) > 1 and (step := float(np.median(np.diff(time)))) < 1 / MOST_HZ:
        raise InputError(
            f"the time in {name}", f"{step:.2g} s from one reading to the next", f"at least {1 / MOST_HZ:g} s"
        )


def _bytes(source: bytes | Path, name: str) -> tuple[bytes, str]:
    name = name or (source.name if isinstance(source, Path) else "the file")
    if isinstance(source, Path):
        check_readable(source, name)
    size = source.stat().st_size if isinstance(source, Path) else len(source)
    if size > LARGEST_BYTES:
        raise InputError(name, f"{size / 1e6:.0f} MB", f"a force log of at most {LARGEST_BYTES / 1e6:.0f} MB")
    if size == 0:
        raise InputError(name, "empty", ALLOWED)
    return (source.read_bytes() if isinstance(source, Path) else source), name


def _named(table: Table) -> str:
    return "columns " + listed(table.names) if table.names else f"{len(table.cells)} unnamed columns"


def _unit(asked: str | None, written: str | None, name: str) -> tuple[str, list[Note]]:
    if asked is not None:
        if written is None or written == asked:
            return asked, []
        said = "the header says {written}, read as {asked} because you said so"
        return asked, [Note.of("unit_told", said, written=written, asked=asked)]
    if written is None:
        *units, last = SCALE_UNITS
        allowed = f"one you name with --unit: {', '.join(units)} or {last} (kg is kgf)"
        raise InputError(f"the unit of force in {name}", "not written in it", allowed)
    return written, []


def _clean(time: FloatArray, readings: FloatArray, name: str) -> tuple[FloatArray, FloatArray, list[Note]]:
    """Only whole readings at rising times, a column a time, and what was done to get there."""
    cautions = []
    have = np.isfinite(readings).all(axis=0)
    if not have.any():
        raise InputError(f"every force in {name}", "missing", "numbers")
    if not have.all():
        cautions.append(Note.of("rows_blank", "{rows} rows without a force are left out", rows=int((~have).sum())))
    time, readings = time[have], readings[:, have]
    if not np.isfinite(time).any():
        raise InputError(f"every time in {name}", "missing", "numbers")
    time, garbled = _without_garbled(time)
    cautions += garbled
    blank = ~np.isfinite(time)
    if blank.any():
        rows = np.arange(len(time))
        inside = (rows >= rows[~blank][0]) & (rows <= rows[~blank][-1])
        time = np.where(blank, np.interp(rows, rows[~blank], time[~blank]), time)[inside]
        readings = readings[:, inside]
        if filled := int(blank[inside].sum()):
            between = "{times} missing times are filled in between their neighbours"
            cautions.append(Note.of("times_filled", between, times=filled))
        if left := int((~inside).sum()):
            outside = "{rows} rows without a time before the first or after the last are left out"
            cautions.append(Note.of("rows_untimed", outside, rows=left))
    backwards = np.flatnonzero(np.diff(time) < 0)
    if len(backwards):
        i = int(backwards[0])
        raise InputError(f"the time in {name}", f"running backwards, {time[i]:g} s to {time[i + 1]:g} s", "rising")
    time, readings, doubled = _single(time, readings)
    return time - time[0], readings, cautions + doubled


def _without_garbled(time: FloatArray) -> tuple[FloatArray, list[Note]]:
    """A few times out of all order are as good as missing."""
    there = np.flatnonzero(np.isfinite(time))
    if not (np.diff(time[there]) < 0).any():
        return time, []
    odd = there[out_of_order(time[there])]
    time = time.copy()
    time[odd] = np.nan
    out = "{times} times out of the order of the others are not used"
    return time, [Note.of("times_out_of_order", out, times=len(odd))] if len(odd) else []


def _single(time: FloatArray, readings: FloatArray) -> tuple[FloatArray, FloatArray, list[Note]]:
    """One reading a moment: times too coarse for their readings are spread, the odd double is averaged."""
    moments, where, counts = np.unique(time, return_inverse=True, return_counts=True)
    doubles = len(time) - len(moments)
    if doubles == 0:
        return time, readings, []
    if doubles > 0.3 * len(time) and len(moments) > 2:
        starts = np.concatenate([[0], np.cumsum(counts)])
        step = float(np.median(np.diff(moments)))
        spread = np.interp(np.arange(len(time)), starts, np.append(moments, moments[-1] + step))
        evenly = "times are written only to {step}: readings are spread evenly between them"
        return spread, readings, [Note.of("times_coarse", evenly, step=plain(step, "s"))]
    averaged = np.array([np.bincount(where, row) / counts for row in readings])
    shared = Note.of("times_shared", "{readings} readings share their time with another: averaged", readings=doubles)
    return moments, averaged, [shared]


def _sample_hz(time: FloatArray) -> float:
    steps = np.diff(time)
    return 1 / float(np.mean(steps[steps <= 3 * np.median(steps)])) if len(steps) else 0.0


def _questions(force_N: FloatArray, unit: str) -> Sequence[Note]:
    top = float(np.max(np.abs(force_N)))
    if top > MOST_N:
        high = "the peak would be {peak} if the forces are in {unit}: is that the right unit?"
        return [Note.of("peak_high", high, peak=newtons(top, decimals=0), unit=unit)]
    if top < LEAST_N:
        low = "the peak would be only {peak} if the forces are in {unit}: is that the right unit?"
        return [Note.of("peak_low", low, peak=newtons(top, figures=2), unit=unit)]
    return []
