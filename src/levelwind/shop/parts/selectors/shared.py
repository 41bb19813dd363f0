"""Which patterns share what: the same number of the maker's, or a part that serves both."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from levelwind.core.fits.chains import Slot
from levelwind.shop.models import Fit, Pattern, PatternPlace
from levelwind.shop.parts.selectors.statements import MOST_ROWS, slots_numbered
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern

MOST_PATTERNS = 8
"""Patterns told, those that share most: our choice."""


@dataclass(frozen=True, slots=True)
class Shares:
    """Names of the places where another pattern has the same, and of those where its number is another."""

    pattern: Pattern
    same: tuple[str, ...]
    otherwise: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SharedPlace:
    """One line of the map: for each of the patterns "same", "different", or nothing where nobody knows."""

    name: str
    marks: tuple[str, ...]


def shared_map(sharing: Sequence[Shares], places: Sequence[PlaceInPattern]) -> tuple[SharedPlace, ...]:
    """A line for each place of which anything is known, in the order of the places."""
    lines = []
    for name in dict.fromkeys(place.name for place in places):
        marks = tuple("same" if name in one.same else "different" if name in one.otherwise else "" for one in sharing)
        lines += [SharedPlace(name, marks)] if any(marks) else []
    return tuple(lines)


def patterns_sharing(pattern: Pattern, places: tuple[PlaceInPattern, ...]) -> tuple[Shares, ...]:
    """The patterns that share most with this one, the most shared first. A fixed number of queries."""
    numbers = {place.key: place.part_number.upper() for place in places if place.part_number}
    same = {slot for slot, number in slots_numbered(set(numbers.values())) if numbers.get(slot[1]) == number}
    same |= _served_too(pattern)
    keys = {place.key for place in places}
    counts = Counter(pk for pk, key in same if pk != pattern.pk and key in keys)
    most = sorted(counts, key=lambda pk: (-counts[pk], pk))[:MOST_PATTERNS]
    theirs = PatternPlace.objects.filter(pattern__in=most, absent=False).exclude(part_number="")
    named = [(row.pattern_id, row.key, row.part_number.upper()) for row in theirs]
    other = {(pk, key) for pk, key, number in named if numbers.get(key, number) != number}
    patterns = Pattern.objects.in_bulk(most)
    return tuple(
        Shares(
            patterns[pk],
            tuple(place.name for place in places if (pk, place.key) in same),
            tuple(place.name for place in places if (pk, place.key) in other - same),
        )
        for pk in most
    )


def _served_too(pattern: Pattern) -> set[Slot]:
    """Where a part that serves a place here serves the same place there."""
    mine = list(Fit.objects.filter(pattern=pattern, serves=True).values_list("part", "place")[:MOST_ROWS])
    pairs = set(mine)
    there = Fit.objects.filter(part__in={part for part, _ in mine}, serves=True).exclude(pattern=pattern)
    rows = there.values_list("part", "pattern", "place")[:MOST_ROWS]
    return {(pk, place) for part, pk, place in rows if (part, place) in pairs}
