"""Where a part serves, by the same statements that offer it there."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from levelwind.core.fits.chains import Slot, inferred
from levelwind.shop.models import Fit, Part, Pattern, Piece, Replacement
from levelwind.shop.parts.selectors.fits import Saying, guess, names_of, said_of, word_against
from levelwind.shop.parts.selectors.statements import numbers_of, said_around, slots_numbered
from levelwind.shop.patterns.selectors.layouts import pattern_family

MOST_SLOTS = 300
"""Places looked at for one part: our choice."""


@dataclass(frozen=True, slots=True)
class PlaceServed:
    """A place in words, and the fit that was said of it; none where it follows from a number or from other places."""

    key: str
    name: str
    fit: int | None


@dataclass(frozen=True, slots=True)
class PlacesServed:
    """Places of one pattern for which one reason tells the same; ``denied``: that the part does not fit."""

    pattern: Pattern
    saying: Saying
    rows: tuple[PlaceServed, ...]
    denied: bool = False


def part_fits(part: Part) -> tuple[PlacesServed, ...]:
    """Pattern by pattern where the part serves, what was said before what follows from it."""
    told = [(slot, saying, False) for slot, saying in _sayings(part)] + [(slot, s, True) for slot, s in _denials(part)]
    patterns = Pattern.objects.in_bulk({slot[0] for slot, _, _ in told})

    def order(row: tuple[Slot, Saying, bool]) -> tuple[object, ...]:
        (pk, _), saying, no = row
        return (no, saying.basis == "inferred", str(patterns[pk]), pk, -saying.sure, *_said(saying))

    rows = sorted(told, key=lambda row: (order(row), row[0][1]))
    names = {pk: {place.key: place.name for place in pattern_family(one).places} for pk, one in patterns.items()}
    found = []
    for _, some in groupby(rows, key=order):
        same = list(some)
        (pk, _), saying, no = same[0]
        places = tuple(PlaceServed(key, names[pk].get(key, key), each.fit) for (_, key), each, _ in same)
        found.append(PlacesServed(patterns[pk], saying, places, no))
    return tuple(found)


def _said(saying: Saying) -> tuple[str, ...]:
    return saying.basis, saying.words, saying.said_by, saying.note


def _sayings(part: Part) -> Iterable[tuple[Slot, Saying]]:
    targets = numbers_of(_near(part))
    said = said_around(targets)
    chains = []
    for slot in targets:
        yield from ((slot, saying) for pk, saying in said_of(said, slot) if pk == part.pk)
        chains += [chain for chain in inferred(said.book, slot, swaps=False) if chain.part == part.pk]
    names = names_of(chains, ())
    yield from ((chain.slot, guess(chain, names)) for chain in chains)


def _denials(part: Part) -> Iterable[tuple[Slot, Saying]]:
    return (((fit.pattern_id, fit.place), word_against(fit)) for fit in part.fits.filter(serves=False))


def _near(part: Part) -> set[Slot]:
    """The slots this part, or one that it replaces, serves by a word or by its number, and those that take the same."""
    replaced = Replacement.objects.filter(part=part).values_list("instead_of", "instead_of__number")
    parts = {part.pk: part.number, **dict(replaced)}
    numbers = {number.upper() for number in parts.values()}
    slots = {slot for slot, _ in slots_numbered(numbers)}
    its = [part.pk, *Part.objects.filter(merged_into=part).values_list("pk", flat=True)]
    fitted = Piece.objects.filter(part__in=its, replaces__isnull=False, job__pattern__isnull=False)
    slots |= set(fitted.values_list("job__pattern", "place").distinct()[:MOST_SLOTS])
    slots |= set(Fit.objects.filter(part__in=parts, serves=True).values_list("pattern_id", "place")[:MOST_SLOTS])
    others = {number.upper() for number in numbers_of(slots).values() if number} - numbers
    slots |= {slot for slot, _ in slots_numbered(others)}
    kin = Pattern.objects.filter(like__in={pk for pk, _ in slots}).values_list("pk", "like_id")
    slots |= {(young, key) for young, old in kin for pk, key in slots if pk == old}
    return set(sorted(slots)[:MOST_SLOTS])
