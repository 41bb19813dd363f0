"""Which column of a table is time, which is force, and what unit each is in."""

import re
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.quantities import METRES_PER
from levelwind.recordings.table import Table

FloatArray = NDArray[np.float64]

TIME_WORDS = (
    "time",
    "elapsed",
    "seconds",
    "timestamp",
    "zeit",
    "temps",
    "tiempo",
    "tempo",
    "tijd",
    "tid",
    "clock",
    "durée",
)
FORCE_WORDS = (
    "force", "load", "weight", "tension", "pull", "drag", "reading", "value", "kraft", "gewicht", "zugkraft",
    "poids", "charge", "fuerza", "carga", "peso", "forza", "carico", "kracht",
)  # fmt: skip
TRAVEL_WORDS = ("travel", "distance", "position", "drawn", "weg", "distancia", "corsa", "course")
FORCE_UNITS = {
    "kn": "kN", "n": "N", "newton": "N", "newtons": "N", "kgf": "kgf", "kg": "kgf", "kp": "kgf", "kilogram": "kgf",
    "kilograms": "kgf", "kilo": "kgf", "kilos": "kgf", "g": "gf", "gf": "gf", "gram": "gf", "grams": "gf", "lb": "lbf",
    "lbs": "lbf", "lbf": "lbf", "pound": "lbf", "pounds": "lbf", "oz": "ozf", "ozf": "ozf", "ounce": "ozf",
    "ounces": "ozf",
}  # fmt: skip
TIME_UNITS = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0, "sek": 1.0, "ms": 1e-3, "msec": 1e-3,
    "milliseconds": 1e-3, "us": 1e-6, "µs": 1e-6, "min": 60.0, "mins": 60.0, "minutes": 60.0, "h": 3600.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Times and forces as numbers in the file's own units, NaN where a cell is blank."""

    time: FloatArray | None
    time_factor: float
    force: FloatArray
    unit: str | None
    cautions: tuple[str, ...]
    travel_m: FloatArray | None = None


def choose_columns(table: Table, name: str) -> Columns:
    """Pick time and force by their names, or by order where nothing is named. Raises InputError where neither tells."""
    if not table.names:
        return _unnamed(table, name)
    words = [_words(title) for title in table.names]
    forces = [i for i, w in enumerate(words) if _is_force(w)]
    if not forces:
        raise InputError(name, f"without a force column (it has {', '.join(table.names)})", "a column named force")
    force = next((i for i in forces if set(words[i]) & set(FORCE_WORDS[:6])), forces[0])
    times = [i for i, w in enumerate(words) if i != force and _is_time(w)]
    cautions = [f"of several force columns, {table.names[force]!r} is read"] if len(forces) > 1 else []
    unit = next((FORCE_UNITS[w] for w in reversed(words[force]) if w in FORCE_UNITS), None) or _unit_in_cells(
        table, force
    )
    if not times:
        return Columns(None, 1.0, numbers(table.cells[force], table.decimal_comma), unit, tuple(cautions))
    time = numbers(table.cells[times[0]], table.decimal_comma)
    factor, note = _time_factor(words[times[0]], time, table.cells[times[0]])
    values = numbers(table.cells[force], table.decimal_comma)
    return Columns(time, factor, values, unit, (*cautions, *note), _travel(table, words))


def _travel(table: Table, words: list[list[str]]) -> FloatArray | None:
    """How far the scale was drawn, where a column says so with its unit."""
    for column, named in enumerate(words):
        unit = next((METRES_PER[w] for w in named if w in METRES_PER), None)
        if unit is not None and set(named) & set(TRAVEL_WORDS):
            return numbers(table.cells[column], table.decimal_comma) * unit
    return None


def _unnamed(table: Table, name: str) -> Columns:
    if len(table.cells) != 2:
        raise InputError(name, f"{len(table.cells)} columns without names", "a header that names time and force")
    time = numbers(table.cells[0], table.decimal_comma)
    factor, note = _time_factor([], time, table.cells[0])
    unit = _unit_in_cells(table, 1)
    said = "the columns have no names: the first is read as time, the second as force"
    return Columns(time, factor, numbers(table.cells[1], table.decimal_comma), unit, (said, *note))


_CAMEL = re.compile(r"([a-z])([A-Z])")


def _words(title: str) -> list[str]:
    """The words of a heading, small, split at brackets, slashes, underscores and changes of case."""
    whole = [word for word in re.split(r"[\W\d_]+", title) if word]
    known = {**FORCE_UNITS, **TIME_UNITS}
    return [
        w.lower() for word in whole for w in ([word] if word.lower() in known else _CAMEL.sub(r"\1 \2", word).split())
    ]


def _is_force(words: list[str]) -> bool:
    named = bool(set(words) & set(FORCE_WORDS)) or words[:1] == ["f"]
    return named or (bool(words) and all(w in FORCE_UNITS for w in words))


def _is_time(words: list[str]) -> bool:
    return (
        bool(set(words) & set(TIME_WORDS))
        or words[:1] == ["t"]
        or (bool(words) and all(w in TIME_UNITS for w in words))
    )


def _unit_in_cells(table: Table, column: int) -> str | None:
    found = {
        m[0].lower()
        for cell in table.cells[column][:50]
        if (m := re.search(r"[a-zA-Z]+\s*$", cell)) and re.match(r"\s*[-+.,\d]", cell)
    }
    units = {FORCE_UNITS[word.strip()] for word in found if word.strip() in FORCE_UNITS}
    return units.pop() if len(units) == 1 else None


def _time_factor(words: list[str], time: FloatArray, cells: list[str]) -> tuple[float, tuple[str, ...]]:
    if ":" in next((c for c in cells if c.strip()), ""):
        return 1.0, ()
    for word in reversed(words):
        if word in TIME_UNITS:
            return TIME_UNITS[word], ()
    steps = np.diff(time[np.isfinite(time)])
    steps = steps[steps > 0]
    if len(steps) and float(np.median(steps)) >= 4:
        return 1e-3, ("the unit of time is not written: read as milliseconds, from the step between readings",)
    return 1.0, ("the unit of time is not written: read as seconds",)


def numbers(cells: list[str], comma: bool) -> FloatArray:
    """Cells as numbers; clock times as seconds; NaN where there is none.

    >>> numbers(["1,5", "", "2,25 kg"], True)
    array([1.5 ,  nan, 2.25])
    >>> numbers(["10:00:01.5", "10:00:02"], False)
    array([36001.5, 36002. ])
    """
    swapped = [cell.replace(",", ".") for cell in cells] if comma else cells
    try:
        values = np.array([float(cell) for cell in swapped])
    except ValueError:
        values = np.array([_number(cell) for cell in swapped])
    return np.where(np.isfinite(values), values, np.nan)


_EPOCH = date(2020, 1, 1).toordinal()
"""Any near day will do: seconds since the year 1 would leave no digits for milliseconds."""
_LEADING = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*[a-zA-Zµ]{0,4}\s*$")
_CLOCK = re.compile(r"(?:(\d{4}-\d{1,2}-\d{1,2})[ T])?(?:(\d+):)?(\d+):(\d+(?:\.\d+)?)Z?$")


def _number(cell: str) -> float:
    if match := _LEADING.match(cell):
        return float(match[1])
    if match := _CLOCK.match(cell.strip()):
        day, hours, minutes, seconds = match.groups()
        days = datetime.fromisoformat(day).toordinal() - _EPOCH if day else 0
        return days * 86400.0 + int(hours or 0) * 3600 + int(minutes) * 60 + float(seconds)
    return float("nan")
