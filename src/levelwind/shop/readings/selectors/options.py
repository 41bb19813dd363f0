"""What a person said of a recording, as its reading keeps it: checked, joined to what was said before, and in words."""

from collections.abc import Callable, Mapping
from typing import Any

from levelwind.core.notes import Note, newtons
from levelwind.core.options import options_from, said_in
from levelwind.core.pull import PullOptions
from levelwind.core.quantities import SCALE_UNITS
from levelwind.core.spin import SpinOptions
from levelwind.core.writing import written

OPTIONS: Mapping[str, type[PullOptions | SpinOptions]] = {"pull": PullOptions, "spin": SpinOptions}
"""By kind of reading."""
WORDS: Mapping[str, Callable[[Any], str | Note]] = {
    "unit": lambda unit: f"in {SCALE_UNITS[unit]}",
    "capacity_N": lambda most: Note.of("scale_limit", "on a scale that reads up to {most}", most=newtons(most)),
    "spans_s": lambda spans: f"with {_counted(len(spans), 'pull')} marked by hand",
    "marks": lambda marks: f"with {_counted(marks, 'mark')} a turn",
    "slowed": lambda times: (
        f"as played {written(times)} times slower than life" if times != 1 else "as played at life's speed"
    ),
    "between_s": lambda ends: f"from {written(ends[0])} to {written(ends[1])} s",
    "mark_at": lambda place: "with the spool shown in the picture",
    "bearing": lambda insides: f"listening for a bearing of {insides['balls']} balls",
}
"""How each reads in the job's history."""


def options_joined(kind: str, earlier: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """What was said earlier with what is said now, as it is kept; None takes back what was said before.

    Raises InputError for what cannot be said of this kind of reading, and for a value that cannot be.

    >>> options_joined("spin", {"marks": 3, "slowed": 8.0}, {"marks": 4.0, "between_s": (1, 9.5), "slowed": None})
    {'marks': 4, 'between_s': [1.0, 9.5]}
    """
    return said_in(options_from(OPTIONS[kind], {**earlier, **now}, kind))


def options_in_words(said: Mapping[str, Any], force_unit: str = "N") -> str:
    """For the job's history; None is what was taken back.

    >>> options_in_words({"marks": 4, "slowed": 8.0, "between_s": None})
    'with 4 marks a turn, as played 8 times slower than life, without some of what was said before'
    """
    words = (WORDS[name](value) for name, value in said.items() if value is not None)
    each = [word.words(force_unit) if isinstance(word, Note) else word for word in words]
    return ", ".join(each + ["without some of what was said before"] * (None in said.values()))


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
