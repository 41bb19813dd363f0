"""Which column holds what, from its heading and from what stands in it: a suggestion that a person looks at."""

import re
from collections.abc import Callable, Mapping, Sequence
from difflib import SequenceMatcher

import numpy as np
from scipy.optimize import linear_sum_assignment

from levelwind.core.columns.cells import LONGEST, decimal_mark, number, yes_or_no
from levelwind.core.columns.cells import day as read_day
from levelwind.core.columns.model import Field, Holds
from levelwind.core.errors import InputError

LEAST = 0.5
"""Of 1: a column that fits a field less well is not suggested for it; our choice."""
ALIKE = 0.86
"""Part of its letters that two headings share when they are one, but for a slip or an ending; our choice."""
LOOKED_AT = 50
"""Cells of a column that are looked at; our choice."""
FILLED_BY_ITSELF = {"mail": 0.8}
"""What a column is worth by its cells, whatever its heading: mail addresses look like nothing else. Our choice."""
FIRST_SERVED = 0.05
"""Of 1: so much more is a column worth to a field that no row can be without; our choice."""
WRONG_INSIDE = 0.3
"""What a heading is worth over cells that are something else; our choice."""

_MAIL = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s.]+")
_PHONE = re.compile(r"[-+()/.\d\s]{5,}")


def words_of(heading: str) -> str:
    """A heading as headings are compared: small letters, no units in brackets, single blanks.

    >>> words_of("What_we charge (USD)"), words_of("E-Mail:")
    ('what we charge', 'e mail')
    """
    without = re.sub(r"\([^)]{0,40}\)|\[[^\]]{0,40}\]", " ", heading[:120].casefold())
    return " ".join(re.findall(r"[^\W_]+|#", without))


def guess(fields: Sequence[Field], headings: Sequence[str], columns: Sequence[Sequence[str]]) -> dict[str, int]:
    """By a field's key, the column that most likely holds it; each column at most once.

    >>> name, mail = Field("name", "name", ("customer",)), Field("mail", "e-mail", ("email",), "mail")
    >>> guess([name, mail], ["Nr", "Customer name", "Contact"], [["1"], ["Ansa Vell"], ["ansa@example.com"]])
    {'name': 1, 'mail': 2}
    """
    if not fields or not headings:
        return {}
    seen = [[cell.strip() for cell in column if cell.strip()][:LOOKED_AT] for column in columns]
    worth = np.array([[_worth(field, *column) for column in zip(headings, seen, strict=True)] for field in fields])
    rows, chosen = linear_sum_assignment(worth, maximize=True)
    return {
        fields[row].key: int(column) for row, column in zip(rows, chosen, strict=True) if worth[row, column] >= LEAST
    }


def heading_row(rows: Sequence[Sequence[str]]) -> int:
    """Which of the first rows holds the headings, from 0; what a list's title says above them is passed over.

    >>> heading_row([["Stock of 2025"], [], ["Number", "Name"], ["Q-1", "washer"]])
    2
    """
    filled = [sum(bool(cell.strip()) for cell in row) for row in rows[:LOOKED_AT]]
    wide = max(filled, default=0)
    return next((n for n, count in enumerate(filled) if count and count >= 0.6 * wide), 0)


def _worth(field: Field, heading: str, cells: Sequence[str]) -> float:
    named = max((_alike(words_of(heading), words_of(name)) for name in (field.label, *field.called)), default=0.0)
    right = _right_inside(field.holds, cells)
    if named and field.needed:
        named += FIRST_SERVED
    if right is None:
        return named
    if right < WRONG_INSIDE:
        return named * WRONG_INSIDE
    return max(named, FILLED_BY_ITSELF.get(field.holds, 0.0) * right)


def _alike(heading: str, name: str) -> float:
    if not heading or not name:
        return 0.0
    if heading == name or heading.replace(" ", "") == name.replace(" ", ""):
        return 1.0
    ours, theirs = set(name.split()), set(heading.split())
    if ours <= theirs:
        return 0.6 + 0.3 * len(ours) / len(theirs)
    return 0.6 if SequenceMatcher(None, heading, name).ratio() >= ALIKE else 0.0


def _right_inside(holds: Holds, cells: Sequence[str]) -> float | None:
    """What part of a column's cells can be what the field holds; None where anything can, or nothing stands there."""
    test = _TESTS.get(holds)
    return sum(map(test, cells)) / len(cells) if test and cells else None


def _read(reads: Callable[[str], object]) -> Callable[[str], bool]:
    def can(cell: str) -> bool:
        try:
            reads(cell)
        except InputError:
            return False
        return True

    return can


def _a_number(cell: str) -> object:
    figures = re.sub(r"[^\d.,'’ \u00a0\u202f+-]+", "", cell[:LONGEST])
    return number(figures, "," if decimal_mark([figures]) == "," else ".")


def _a_day(cell: str) -> bool:
    return _read(lambda text: read_day(text, "day"))(cell) or _read(lambda text: read_day(text, "month"))(cell)


_TESTS: Mapping[Holds, Callable[[str], bool]] = {
    "mail": lambda cell: bool(_MAIL.fullmatch(cell)),
    "phone": lambda cell: bool(_PHONE.fullmatch(cell)),
    "count": _read(_a_number),
    "money": _read(_a_number),
    "share": _read(_a_number),
    "day": _a_day,
    "yes or no": _read(yes_or_no),
}
