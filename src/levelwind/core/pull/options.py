"""What a person may say of a force log."""

from dataclasses import dataclass
from itertools import pairwise

from levelwind.core.errors import InputError
from levelwind.core.options import LONGEST_WORDS, Span, check_each, number, span
from levelwind.core.quantities import SCALE_UNITS
from levelwind.core.writing import written

LEAST_SCALE_N, MOST_SCALE_N = 0.1, 5000.0
"""N, the most that a hanging scale may read: no workshop's reads more than half a tonne. Common practice, no source."""
MOST_SPANS = 50
"""Pulls that may be marked in one log. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PullOptions:
    """Checked as it is made, whoever makes it. None: nothing was said.

    Raises InputError, in one sentence, for a value that cannot be.

    >>> PullOptions(spans_s=[(7, 9), (1.5, 3)]).spans_s
    ((1.5, 3.0), (7.0, 9.0))
    """

    unit: str | None = None
    """What the forces are in, one of ``SCALE_UNITS``; it wins over what the file says."""
    capacity_N: float | None = None
    """The most the scale can read."""
    spans_s: tuple[Span, ...] | None = None
    """Where the pulls are, if they were marked by hand, in order: only those count."""

    def __post_init__(self) -> None:
        check_each(self, {"unit": _unit, "capacity_N": _capacity_N, "spans_s": _spans_s})


def _unit(value: object) -> str:
    if not isinstance(value, str) or value not in SCALE_UNITS:
        raise InputError("unit", repr(value)[:LONGEST_WORDS], "one of " + ", ".join(SCALE_UNITS))
    return value


def _capacity_N(value: object) -> float:
    return number("the most the scale can read", value, LEAST_SCALE_N, MOST_SCALE_N, " N")


def _spans_s(value: object) -> tuple[Span, ...]:
    what = "the marked pull"
    if not isinstance(value, list | tuple) or not 1 <= len(value) <= MOST_SPANS:
        was = f"{len(value) or 'none'}" if isinstance(value, list | tuple) else "no list"
        raise InputError("the marked pulls", was, f"1 to {MOST_SPANS} of them")
    spans = sorted(span(what, each) for each in value)
    for (start, end), (following, _) in pairwise(spans):
        if following < end:
            raise InputError(
                what, f"from {written(following)} s, within the one from {written(start)} s", "pulls side by side"
            )
    return tuple(spans)


NOTHING_SAID = PullOptions()
