"""How long each step took, from the moments at which steps were ticked: a clock that forgives.

Nobody starts or stops it. A step took the time since the tick before it; a time far longer than such a step takes is a
pause that nobody told, and counts for nothing.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import fsum
from statistics import median

SHORTEST_PAUSE_MIN = 10.0
"""A time between ticks up to this is work, minutes, however small the step. Our choice: a hard screw, not a lunch."""
PAUSE_TIMES = 6.0
"""A time over this many times the book's minutes is a pause, where that is longer. Our choice."""
IN_A_ROW_MIN = 3.0 / 60.0
"""Ticks closer than this, minutes, were made in a row after the work, and share its time. Our choice: three seconds."""
FEWEST_TIMES = 3
"""Times of a step, of as many reels, from which the bench's own minutes are told. Our choice: the middle one of three
is not moved by one pause that was taken for work."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A step ticked ``at_min`` minutes after some fixed moment; ``book_min`` is what the book gives it, in minutes."""

    step: str
    at_min: float
    book_min: float


def longest_work_min(book_min: float) -> float:
    """The longest time, in minutes, that is still taken for work on steps of so many minutes in the book.

    >>> longest_work_min(0.4), longest_work_min(5.0)
    (10.0, 30.0)
    """
    return max(SHORTEST_PAUSE_MIN, PAUSE_TIMES * book_min)


def times_taken(ticks: Iterable[Tick]) -> dict[str, float]:
    """Minutes each step took, for those that can be told. The first tick has nothing before it to be told from.

    Steps ticked in a row share the time before them as the book's minutes have it.

    >>> times_taken([Tick("lid", 0.0, 1.0), Tick("nut", 2.0, 0.5), Tick("gear", 2.0, 1.5), Tick("dog", 62.0, 1.0)])
    {'nut': 0.5, 'gear': 1.5}
    """
    ordered = sorted(ticks, key=lambda tick: tick.at_min)
    took: dict[str, float] = {}
    before: float | None = None
    for row in _rows(ordered):
        last, book = row[-1].at_min, fsum(tick.book_min for tick in row)
        if before is not None and 0.0 < last - before <= longest_work_min(book):
            took |= _shared(row, last - before, book)
        before = last
    return took


def _rows(ordered: Sequence[Tick]) -> list[list[Tick]]:
    """The ticks with those made in a row together."""
    number, numbered = 0, []
    for index, tick in enumerate(ordered):
        number += bool(index and tick.at_min - ordered[index - 1].at_min > IN_A_ROW_MIN)
        numbered.append((number, tick))
    return [[tick for _, tick in row] for _, row in groupby(numbered, key=lambda pair: pair[0])]


def _shared(row: Sequence[Tick], minutes: float, book: float) -> dict[str, float]:
    if not book:
        return {tick.step: minutes / len(row) for tick in row}
    return {tick.step: minutes * tick.book_min / book for tick in row}


@dataclass(frozen=True, slots=True)
class OwnMinutes:
    """What a step takes at this bench: the middle of ``times`` times, in minutes."""

    minutes: float
    times: int


def own_minutes(reels: Iterable[Mapping[str, float]]) -> dict[str, OwnMinutes]:
    """The bench's own minutes of each step timed often enough, from the times of one reel after another.

    >>> own_minutes([{"lid": 1.0}, {"lid": 1.4}, {"lid": 9.0, "nut": 0.2}])
    {'lid': OwnMinutes(minutes=1.4, times=3)}
    """
    known: dict[str, list[float]] = {}
    for times in reels:
        for step, minutes in times.items():
            known.setdefault(step, []).append(minutes)
    return {step: OwnMinutes(median(took), len(took)) for step, took in known.items() if len(took) >= FEWEST_TIMES}
