"""A table of a spool running down, as any logger or hand writes it: speeds or turns over time, or when a mark went by.

>>> table = read_spin_table(b"time (s);speed (rpm)\\n0;1200\\n1,5;900\\n3;600\\n", name="invented.csv")
>>> table.rev_s
array([20., 15., 10.])
"""

import re
from dataclasses import dataclass
from math import tau
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.notes import Note
from levelwind.recordings.force_columns import (
    TIME_UNITS,
    apart,
    is_aggregate,
    numbers,
    out_of_order,
    time_column,
    times,
    words_of,
)
from levelwind.recordings.table import Table, listed, read_table

FloatArray = NDArray[np.float64]

LARGEST_BYTES = 50_000_000
ALLOWED = (
    "a table with a column of times and one of speeds (rev/s, rpm or rad/s) or of turns, or the moments a mark went by"
)

_ONE_TURN = r"(?:1|r|revs?|revolutions?|turns?|u|umdr(?:ehungen)?|tr|tours?|giri|rot|obr|omw|vueltas|об)\.?"
SPEED_UNITS = (
    (r"rad\s*/\s*s(ec)?|rad\s*s\W?1|radians per second", 1 / tau),
    (r"deg\s*/\s*s(ec)?|°\s*/\s*s|degrees per second", 1 / 360),
    (rf"rpm|r\.p\.m|{_ONE_TURN}\s*/\s*(min(ute)?|мин)|min\W{{1,2}}1|per minute", 1 / 60),
    (rf"rps|r\.p\.s|{_ONE_TURN}\s*/\s*s(ec(ond)?)?|hz|s\W{{1,2}}1|per second", 1.0),
)
SPEED_WORDS = r"speed|velocity|omega|drehzahl|vitesse|velocidad|velocit|toeren|frequency|^n\b"
TURN_WORDS = r"\b(turns?|revs?|revolutions?|count|umdrehungen|tours|vueltas|giri)\b"
LONGEST_S = 600.0
"""No spool runs down for longer: a table over more is in milliseconds. A judgement."""
MOST_ROWS_COUNTED = 50_000
"""Of turns or passes: at most sixty marks on a spool of a hundred rev/s go by in a run, and the fit looks at each."""
LARGEST, LEAST_STEP_S = 1e13, 1e-6
"""Past these the numbers are no speeds, turns or times, milliseconds since 1970 included. A judgement."""
_CELL_UNIT = re.compile(r"\d\s*([a-zA-Z/]+)\s*$")


@dataclass(frozen=True, slots=True, eq=False)
class SpinTable:
    """Times in s, rising, with a speed in rev/s or a count of turns at each; with neither, a mark went by at each."""

    time_s: FloatArray
    rev_s: FloatArray | None
    turns: FloatArray | None
    cautions: tuple[Note, ...]


def read_spin_table(source: bytes | Path, *, name: str = "") -> SpinTable:
    """Read csv, tsv, txt or xlsx. Raises InputError, in one sentence, for a file that is no such table."""
    name = name or (source.name if isinstance(source, Path) else "the file")
    size = source.stat().st_size if isinstance(source, Path) else len(source)
    if size > LARGEST_BYTES:
        raise InputError(name, f"{size / 1e6:.0f} MB", f"a table of at most {LARGEST_BYTES / 1e6:.0f} MB")
    data = source.read_bytes() if isinstance(source, Path) else source
    table = read_table(data, name, ALLOWED, least_columns=1)
    if len(table.cells) == 1:
        return _passes(table, name)
    titles = [_title(table, i) for i in range(len(table.cells))] if table.names else []
    timely = ["" if _speed_unit(title) else title for title in titles]
    time = time_column(timely, [words_of(title) for title in timely], table.cells) if titles else None
    if time is None:
        raise InputError(name, f"a table without times ({listed(table.names) or 'no headings'})", ALLOWED)
    rest = ["" if i == time else title for i, title in enumerate(titles)]
    if _only_counted(table, rest, time):
        return _passes(Table((table.names[time],), (table.cells[time],), table.decimal_comma), name)
    values, per, turning = _values(table, rest, name)
    seconds, factor_notes = _seconds(table, time, titles[time])
    if turning:
        _check_count(len(values), name)
    t, y, notes = _clean(seconds, values * per, name)
    notes = [*factor_notes, *notes]
    return SpinTable(t, None, y, tuple(notes)) if turning else SpinTable(t, y, None, tuple(notes))


def _title(table: Table, column: int) -> str:
    """A heading, small, its words apart, with the unit that stands behind the numbers below it."""
    beside = _CELL_UNIT.search(next((cell for cell in table.cells[column] if cell.strip()), ""))
    title = apart(table.names[column]).lower().replace("rev_s", "rev/s")  # as a heading without strokes writes it
    return f"{title} {beside[1].lower()}" if beside and not _speed_unit(title) else title


def _speed_unit(title: str) -> bool:
    return any(re.search(rf"(?<![a-z])({pattern})(?![a-z])", title) for pattern, _ in SPEED_UNITS)


def _only_counted(table: Table, rest: list[str], time: int) -> bool:
    """Whether beside the times the rows are but numbered."""
    others = [i for i in range(len(rest)) if i != time and any(re.search(r"\d", cell) for cell in table.cells[i])]
    if len(others) != 1 or _speed_unit(rest[others[0]]) or re.search(TURN_WORDS, rest[others[0]]):
        return False
    steps = np.diff(numbers(table.cells[others[0]], table.decimal_comma))
    return len(steps) > 1 and bool(np.all(steps == 1))


def _passes(table: Table, name: str) -> SpinTable:
    """One column: the moments a mark went by. One that is not called a time must at least rise to pass for one."""
    title = "".join(table.names).lower()
    if re.search(SPEED_WORDS, title) or _speed_unit(title):
        raise InputError(name, f"a table without times ({listed(table.names)})", ALLOWED)
    _check_count(len(table.cells[0]), name)
    seconds, notes = _seconds(table, 0, title)
    missing = int((~np.isfinite(seconds)).sum())
    if missing:
        raise InputError(name, f"a list of passes of which {missing} have no time", "a time for each")
    t, _, doubled = _clean(seconds, seconds, name)
    moments = Note.of("moments", "read as the moments a mark went by")
    return SpinTable(t, None, None, (moments, *notes, *doubled))


def _check_count(rows: int, name: str) -> None:
    if rows > MOST_ROWS_COUNTED:
        raise InputError(name, f"a list of {rows} passes or turns", f"at most {MOST_ROWS_COUNTED}, of one spin")


def _values(table: Table, titles: list[str], name: str) -> tuple[FloatArray, float, bool]:
    """The column of speeds or turns, its factor to rev/s or turns, and whether it counts turns."""
    for pattern, per in SPEED_UNITS:
        found = _column(titles, rf"(?<![a-z])({pattern})(?![a-z])")
        if found is not None:
            return numbers(table.cells[found], table.decimal_comma), per, False
    counted = _column(titles, TURN_WORDS)
    if counted is not None:
        return numbers(table.cells[counted], table.decimal_comma), 1.0, True
    if _column(titles, SPEED_WORDS) is not None:
        raise InputError(f"the unit of speed in {name}", "not written in it", "a heading with rev/s, rpm or rad/s")
    raise InputError(name, f"a table without speeds ({listed(table.names)})", ALLOWED)


def _column(titles: list[str], pattern: str) -> int | None:
    found = [i for i, title in enumerate(titles) if title and re.search(pattern, title)]
    return min(found, key=lambda i: is_aggregate(words_of(titles[i])), default=None)


def _seconds(table: Table, column: int, title: str) -> tuple[FloatArray, list[Note]]:
    time = times(table.cells[column], table.decimal_comma)
    unit = next((word for word in reversed(words_of(title)) if word in TIME_UNITS), None)
    if unit is not None or ":" in next((cell for cell in table.cells[column] if cell.strip()), ""):
        return time * (TIME_UNITS[unit] if unit else 1.0), []
    seen = time[np.isfinite(time)]
    if len(seen) and seen[-1] - seen[0] > LONGEST_S:
        too_long = "the unit of time is not written: read as milliseconds, for so long no spool turns"
        return time * 1e-3, [Note.of("time_in_ms", too_long)]
    return time, [Note.of("time_in_s", "the unit of time is not written: read as seconds")]


def _clean(time: FloatArray, values: FloatArray, name: str) -> tuple[FloatArray, FloatArray, list[Note]]:
    whole = np.isfinite(time) & np.isfinite(values)
    if not whole.any():
        raise InputError(name, "without a whole row of numbers", ALLOWED)
    blank = Note.of("rows_blank", "{rows} rows without a number are left out", rows=int((~whole).sum()))
    notes = [] if whole.all() else [blank]
    time, values = time[whole], values[whole]
    back = np.flatnonzero(np.diff(time) < 0)
    if len(back) and (odd := out_of_order(time)).any():
        out = "{rows} rows whose time is out of the order of the others are left out"
        notes.append(Note.of("rows_out_of_order", out, rows=int(odd.sum())))
        time, values, back = time[~odd], values[~odd], np.empty(0, int)
    if len(back):
        i = int(back[0])
        raise InputError(f"the time in {name}", f"running backwards, {time[i]:g} s to {time[i + 1]:g} s", "rising")
    most = float(np.max(np.abs([time, values])))
    if most > LARGEST:
        raise InputError(name, f"a table that holds {most:.2g}", ALLOWED)
    moments, first = np.unique(time, return_index=True)
    if len(moments) > 1 and (step := float(np.median(np.diff(moments)))) < LEAST_STEP_S:
        raise InputError(
            f"the time in {name}", f"{step:.2g} s from one row to the next", f"at least {LEAST_STEP_S:g} s"
        )
    if len(moments) < len(time):
        doubled = "{rows} rows at a time already given are left out"
        notes.append(Note.of("rows_doubled", doubled, rows=len(time) - len(moments)))
    return moments, values[first], notes
