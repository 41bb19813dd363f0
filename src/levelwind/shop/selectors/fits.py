"""Which part serves which place, with who says so and how sure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from levelwind.reference.families import family
from levelwind.shop.models import Fit, Part, Pattern
from levelwind.shop.selectors.places import PlaceInPattern
from levelwind.shop.selectors.shelf import parts_with_stock

SAME_NUMBER_SURE = 0.95
"""A judgement: a maker's number is seldom given twice, and now and then changes its part without a word."""


@dataclass(frozen=True, slots=True)
class Saying:
    """One reason to hold that a part fits."""

    basis: str
    words: str
    sure: float
    said_by: str
    note: str = ""
    fit: int | None = None


@dataclass(frozen=True, slots=True)
class Offer:
    """A part that serves a place, with every reason given for it, the surest first."""

    part: Part
    sayings: tuple[Saying, ...]
    new: int
    used: int
    on_order: int

    @property
    def sure(self) -> float:
        return self.sayings[0].sure

    @property
    def here(self) -> int:
        return self.new + self.used


def offers(pattern: Pattern, places: Sequence[PlaceInPattern]) -> dict[str, tuple[Offer, ...]]:
    """What fits each of these places of a pattern.

    Parts on the shelf come before parts that are not; among those the surest first.
    """
    numbers = {place.key: place.part_number for place in places}
    said = [*_same_number(numbers), *_declared(pattern, numbers)]
    parts = {part.pk: part for part in parts_with_stock().filter(pk__in={pk for _, pk, _ in said})}
    sayings: dict[tuple[str, int], list[Saying]] = {}
    for place, pk, saying in said:
        sayings.setdefault((place, pk), []).append(saying)
    found: dict[str, list[Offer]] = {place: [] for place in numbers}
    for (place, pk), reasons in sayings.items():
        found[place].append(_offer(parts[pk], reasons))
    return {place: tuple(sorted(some, key=_first)) for place, some in found.items()}


@dataclass(frozen=True, slots=True)
class FitRow:
    """A fit said of a part, with its place in words."""

    fit: Fit
    place: str


def part_fits(part: Part) -> tuple[FitRow, ...]:
    """The fits said of a part, pattern by pattern."""
    fits = part.fits.select_related("pattern").order_by("pattern__maker", "pattern__model", "place", "-sure")
    return tuple(FitRow(fit, place_name(fit.pattern, fit.place)) for fit in fits)


def place_name(pattern: Pattern, key: str) -> str:
    """The place in words; its key where the family has it no longer."""
    names = {place.key: place.name for place in family(pattern.family).places}
    return names.get(key, key)


def _same_number(numbers: Mapping[str, str]) -> list[tuple[str, int, Saying]]:
    wanted: dict[str, list[str]] = {}
    for place, number in numbers.items():
        if number:
            wanted.setdefault(number, []).append(place)
    saying = Saying("number", "same number", SAME_NUMBER_SURE, "the pattern book")
    return [
        (place, pk, saying)
        for pk, number in Part.objects.filter(number__in=wanted).values_list("pk", "number")
        for place in wanted[number]
    ]


def _declared(pattern: Pattern, places: Mapping[str, str]) -> list[tuple[str, int, Saying]]:
    fits = Fit.objects.filter(pattern=pattern, place__in=places)
    return [
        (fit.place, fit.part_id, Saying(fit.basis, fit.get_basis_display(), fit.sure, fit.said_by, fit.note, fit.pk))
        for fit in fits
    ]


def _offer(part: Part, reasons: list[Saying]) -> Offer:
    ranked = tuple(sorted(reasons, key=lambda saying: -saying.sure))
    counts: dict[str, int] = vars(part)
    return Offer(part, ranked, counts["new"], counts["used"], counts["on_order"])


def _first(offer: Offer) -> tuple[bool, float, str]:
    return offer.here <= 0, -offer.sure, offer.part.number
