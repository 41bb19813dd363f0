"""What a list may hold, a field at a time, and what a person said of how its numbers and days are written."""

from dataclasses import dataclass
from typing import Literal

Holds = Literal["text", "mail", "phone", "count", "money", "share", "number", "mm", "day", "yes or no"]
"""What stands in a field's cells."""


@dataclass(frozen=True, slots=True)
class Field:
    """A field of ours, and what others head such a column with.

    ``needed``: a row without it is refused. ``same``: it may be said once for every row.
    """

    key: str
    label: str
    called: tuple[str, ...] = ()
    holds: Holds = "text"
    needed: bool = False
    same: bool = False


@dataclass(frozen=True, slots=True)
class Written:
    """How a list writes what can be read two ways: the mark before decimals, and whether the day or the month is first.

    Empty where nothing in the list is in doubt.
    """

    decimal: str = "."
    order: str = ""


@dataclass(frozen=True, slots=True)
class Money:
    """The one money that sums may be in: its code, its sign, and figures after the point."""

    code: str
    sign: str
    decimals: int
