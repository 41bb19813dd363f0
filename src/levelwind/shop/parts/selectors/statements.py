"""What the book says around some places of patterns: who serves them, what takes the same, what replaces what.

A fixed number of queries, whatever the places are; each goes by an index and gives no more than ``MOST_ROWS``.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q
from django.db.models.functions import Coalesce, Upper

from levelwind.core.fits.chains import Alike, Book, Instead, Serves, Slot
from levelwind.shop.models import Fit, Part, Pattern, PatternPlace, Replacement
from levelwind.shop.parts.selectors.slots import FITS, PLACES, AtSlots
from levelwind.shop.parts.selectors.tried import Tried, tried_at

SAME_NUMBER_SURE = 0.95
"""A judgement: a maker's number is seldom given twice, and now and then changes its part without a word."""

AS_ANOTHER_SURE = 0.9
"""A judgement: a pattern begun as another one has the same in most places of which nobody said otherwise."""

MOST_ROWS = 2000
"""Rows of one question to the book: more than any place needs, and a screw that serves everywhere tells little. Our
choice."""

MOST_ELSEWHERE = 100
"""Other places of the parts that serve, looked at for what serves there too: our choice."""

MOST_SERVING = 100
"""Statements that something serves one place: more no person reads, and each is held against each. Our choice."""

MOST_ALIKE = 60
"""Places of one number, or patterns made as one, that are looked at: our choice."""

NUMBER, LIKE = "number", "like"
"""Why two slots take the same."""


@dataclass(frozen=True, slots=True)
class Said:
    """``fits`` are the rows behind the book's statements, by slot; ``numbered`` the parts of a slot's own number;
    ``tried`` what the shop's jobs tell; ``alike`` the slots that take the same."""

    book: Book
    fits: Mapping[Slot, tuple[Fit, ...]]
    numbered: Mapping[Slot, tuple[int, ...]]
    tried: Mapping[Slot, tuple[Tried, ...]]
    alike: tuple[Alike, ...] = ()


def said_around(targets: Mapping[Slot, str]) -> Said:
    """All that may tell what serves these slots, each with the maker's number of its piece."""
    alike = takes_the_same(targets)
    numbers = {slot: number.upper() for slot, number in targets.items() if number}
    near = {*targets, *(each.there for each in alike)}
    fits = fits_at(near)
    numbered = _numbered(numbers)
    serves = [Serves(fit.part_id, (fit.pattern_id, fit.place), fit.sure, fit.serves) for fit in fits]
    serves += [Serves(part, slot, SAME_NUMBER_SURE) for slot, parts in numbered.items() for part in parts]
    tried = tried_at(near)
    serves += [each.statement() for each in tried]
    known = {each.part for each in serves if each.serves}
    serves += _beyond({each.part for each in serves if each.serves and each.slot in targets}, near)
    by_slot: dict[Slot, tuple[Fit, ...]] = {}
    for fit in fits:
        by_slot[fit.pattern_id, fit.place] = (*by_slot.get((fit.pattern_id, fit.place), ()), fit)
    by_jobs: dict[Slot, tuple[Tried, ...]] = {}
    for each in tried:
        by_jobs[each.slot] = (*by_jobs.get(each.slot, ()), each)
    return Said(Book.of(serves, alike, _instead(known)), by_slot, numbered, by_jobs, tuple(alike))


def takes_the_same(targets: Mapping[Slot, str]) -> list[Alike]:
    """Every slot that takes what one of these takes, each with the maker's number of its piece."""
    counts: Counter[Slot] = Counter()
    kept = []
    for same in (*_same_number(targets), *_as_another(targets)):
        counts[same.here] += 1
        kept += [same] if counts[same.here] <= MOST_ALIKE else []
    return kept


def slots_numbered(numbers: Collection[str]) -> list[tuple[Slot, str]]:
    """Every slot whose piece has one of these numbers, in large letters, with the number."""
    if not numbers:
        return []
    rows = PatternPlace.objects.annotate(large=Upper("part_number")).filter(large__in=numbers, absent=False)
    return [((row[0], row[1]), row[2]) for row in rows.values_list("pattern_id", "key", "large")[:MOST_ROWS]]


def numbers_of(slots: Collection[Slot]) -> dict[Slot, str]:
    """The number of each slot's piece, empty where none is known; slots that a pattern lacks are left out."""
    rows = PatternPlace.objects.filter(AtSlots(slots, PLACES)) if slots else ()
    said = {(row.pattern_id, row.key): row for row in rows}
    return {slot: said[slot].part_number if slot in said else "" for slot in slots if not _absent(said.get(slot))}


def _absent(row: PatternPlace | None) -> bool:
    return row is not None and row.absent


def fits_at(slots: Collection[Slot]) -> list[Fit]:
    """What was said of these slots, the newest word last; of one that very many serve, the surest."""
    if not slots:
        return []
    said = Fit.objects.filter(AtSlots(slots, FITS), part__merged_into=None).order_by("pk")[:MOST_ROWS]
    served: Counter[Slot] = Counter()
    kept = set()
    for fit in sorted(said, key=lambda fit: -fit.sure):
        slot = (fit.pattern_id, fit.place)
        served[slot] += fit.serves
        kept |= {fit.pk} if not fit.serves or served[slot] <= MOST_SERVING else set()
    return [fit for fit in said if fit.pk in kept]


def _numbered(numbers: Mapping[Slot, str]) -> dict[Slot, tuple[int, ...]]:
    if not numbers:
        return {}
    parts = Part.objects.annotate(large=Upper("number")).filter(large__in=set(numbers.values()))
    by_number: dict[str, list[int]] = {}
    for pk, large in parts.values_list(Coalesce("merged_into", "pk"), "large"):
        by_number.setdefault(large, []).append(pk)
    return {slot: tuple(by_number.get(number, ())) for slot, number in numbers.items()}


def _same_number(targets: Mapping[Slot, str]) -> Iterable[Alike]:
    """A maker that gives two places one number puts one part there."""
    wanted: dict[str, list[Slot]] = {}
    for slot, number in targets.items():
        if number:
            wanted.setdefault(number.upper(), []).append(slot)
    for there, number in slots_numbered(wanted):
        yield from (Alike(here, there, SAME_NUMBER_SURE, NUMBER) for here in wanted[number] if here != there)


def _as_another(targets: Mapping[Slot, str]) -> Iterable[Alike]:
    """What fits a pattern fits those made as it, and the other way, but for places said to be otherwise."""
    kin = _kin({pk for pk, _ in targets})
    pairs = [(slot, young, old) for young, old in kin for slot in targets if slot[0] in (young, old)]
    near = {(pk, slot[1]) for slot, *both in pairs for pk in both}
    rows = PatternPlace.objects.filter(AtSlots(near, PLACES)) if near else ()
    said = {(row.pattern_id, row.key): row for row in rows}
    for slot, young, old in pairs:
        if _same_here(said.get((young, slot[1])), said.get((old, slot[1]))):
            yield Alike(slot, (old if slot[0] == young else young, slot[1]), AS_ANOTHER_SURE, LIKE)


def _kin(patterns: Collection[int]) -> list[tuple[int, int]]:
    """Pairs of a pattern and the one it was made as, one of which is among these."""
    rows = Pattern.objects.filter(Q(pk__in=patterns) | Q(like__in=patterns), like__isnull=False)
    return [(young, old) for young, old in rows.values_list("pk", "like_id")[:MOST_ROWS] if old]


def _same_here(young: PatternPlace | None, old: PatternPlace | None) -> bool:
    if (young and (young.otherwise or young.absent)) or _absent(old):
        return False
    numbers = [row.part_number.upper() for row in (young, old) if row and row.part_number]
    return len(set(numbers)) < 2


def _beyond(known: Collection[int], near: Collection[Slot]) -> Iterable[Serves]:
    """Where else the known parts serve, and what serves there."""
    fits = Fit.objects.filter(part__in=known, serves=True)
    elsewhere = {slot for slot in fits.values_list("pattern_id", "place")[:MOST_ELSEWHERE] if slot not in near}
    if elsewhere:
        there = Fit.objects.filter(AtSlots(elsewhere, FITS))
        rows = there.values_list("part_id", "pattern_id", "place", "sure", "serves")
        for part, pattern, place, sure, serves in rows[:MOST_ROWS]:
            yield Serves(part, (pattern, place), sure, serves)


def _instead(known: Collection[int]) -> list[Instead]:
    """What replaces the known parts, and what replaces that."""
    first = _replacing(known)
    return [*first, *_replacing({each.part for each in first} - set(known))]


def _replacing(parts: Collection[int]) -> list[Instead]:
    if not parts:
        return []
    rows = Replacement.objects.filter(instead_of__in=parts).values_list("part_id", "instead_of_id", "sure")
    return [Instead(part, of, sure) for part, of, sure in rows[:MOST_ROWS]]
