"""What a person may say beside a recording: how each value is checked, wherever it comes from, and how it is kept.

``pull.options`` and ``spin.options`` have the classes. A value of None is one of which nothing was said.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any, TypeVar

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError
from levelwind.core.writing import written

Span = tuple[float, float]
"""A start and an end in seconds of the recording."""

LONGEST_S = 86_400.0
"""Seconds: no recording of one reel goes on for longer than a day. Our choice."""
LONGEST_WORDS = 60
"""How much of a value that cannot be is told again, in letters. Our choice."""

LARGEST_SHOWN = 1e15
"""Beyond this a number is told as it came: Python's whole numbers have no end. Our choice."""

T = TypeVar("T")


def number(what: str, value: object, low: float, high: float, unit: str = "") -> float:
    """``value`` as a number from ``low`` to ``high``. Raises InputError for any other.

    >>> number("how many times slower than life it plays", 8, 1, 100)
    8.0
    """
    allowed = f"a number from {written(low)} to {written(high)}{unit}"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(what, repr(value)[:LONGEST_WORDS], allowed)
    if not low <= value <= high:
        raise InputError(what, f"{_shown(value)}{unit}", allowed)
    return float(value)


def count(what: str, value: object, low: int, high: int) -> int:
    """``value`` as a whole number from ``low`` to ``high``. Raises InputError for any other.

    >>> count("marks a turn", 4.0, 1, 60)
    4
    """
    allowed = f"a whole number from {low} to {high}"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(what, repr(value)[:LONGEST_WORDS], allowed)
    if not low <= value <= high or value != int(value):
        raise InputError(what, _shown(value), allowed)
    return int(value)


def _shown(value: float) -> str:
    return written(value) if abs(value) < LARGEST_SHOWN else repr(value)[:LONGEST_WORDS]


def pair(what: str, value: object, allowed: str) -> tuple[object, object]:
    """Raises InputError for anything but two values; ``allowed`` says which two."""
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise InputError(what, repr(value)[:LONGEST_WORDS], allowed)
    return value[0], value[1]


def span(what: str, value: object) -> Span:
    """A start before its end, in seconds; whether they lie inside the recording, its reading finds out.

    >>> span("the marked pull", [1, 3.5])
    (1.0, 3.5)
    """
    start, end = (number(what, end, 0, LONGEST_S, " s") for end in pair(what, value, "a start and an end in seconds"))
    if not start < end:
        raise InputError(what, f"{written(start)} to {written(end)} s", "a start before its end")
    return start, end


def check_each(options: object, checks: Mapping[str, Callable[[object], object]]) -> None:
    """Hold each field of a frozen dataclass to its check, which gives the value it keeps."""
    for name, check in checks.items():
        value = getattr(options, name)
        if value is not None:
            object.__setattr__(options, name, check(value))


def options_from(kind: type[T], said: Mapping[str, Any], of: str) -> T:
    """The options of one kind of recording from what was said ``of`` it, by their names.

    Raises InputError for what cannot be said of it and for a value that cannot be.
    """
    names = [each.name for each in fields(kind)]  # type: ignore[arg-type]
    for name in said:
        if name not in names:
            raise InputError(f"what is said of a {of}", repr(name)[:LONGEST_WORDS], f"one of {', '.join(names)}")
    return kind(**said)


def said_in(options: object) -> dict[str, Any]:
    """As the book keeps it: plain, by name, without what nothing was said of."""
    return {name: value for name, value in as_stored(options).items() if value is not None}
