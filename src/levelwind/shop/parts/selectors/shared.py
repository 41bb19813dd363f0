"""Which patterns share what: the same number of the maker's, or a part that serves both."""

from collections import Counter
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


def patterns_sharing(pattern: Pattern, places: tuple[PlaceInPattern, ...]) -> tuple[Shares, ...]:
    """The patterns that share most with this one, the most shared first. A fixed number of queries."""
    numbers = {place.key: place.part_number.upper() for place in places if place.part_number}
    same = {slot for slot, number in slots_numbered(set(numbers.values())) if numbers.get(slot[1]) == number}
    same |= _served_too(pattern)
    keys = {place.key for place in places}
    counts = Counter(pk for pk, key in same if pk != pattern.pk and key in keys)
    most = [pk for pk, _ in counts.most_common(MOST_PATTERNS)]
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
