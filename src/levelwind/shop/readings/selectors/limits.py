"""What a pattern allows: end float and handle torque, and whether a reading keeps to it."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.quantities import Quantity
from levelwind.core.writing import written
from levelwind.shop.models import Pattern

WORDS = {
    "end_float": ("the bearings may be pinched", "the spool may knock or rub"),
    "turn": ("", "something drags: bearings, gear mesh or old grease"),
}
"""What too little and too much often mean: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Limit:
    """The least and the most a pattern allows of one reading; either may be unknown."""

    unit: str
    low: float | None
    high: float | None
    too_little: str = ""
    too_much: str = ""

    @property
    def words(self) -> str:
        """
        >>> Limit("mm", 0.1, 0.4).words
        '0.1 to 0.4 mm'
        >>> Limit("N m", None, 0.3).words
        'at most 0.3 N m'
        """
        if self.low is not None and self.high is not None:
            return f"{written(self.low)} to {written(self.high)} {self.unit}"
        if self.low is not None:
            return f"at least {written(self.low)} {self.unit}"
        return f"at most {written(self.high)} {self.unit}" if self.high is not None else ""

    def outside(self, reading: Quantity) -> str:
        """Nothing where the reading keeps to it; else on which side it is, how surely, and what that often means.

        >>> Limit("mm", 0.1, 0.4).outside(Quantity(0.55, 0.5, 0.6))
        'Too much: the pattern allows 0.1 to 0.4 mm.'
        >>> Limit("mm", 0.1, 0.4).outside(Quantity(0.42, 0.37, 0.47))
        'A little too much, by less than can be told: the pattern allows 0.1 to 0.4 mm.'
        """
        if self.low is not None and reading.value < self.low:
            side, sure, means = "too little", reading.high < self.low, self.too_little
        elif self.high is not None and reading.value > self.high:
            side, sure, means = "too much", reading.low > self.high, self.too_much
        else:
            return ""
        said = side.capitalize() if sure else f"A little {side}, by less than can be told"
        return f"{said}: the pattern allows {self.words}{f'; {means}' if means else ''}."


def limits_of(pattern: Pattern | None) -> Mapping[str, Limit]:
    """By kind of reading; a kind the pattern says nothing of is not there."""
    if pattern is None:
        return {}
    given = {
        "end_float": ("mm", pattern.end_float_low_mm, pattern.end_float_high_mm),
        "turn": ("N m", None, pattern.turn_most_Nm),
    }
    return {
        kind: Limit(unit, low, high, *WORDS[kind])
        for kind, (unit, low, high) in given.items()
        if low is not None or high is not None
    }
