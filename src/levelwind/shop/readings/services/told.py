"""What a person may say of a recording: checked before it is kept, and said again in words for the job's history."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from levelwind.core.errors import InputError
from levelwind.core.notes import Note, newtons
from levelwind.core.quantities import SCALE_UNITS
from levelwind.core.spin.bearing import Bearing
from levelwind.recordings.spin_file import MOST_MARKS, MOST_SLOWED

MOST_N = 5000.0
"""No hanging scale of a workshop reads more than half a tonne. Common practice, no source."""
MOST_SPANS = 50
MOST_MM = 200.0
BEARING = ("balls", "ball_mm", "pitch_mm")


def _unit(value: object) -> object:
    if value not in tuple(SCALE_UNITS):
        raise InputError("unit", repr(value), "one of " + ", ".join(SCALE_UNITS))
    return value


def _number(what: str, value: object, low: float, high: float, unit: str = "") -> float:
    allowed = f"a number from {low:g} to {high:g}{unit}"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(what, repr(value), allowed)
    if not low <= value <= high:
        raise InputError(what, f"{value:g}{unit}", allowed)
    return float(value)


def _count(what: str, value: object, low: int, high: int) -> int:
    number = _number(what, value, low, high)
    if number != int(number):
        raise InputError(what, f"{number:g}", f"a whole number from {low} to {high}")
    return int(number)


def _capacity(value: object) -> object:
    return _number("the most the scale can read", value, 1, MOST_N, " N")


def _pair(what: str, value: object, allowed: str) -> tuple[object, object]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise InputError(what, repr(value), allowed)
    return value[0], value[1]


def _span(what: str, value: object) -> list[float]:
    """Seconds of the recording; whether they lie inside it, its reading finds out."""
    ends = [_number(what, end, 0, 86_400, " s") for end in _pair(what, value, "a start and an end in seconds")]
    if not ends[0] < ends[1]:
        raise InputError(what, f"{ends[0]:g} to {ends[1]:g} s", "a start before its end")
    return ends


def _spans(value: object) -> object:
    what = "the marked pull"
    if not isinstance(value, list | tuple) or not 1 <= len(value) <= MOST_SPANS:
        raise InputError("the marked pulls", "none" if value in ([], ()) else "no list", f"1 to {MOST_SPANS} of them")
    spans = sorted(_span(what, each) for each in value)
    for (start, end), (following, _) in pairwise(spans):
        if following < end:
            raise InputError(what, f"from {following:g} s, within the one from {start:g} s", "pulls side by side")
    return spans


def _between(value: object) -> object:
    return _span("the part to look at", value)


def _mark_at(value: object) -> object:
    what = "where the mark is"
    place = _pair(what, value, "how far across and how far down the picture, each from 0 to 1")
    return [_number(what, part, 0, 1) for part in place]


def _bearing(value: object) -> object:
    if not isinstance(value, Mapping) or set(value) != set(BEARING):
        raise InputError("the bearing", repr(value), "its number of balls, their diameter and their pitch diameter")
    balls = _count("balls", value["balls"], 3, 60)
    ball, pitch = (_number(name, value[key], 0.1, MOST_MM, " mm") for name, key in _LENGTHS)
    Bearing(balls, ball, pitch)
    return {"balls": balls, "ball_mm": ball, "pitch_mm": pitch}


_LENGTHS = (("ball diameter", "ball_mm"), ("pitch diameter", "pitch_mm"))


@dataclass(frozen=True, slots=True)
class _Say:
    """One thing that can be said: of which kind of reading, whether it can be so, and how it reads in the history."""

    kind: str
    checked: Callable[[object], object]
    words: Callable[[Any], str | Note]


SAYINGS: Mapping[str, _Say] = {
    "unit": _Say("pull", _unit, lambda unit: f"in {SCALE_UNITS[unit]}"),
    "capacity_N": _Say(
        "pull", _capacity, lambda most: Note.of("scale_limit", "on a scale that reads up to {most}", most=newtons(most))
    ),
    "spans_s": _Say("pull", _spans, lambda spans: f"with {_counted(len(spans), 'pull')} marked by hand"),
    "marks": _Say(
        "spin",
        lambda value: _count("marks a turn", value, 1, MOST_MARKS),
        lambda marks: f"with {_counted(marks, 'mark')} a turn",
    ),
    "slowed": _Say(
        "spin",
        lambda value: _number("how many times slower than life it plays", value, 1, MOST_SLOWED),
        lambda slowed: f"as played {slowed:g} times slower than life" if slowed != 1 else "as played at life's speed",
    ),
    "between_s": _Say("spin", _between, lambda ends: f"from {ends[0]:g} to {ends[1]:g} s"),
    "mark_at": _Say("spin", _mark_at, lambda place: "with the spool shown in the picture"),
    "bearing": _Say("spin", _bearing, lambda insides: f"listening for a bearing of {insides['balls']} balls"),
}


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def told_checked(kind: str, told: Mapping[str, Any]) -> dict[str, Any]:
    """``told`` as it is kept; a value of None takes back what was said before.

    Raises InputError for what cannot be said of this kind of reading, and for a value that cannot be.

    >>> told_checked("spin", {"marks": 4.0, "between_s": (1, 9.5)})
    {'marks': 4, 'between_s': [1.0, 9.5]}
    """
    return {key: None if value is None else _saying(kind, key).checked(value) for key, value in told.items()}


def _saying(kind: str, key: str) -> _Say:
    if key not in SAYINGS or SAYINGS[key].kind != kind:
        allowed = ", ".join(name for name, say in SAYINGS.items() if say.kind == kind)
        raise InputError(f"what is said of a {kind}", repr(key)[:60], f"one of {allowed}")
    return SAYINGS[key]


def told_joined(earlier: Mapping[str, Any], told: Mapping[str, Any]) -> dict[str, Any]:
    """What was said earlier with what is said now."""
    return {key: value for key, value in {**earlier, **told}.items() if value is not None}


def told_in_words(told: Mapping[str, Any], force_unit: str = "N") -> str:
    """For the job's history.

    >>> told_in_words({"marks": 4, "slowed": 8.0, "between_s": None})
    'with 4 marks a turn, as played 8 times slower than life, without some of what was said before'
    """
    words = (SAYINGS[key].words(value) for key, value in told.items() if value is not None)
    said = [each.words(force_unit) if isinstance(each, Note) else each for each in words]
    return ", ".join(said + ["without some of what was said before"] * (None in told.values()))
