"""Which column of a table is time, which is force, and what unit each is in."""

import re
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.notes import Note
from levelwind.core.quantities import FORCE_UNITS, METRES_PER
from levelwind.recordings.table import Table, listed

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

TIME_WORDS = (
    "time", "elapsed", "seconds", "timestamp", "zeit", "uhrzeit", "temps", "heure", "tiempo", "hora", "tempo", "ora",
    "tijd", "tid", "czas", "aika", "время", "clock", "durée",
)  # fmt: skip
FORCE_WORDS = (
    "force", "load", "weight", "tension", "pull", "drag", "reading", "value", "kraft", "gewicht", "zugkraft", "wert",
    "last", "poids", "charge", "effort", "fuerza", "carga", "peso", "forza", "carico", "força", "kracht", "siła",
    "voima", "сила", "вес",
)  # fmt: skip
NOT_FORCE_WORDS = ("torque", "moment", "drehmoment", "couple", "acceleration", "accel")
"""Their units hold those of force, or look like them."""
AGGREGATE_WORDS = ("peak", "max", "maximum", "minimum", "average", "avg", "mean", "raw", "limit", "target")
TRAVEL_WORDS = ("travel", "distance", "position", "drawn", "weg", "distancia", "corsa", "course")
TIME_UNITS = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0, "sek": 1.0, "sekunde": 1.0, "sekunden": 1.0,
    "seconde": 1.0, "secondes": 1.0, "segundos": 1.0, "secondi": 1.0, "seconden": 1.0, "с": 1.0, "сек": 1.0,
    "ms": 1e-3, "msec": 1e-3, "msecs": 1e-3, "millis": 1e-3, "millisecond": 1e-3, "milliseconds": 1e-3,
    "millisekunden": 1e-3, "millisecondes": 1e-3, "мс": 1e-3, "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "micros": 1e-6,
    "microseconds": 1e-6, "min": 60.0, "mins": 60.0, "minute": 60.0, "minutes": 60.0, "minuten": 60.0,
    "minutos": 60.0, "мин": 60.0, "h": 3600.0, "hours": 3600.0,
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Times and forces as numbers in the file's own units, NaN where a cell is blank."""

    time: FloatArray | None
    time_factor: float
    force: FloatArray
    unit: str | None
    cautions: tuple[Note, ...]
    travel_m: FloatArray | None = None


def choose_columns(table: Table, name: str) -> Columns:
    """Pick time and force by their names, or by order where nothing is named. Raises InputError where neither tells."""
    if not table.names:
        return _unnamed(table, name)
    words = [words_of(title) for title in table.names]
    time = time_column(table.names, words, table.cells)
    others = [i for i in range(len(words)) if i != time and not _COMPOUND.search(table.names[i])]
    forces = [i for i in others if _is_force(words[i])] or [
        i for i in others if _bracketed(table.names[i], FORCE_UNITS)
    ]
    forces = [i for i in forces if any(map(_NUMBERED.search, table.cells[i]))] or forces
    if not forces:
        raise InputError(name, f"without a force column (it has {listed(table.names)})", "a column named force")
    force = min(forces, key=lambda i: _doubts(words[i]))
    if _clocked(table.cells[force]):
        raise InputError(f"the force in {name}", "written with colons", "plain numbers in one unit")
    several = Note.of("force_columns", "of several force columns, {name} is read", name=repr(table.names[force]))
    cautions = [several] if len(forces) > 1 else []
    unit = (
        next((FORCE_UNITS[w] for w in reversed(words[force]) if w in FORCE_UNITS), None)
        or _unit_in_cells(table, force)
        or _unit_in_a_column(table, time)
    )
    values = numbers(table.cells[force], table.decimal_comma)
    if time is None:
        return Columns(None, 1.0, values, unit, tuple(cautions))
    moments = times(table.cells[time], table.decimal_comma)
    factor, note = _time_factor(words[time], moments, table.cells[time])
    return Columns(moments, factor, values, unit, (*cautions, *note), _travel(table, words))


_COMPOUND = re.compile(
    r"\b(?:[kmd]?n|daN|kgf?|kp|gf?|lbf?|ozf?)(?:\s?[·*.⋅/ -]\s?(?:[cm]?m)|[·*.⋅/-](?:in|ft))(?:2|3|²|³|\^\d)?\b"
    r"|\b(?:[kmd]?n|kgf?)[cm]?m\b",
    re.I,
)
"""A unit of force times or by a length: of torque, pressure, stiffness."""
_DAY = re.compile(r"\s*\[?\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\s*")
_NUMBERED = re.compile(r"\d")


def time_column(names: Sequence[str], words: list[list[str]], cells: Sequence[list[str]]) -> int | None:
    """By name, one that says its unit first; else by its unit in brackets; else by its clock times."""
    named = [i for i, w in enumerate(words) if _is_time(w)]
    if named:
        return min(named, key=lambda i: not set(words[i]) & TIME_UNITS.keys())
    every = range(len(words))
    bracketed = [i for i in every if _bracketed(names[i], TIME_UNITS)]
    clocks = [i for i in every if _clocked(cells[i])]
    return next(iter(bracketed + clocks), None)


def _clocked(cells: Sequence[str]) -> bool:
    return sum(":" in cell for cell in cells) > 0.5 * len(cells)


def _bracketed(title: str, units: Mapping[str, object]) -> bool:
    """Whether it ends in one of these units between brackets, whatever language stands before it."""
    found = re.search(r"[\[(<]\s*(\w+)\s*[\])>]\s*$", title)
    return found is not None and found[1].lower() in units and not set(words_of(title)) & set(NOT_FORCE_WORDS)


def is_aggregate(words: list[str]) -> bool:
    """Whether a heading is of a highest, a mean or the like, and not of the moment; min within it is a unit."""
    return bool(set(words) & set(AGGREGATE_WORDS)) or words[:1] == ["min"]


def _doubts(words: list[str]) -> tuple[bool, bool, bool]:
    """Less for what is likelier the force moment by moment."""
    known, unit = set(words), any(word in FORCE_UNITS for word in words)
    return is_aggregate(words), not known & set(FORCE_WORDS[:6]), not unit


def _travel(table: Table, words: list[list[str]]) -> FloatArray | None:
    """How far the scale was drawn, where a column says so with its unit."""
    for column, named in enumerate(words):
        unit = next((METRES_PER[w] for w in named if w in METRES_PER), None)
        if unit is not None and set(named) & set(TRAVEL_WORDS):
            return numbers(table.cells[column], table.decimal_comma) * unit
    return None


def _unnamed(table: Table, name: str) -> Columns:
    kept = [i for i, cells in enumerate(table.cells) if any(map(_NUMBERED.search, cells))]
    if any(_clocked(table.cells[i]) for i in kept):  # a day beside it says no more
        kept = [i for i in kept if not _DAY.fullmatch(table.cells[i][0])]
    if len(kept) != 2:
        raise InputError(name, f"{len(kept)} columns without names", "a header that names time and force")
    moments = times(table.cells[kept[0]], table.decimal_comma)
    factor, note = _time_factor([], moments, table.cells[kept[0]])
    unit = _unit_in_cells(table, kept[1]) or _unit_in_a_column(table, kept[0])
    unnamed = "the columns have no names: the first is read as time, the second as force"
    return Columns(
        moments,
        factor,
        numbers(table.cells[kept[1]], table.decimal_comma),
        unit,
        (Note.of("columns_unnamed", unnamed), *note),
    )


_CAMEL = re.compile(r"([a-z]{2})([A-Z])")
"""After two small letters at least: a prefix that is not known, as in hN, is no word of its own."""


def words_of(title: str) -> list[str]:
    """The words of a heading, small, split at brackets, slashes, underscores and changes of case."""
    whole = [word for word in re.split(r"[\W\d_]+", title) if word]
    known = {**FORCE_UNITS, **TIME_UNITS}
    return [w.lower() for word in whole for w in ([word] if word.lower() in known else apart(word).split())]


def apart(words: str) -> str:
    """A blank at each change of case.

    >>> apart("spoolSpeed hN")
    'spool Speed hN'
    """
    return _CAMEL.sub(r"\1 \2", words)


def _is_force(words: list[str]) -> bool:
    if set(words) & set(NOT_FORCE_WORDS):
        return False
    named = bool(set(words) & set(FORCE_WORDS)) or words[:1] == ["f"]
    return named or (bool(words) and all(w in FORCE_UNITS for w in words))


def _is_time(words: list[str]) -> bool:
    return (
        bool(set(words) & set(TIME_WORDS))
        or words[:1] == ["t"]
        or (bool(words) and all(w in TIME_UNITS for w in words))
    )


def _unit_in_cells(table: Table, column: int) -> str | None:
    if any(map(_POUNDS_OUNCES.match, table.cells[column][:50])):
        return "lbf"
    found = {
        m[0].lower()
        for cell in table.cells[column][:50]
        if (m := re.search(r"[a-zA-Z]+\s*$", cell)) and re.match(r"\s*[-+.,\d]", cell)
    }
    units = {FORCE_UNITS[word.strip()] for word in found if word.strip() in FORCE_UNITS}
    return units.pop() if len(units) == 1 else None


def _unit_in_a_column(table: Table, time: int | None) -> str | None:
    """A column of its own that says one unit of force on every line."""
    for column, cells in enumerate(table.cells):
        said = next((cell for cell in cells if cell.strip()), "") if column != time else ""
        word = said.strip().lower()
        if word in FORCE_UNITS and all(cell.strip().lower() in (word, "") for cell in cells):
            return FORCE_UNITS[word]
    return None


def _time_factor(words: list[str], time: FloatArray, cells: list[str]) -> tuple[float, tuple[Note, ...]]:
    if ":" in next((c for c in cells if c.strip()), ""):
        return 1.0, ()
    for word in reversed(words):
        if word in TIME_UNITS:
            return TIME_UNITS[word], ()
    steps = np.diff(time[np.isfinite(time)])
    steps = steps[steps > 0]
    if len(steps) and float(np.median(steps)) >= 4:
        by_step = "the unit of time is not written: read as milliseconds, from the step between readings"
        return 1e-3, (Note.of("time_in_ms", by_step),)
    return 1.0, (Note.of("time_in_s", "the unit of time is not written: read as seconds"),)


def times(cells: list[str], comma: bool) -> FloatArray:
    """As ``numbers``; a clock that shows no date goes on past midnight.

    >>> times(["23:59:59.5", "0:00:00.5"], False)
    array([86399.5, 86400.5])
    """
    found = numbers(cells, comma)
    if ":" not in next((cell for cell in cells if cell.strip()), "") or any(map(_DATED.search, cells)):
        return found
    seen = np.isfinite(found)
    midnights = np.cumsum(np.diff(found[seen], prepend=found[seen][:1]) < -HALF_DAY_S)
    found[seen] += 86400.0 * midnights
    return found


def out_of_order(time: FloatArray) -> BoolArray:
    """Which few times stand out of the order of all others, as a line that was garbled does; none where many do.

    >>> out_of_order(np.append(np.arange(150.0), [9.0, 151.0])).nonzero()[0]
    array([150])
    """
    kept: list[int] = []
    ends: list[float] = []
    before = np.full(len(time), -1)
    for i, moment in enumerate(time.tolist()):  # the longest run that never falls: of each length, the lowest end
        at = bisect_right(ends, moment)
        before[i] = kept[at - 1] if at else -1
        kept[at : at + 1], ends[at : at + 1] = [i], [moment]
    odd = np.ones(len(time), bool)
    last = kept[-1]
    while last >= 0:
        odd[last], last = False, before[last]
    few = odd.sum() <= max(MOST_GARBLED * len(time), len(time) >= FEWEST_IN_ORDER)
    return odd if few else np.zeros(len(time), bool)


def numbers(cells: list[str], comma: bool) -> FloatArray:
    """Cells as numbers; clock times as seconds; NaN where there is none. ``comma``: fractions begin at a comma.

    >>> numbers(["1,5", "", "2,25 kg"], True), numbers(["1.234,5"], True)
    (array([1.5 ,  nan, 2.25]), array([1234.5]))
    >>> numbers(["10:00:01.5", "10:00:02"], False)
    array([36001.5, 36002. ])
    """
    plain = not comma or not any("." in cell for cell in cells)
    try:
        if not plain:
            raise ValueError  # a point may stand between thousands
        values = np.array([float(cell.replace(",", ".") if comma else cell) for cell in cells])
    except ValueError:
        values = np.array([_number(cell, comma) for cell in cells])
    return np.where(np.isfinite(values), values, np.nan)


MOST_GARBLED, FEWEST_IN_ORDER = 0.01, 20
"""Of a table's times, or one of so many: more out of order is no slip of the wire, but times that run backwards. A
judgement."""
HALF_DAY_S = 43_200.0
_EPOCH = date(2020, 1, 1).toordinal()
"""Any near day will do: seconds since the year 1 would leave no digits for milliseconds."""
_LEADING = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*[a-zA-Zµ%°]{0,4}\s*$")
_THOUSANDS = {
    mark: re.compile(rf"\s*[-+]?[1-9]\d{{0,2}}(?:[{group}'’\s]\d{{3}})+(?!\d)(?={mark}|[^\d]|$)")
    for mark, group in ((r"\.", ","), (",", "."))
}
_DATED = re.compile(r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})[ T,]")
_CLOCK = re.compile(
    r"(?:(?P<h>\d+):)?(?P<m>\d+):(?P<s>\d+(?:[.,]\d*)?)(?::(?P<f>\d+))?\s*(?:(?P<half>[ap])\.?m\.?)?"
    r"(?:Z|[-+]\d\d:?\d\d)?$",
    re.I,
)


_POUNDS_OUNCES = re.compile(r"\s*([-+]?)(\d+)\s*lbs?\.?\s*(\d+(?:[.,]\d+)?)\s*oz\.?\s*$", re.I)
_OUNCES_A_POUND = 16.0
"""International avoirdupois pound."""


def _number(cell: str, comma: bool) -> float:
    """One cell; pounds and ounces together are pounds.

    >>> _number("4lb 7.9oz", False)
    4.49375
    """
    if ":" in cell:
        return _clock(cell.strip().strip("[]"))
    if both := _POUNDS_OUNCES.match(cell):
        pounds = float(both[2]) + float(both[3].replace(",", ".")) / _OUNCES_A_POUND
        return -pounds if both[1] == "-" else pounds
    if grouped := _THOUSANDS["," if comma else r"\."].match(cell):
        cell = re.sub(r"[.,'’\s]", "", grouped[0]) + cell[grouped.end() :]
    match = _LEADING.match(cell.replace(",", "."))
    return float(match[1]) if match else float("nan")


def _clock(cell: str) -> float:
    """Seconds since midnight, or since a day not long ago where it is dated."""
    days = 0
    if dated := _DATED.match(cell):
        days, cell = _day(*(int(part) for part in dated.groups())), cell[dated.end() :].strip()
    match = _CLOCK.match(cell)
    if match is None:
        return float("nan")
    hours = int(match["h"] or 0)
    if match["half"]:
        hours = hours % 12 + 12 * (match["half"].lower() == "p")
    whole = days * 86400.0 + hours * 3600 + int(match["m"]) * 60 + float(match["s"].replace(",", "."))
    return whole + (float(f"0.{match['f']}") if match["f"] else 0.0)


def _day(first: int, second: int, third: int) -> int:
    """Days since a near day: year first, or last with the day before the month unless that cannot be."""
    year, month, day = (first, second, third) if first > 31 else (third, second, first)
    if month > 12:
        month, day = day, month
    try:
        return date(year, month, day).toordinal() - _EPOCH
    except ValueError:
        return 0
