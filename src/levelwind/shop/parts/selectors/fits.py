"""Which part serves which place, with who says so and how sure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db.models.functions import Upper

from levelwind.shop.models import Fit, Part, Pattern
from levelwind.shop.parts.selectors.shelf import parts_with_stock
from levelwind.shop.patterns.selectors.layouts import PlaceInPattern, pattern_family

SAME_NUMBER_SURE = 0.95
"""A judgement: a maker's number is seldom given twice, and now and then changes its part without a word."""

FEWEST_SIZES = 2
ALIKE_MM = 0.1
ALIKE_SURE = 0.6
"""Judgements: two sizes that agree to a caliper's tenth are worth a try, and no more than that."""


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


def offers(
    pattern: Pattern, places: Sequence[PlaceInPattern], measured: Mapping[str, Mapping[str, float]] | None = None
) -> dict[str, tuple[Offer, ...]]:
    """What fits each of these places of a pattern; ``measured`` gives caliper readings of the pieces in hand, in mm.

    Parts on the shelf come before parts that are not; among those the surest first.
    """
    said = [*_same_number(places), *_declared(pattern, places), *_alike(places, measured or {})]
    parts = {part.pk: part for part in parts_with_stock().filter(pk__in={pk for _, pk, _ in said})}
    sayings: dict[tuple[str, int], list[Saying]] = {}
    for place, pk, saying in said:
        sayings.setdefault((place, pk), []).append(saying)
    found: dict[str, list[Offer]] = {place.key: [] for place in places}
    for (key, pk), reasons in sayings.items():
        found[key].append(_offer(parts[pk], reasons))
    return {key: tuple(sorted(some, key=_first)) for key, some in found.items()}


@dataclass(frozen=True, slots=True)
class FitRow:
    """A fit said of a part, with its place in words."""

    fit: Fit
    place: str


@dataclass(frozen=True, slots=True)
class PlacesSaid:
    """Places of one pattern for which the same person said the same, by the same reason and as sure."""

    pattern: Pattern
    rows: tuple[FitRow, ...]

    @property
    def fit(self) -> Fit:
        return self.rows[0].fit


def part_fits(part: Part) -> tuple[PlacesSaid, ...]:
    """The fits said of a part, pattern by pattern."""
    fits = part.fits.select_related("pattern")
    ordered = sorted(fits, key=lambda fit: (str(fit.pattern), fit.pattern_id, *_said(fit), fit.place))
    groups = groupby(ordered, key=lambda fit: (fit.pattern_id, *_said(fit)))
    return tuple(_places_said(tuple(group)) for _, group in groups)


def _said(fit: Fit) -> tuple[float, str, str, str]:
    return -fit.sure, fit.basis, fit.said_by, fit.note


def _places_said(fits: Sequence[Fit]) -> PlacesSaid:
    return PlacesSaid(fits[0].pattern, tuple(FitRow(fit, place_name(fit.pattern, fit.place)) for fit in fits))


def place_name(pattern: Pattern, key: str) -> str:
    """The place in words; its key where the pattern has it no longer."""
    names = {place.key: place.name for place in pattern_family(pattern).places}
    return names.get(key, key)


def _same_number(places: Sequence[PlaceInPattern]) -> list[tuple[str, int, Saying]]:
    wanted: dict[str, list[str]] = {}
    for place in places:
        if place.part_number:
            wanted.setdefault(place.part_number.upper(), []).append(place.key)
    saying = Saying("number", "same number", SAME_NUMBER_SURE, "the pattern book")
    numbered = Part.objects.annotate(large=Upper("number")).filter(large__in=wanted)
    return [(key, pk, saying) for pk, large in numbered.values_list("pk", "large") for key in wanted[large]]


def _declared(pattern: Pattern, places: Sequence[PlaceInPattern]) -> list[tuple[str, int, Saying]]:
    fits = Fit.objects.filter(pattern=pattern, place__in=[place.key for place in places])
    return [
        (fit.place, fit.part_id, Saying(fit.basis, fit.get_basis_display(), fit.sure, fit.said_by, fit.note, fit.pk))
        for fit in fits
    ]


def _alike(
    places: Sequence[PlaceInPattern], measured: Mapping[str, Mapping[str, float]]
) -> list[tuple[str, int, Saying]]:
    """Parts of the place's kind that agree in two sizes or more with what was measured."""
    sizes = {place.key: measured.get(place.key, {}) for place in places}
    kinds = {place.kind for place in places if len(sizes[place.key]) >= FEWEST_SIZES}
    if not kinds:
        return []
    known = list(Part.objects.filter(kind__in=kinds).exclude(sizes_mm={}).values_list("pk", "kind", "sizes_mm"))
    found = []
    for place in places:
        for pk, kind, part_sizes in known:
            shared = sizes[place.key].keys() & part_sizes.keys() if kind == place.kind else frozenset()
            if len(shared) >= FEWEST_SIZES and all(
                abs(sizes[place.key][name] - part_sizes[name]) <= ALIKE_MM for name in shared
            ):
                words = f"{', '.join(sorted(shared))} agree to {ALIKE_MM:g} mm"
                found.append((place.key, pk, Saying("measured", "same sizes", ALIKE_SURE, "the caliper", words)))
    return found


def _offer(part: Part, reasons: list[Saying]) -> Offer:
    ranked = tuple(sorted(reasons, key=lambda saying: -saying.sure))
    counts: dict[str, int] = vars(part)
    return Offer(part, ranked, counts["new"], counts["used"], counts["on_order"])


def _first(offer: Offer) -> tuple[bool, float, str]:
    return offer.here <= 0, -offer.sure, offer.part.number
