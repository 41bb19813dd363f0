"""What a person may say of a film, a sound or a table of a spool running down."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.errors import InputError
from levelwind.core.options import LONGEST_WORDS, Span, check_each, count, number, pair, span
from levelwind.core.writing import written

MOST_MARKS = 60
"""Marks or ticks in one turn of a spool, at the most. Our choice."""
MOST_SLOWED = 100.0
"""How many times slower than life a film may play, at the most. Our choice."""
FEWEST_BALLS, MOST_BALLS = 3, 60
"""Balls of a bearing: fewer hold no ring. Our choice."""
LEAST_BALL_MM, MOST_BALL_MM = 0.3, 30.0
"""Diameter of a ball in mm: of any bearing that a reel can hold, and more. Our choice."""
LEAST_PITCH_MM, MOST_PITCH_MM = 1.0, 150.0
"""Diameter in mm of the circle through the balls' middles: likewise. Our choice."""
PITCH_OVER_BALL = 1.2
"""The circle through the middles of the balls is larger than a ball by more than this factor: three balls that touch
have 2/√3 = 1.155 (geometry), and a cage goes between them."""

INSIDES = {"balls": "balls", "ball_mm": "ball diameter", "pitch_mm": "pitch diameter"}
"""What a bearing is told by, in words."""


@dataclass(frozen=True, slots=True)
class Bearing:
    """A ball bearing by its insides: how many balls, their diameter, and that of the circle through their middles.

    Raises InputError for one that cannot be.
    """

    balls: int
    ball_mm: float
    pitch_mm: float

    def __post_init__(self) -> None:
        check_each(self, {"balls": _balls, "ball_mm": _ball_mm, "pitch_mm": _pitch_mm})
        if not PITCH_OVER_BALL * self.ball_mm < self.pitch_mm:
            allowed = f"well below the pitch diameter of {written(self.pitch_mm)} mm"
            raise InputError(INSIDES["ball_mm"], f"{written(self.ball_mm)} mm", allowed)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpinOptions:
    """Checked as it is made, whoever makes it. None: nothing was said.

    Raises InputError, in one sentence, for a value that cannot be.

    >>> SpinOptions(marks=4.0, bearing={"balls": 7, "ball_mm": 1.588, "pitch_mm": 7}).bearing
    Bearing(balls=7, ball_mm=1.588, pitch_mm=7.0)
    """

    marks: int | None = None
    """How many marks or ticks make a turn."""
    slowed: float | None = None
    """How many times slower than life a film plays."""
    between_s: Span | None = None
    """Only this part counts, in the seconds of the recording (of life, where it was slowed)."""
    mark_at: tuple[float, float] | None = None
    """A point on the spool, across and down the upright picture in parts of its width and height."""
    bearing: Bearing | None = None
    """Listen for this one in a sound."""

    def __post_init__(self) -> None:
        checks = {"marks": _marks, "slowed": _slowed, "between_s": _between_s, "mark_at": _mark_at, "bearing": _bearing}
        check_each(self, checks)


def _marks(value: object) -> int:
    return count("marks a turn", value, 1, MOST_MARKS)


def _slowed(value: object) -> float:
    return number("how many times slower than life it plays", value, 1, MOST_SLOWED)


def _between_s(value: object) -> Span:
    return span("the part to look at", value)


def _mark_at(value: object) -> tuple[float, float]:
    what = "where the mark is"
    across, down = pair(what, value, "how far across and how far down the picture, each from 0 to 1")
    return number(what, across, 0, 1), number(what, down, 0, 1)


def _bearing(value: object) -> Bearing:
    if isinstance(value, Bearing):
        return value
    allowed = "all three: balls, ball diameter and pitch diameter"
    if not isinstance(value, Mapping) or not set(value) <= set(INSIDES):
        raise InputError("the bearing", repr(value)[:LONGEST_WORDS], allowed)
    if missing := [words for name, words in INSIDES.items() if name not in value]:
        raise InputError("the bearing", f"without {' and '.join(missing)}", allowed)
    return Bearing(**value)


def _balls(value: object) -> int:
    return count(INSIDES["balls"], value, FEWEST_BALLS, MOST_BALLS)


def _ball_mm(value: object) -> float:
    return number(INSIDES["ball_mm"], value, LEAST_BALL_MM, MOST_BALL_MM, " mm")


def _pitch_mm(value: object) -> float:
    return number(INSIDES["pitch_mm"], value, LEAST_PITCH_MM, MOST_PITCH_MM, " mm")


NOTHING_SAID = SpinOptions()
