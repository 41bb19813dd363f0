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
from levelwind.recordings.force_columns import TIME_UNITS, TIME_WORDS, numbers
from levelwind.recordings.table import Table, read_table

FloatArray = NDArray[np.float64]

LARGEST_BYTES = 50_000_000
ALLOWED = (
    "a table with a column of times and one of speeds (rev/s, rpm or rad/s) or of turns, or the moments a mark went by"
)

SPEED_UNITS = (
    (r"rad\s*/\s*s(ec)?|rad\s*s\W?1|radians per second", 1 / tau),
    (r"deg\s*/\s*s(ec)?|°\s*/\s*s|degrees per second", 1 / 360),
    (
        r"rpm|r\s*/\s*min|revs?\s*/\s*min|u\s*/\s*min|tr\s*/\s*min|1\s*/\s*min|min\W1|turns?\s*/\s*min|per minute",
        1 / 60,
    ),
    (r"rps|revs?\s*/\s*s(ec)?|r\s*/\s*s|u\s*/\s*s|tr\s*/\s*s|turns?\s*/\s*s(ec)?|1\s*/\s*s|hz|per second", 1.0),
)
SPEED_WORDS = r"speed|velocity|omega|drehzahl|vitesse|velocidad|velocit|toeren|frequency|^n\b"
TURN_WORDS = r"\b(turns?|revs?|revolutions?|count|umdrehungen|tours|vueltas|giri)\b"


@dataclass(frozen=True, slots=True, eq=False)
class SpinTable:
    """Times in s, rising, with a speed in rev/s or a count of turns at each; with neither, a mark went by at each."""

    time_s: FloatArray
    rev_s: FloatArray | None
    turns: FloatArray | None
    cautions: tuple[str, ...]


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
    titles = [title.lower() for title in table.names]
    time = _column(titles, rf"\b({'|'.join(TIME_WORDS)})\b|^t\b|^\W*(s|ms|min)\W*$")
    if time is None:
        raise InputError(name, f"a table without times ({', '.join(table.names) or 'no headings'})", ALLOWED)
    rest = ["" if i == time else title for i, title in enumerate(titles)]
    values, per, turning = _values(table, rest, name)
    seconds, factor_notes = _seconds(table, time, titles[time])
    t, y, notes = _clean(seconds, values * per, name)
    notes = [*factor_notes, *notes]
    return SpinTable(t, None, y, tuple(notes)) if turning else SpinTable(t, y, None, tuple(notes))


def _passes(table: Table, name: str) -> SpinTable:
    """One column: the moments a mark went by. One that is not called a time must at least rise to pass for one."""
    title = "".join(table.names).lower()
    if re.search(SPEED_WORDS, title) or any(re.search(rf"(?<![a-z])({p})(?![a-z])", title) for p, _ in SPEED_UNITS):
        raise InputError(name, f"a table without times ({table.names[0]})", ALLOWED)
    seconds, notes = _seconds(table, 0, title)
    missing = int((~np.isfinite(seconds)).sum())
    if missing:
        raise InputError(name, f"a list of passes of which {missing} have no time", "a time for each")
    t, _, doubled = _clean(seconds, seconds, name)
    return SpinTable(t, None, None, ("read as the moments a mark went by", *notes, *doubled))


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
    raise InputError(name, f"a table without speeds ({', '.join(table.names)})", ALLOWED)


def _column(titles: list[str], pattern: str) -> int | None:
    return next((i for i, title in enumerate(titles) if title and re.search(pattern, title)), None)


def _seconds(table: Table, column: int, title: str) -> tuple[FloatArray, list[str]]:
    time = numbers(table.cells[column], table.decimal_comma)
    unit = next((word for word in reversed(re.split(r"[\W\d_]+", title)) if word in TIME_UNITS), None)
    if unit is not None or ":" in next((cell for cell in table.cells[column] if cell.strip()), ""):
        return time * (TIME_UNITS[unit] if unit else 1.0), []
    return time, ["the unit of time is not written: read as seconds"]


def _clean(time: FloatArray, values: FloatArray, name: str) -> tuple[FloatArray, FloatArray, list[str]]:
    whole = np.isfinite(time) & np.isfinite(values)
    if not whole.any():
        raise InputError(name, "without a whole row of numbers", ALLOWED)
    notes = [f"{int((~whole).sum())} rows without a number are left out"] if not whole.all() else []
    time, values = time[whole], values[whole]
    back = np.flatnonzero(np.diff(time) < 0)
    if len(back):
        i = int(back[0])
        raise InputError(f"the time in {name}", f"running backwards, {time[i]:g} s to {time[i + 1]:g} s", "rising")
    moments, first = np.unique(time, return_index=True)
    if len(moments) < len(time):
        notes.append(f"{len(time) - len(moments)} rows at a time already given are left out")
    return moments, values[first], notes
