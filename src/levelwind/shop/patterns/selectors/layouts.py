"""The places of a reel: its family's, with what the pattern book knows of its pattern laid over."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Rules
from levelwind.reference.families import Family, FamilyPlace, family
from levelwind.shop.models import Job, Pattern, PatternPlace, PriceLine


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceInPattern(FamilyPlace):
    """A family's place as one pattern has it; ``assembly`` is the name of the group the hand works on."""

    assembly: str
    part_number: str = ""


@dataclass(frozen=True, slots=True)
class Layout:
    """How one pattern is laid out: its family, its places in the order the hand meets them, and how they come apart."""

    family: Family
    places: tuple[PlaceInPattern, ...]
    rules: Rules

    def by_key(self) -> dict[str, PlaceInPattern]:
        return {place.key: place for place in self.places}


def pattern_layout(pattern: Pattern) -> Layout:
    """The family with the pattern's rows laid over it; places the pattern lacks are gone from the rules too."""
    kin = family(pattern.family)
    rows = {row.key: row for row in PatternPlace.objects.filter(pattern=pattern)}
    absent = frozenset(place.key for place in kin.places if place.key in rows and rows[place.key].absent)
    rules = kin.rules.without(absent) if absent else kin.rules
    assemblies = {assembly.key: assembly.name for assembly in kin.assemblies}
    places = tuple(
        _laid_over(place, assemblies[place.group], absent, rows.get(place.key))
        for place in kin.places
        if place.key not in absent
    )
    return Layout(kin, places, rules)


def job_layout(job: Job) -> Layout:
    """How the job's reel is laid out. Raises LevelwindError while nobody has said which pattern it is."""
    if job.pattern is None:
        raise LevelwindError("Say first which pattern this reel is: its places and its takedown come from there.")
    return pattern_layout(job.pattern)


def pattern_places(pattern: Pattern) -> tuple[PlaceInPattern, ...]:
    return pattern_layout(pattern).places


def job_places(job: Job) -> tuple[PlaceInPattern, ...]:
    """The places of the job's reel; none while nobody has said which pattern it is."""
    return pattern_places(job.pattern) if job.pattern else ()


def priced_places(job: Job) -> tuple[str, ...]:
    """The places that the lines of the job's latest price speak of, in their order; any of them may be unknown here."""
    lines = PriceLine.objects.filter(price__job=job).order_by("-price__number", "pk").values_list("price", "place")
    latest = lines[0][0] if lines else None
    return tuple(dict.fromkeys(place for price, place in lines if price == latest and place))


def patterns_to_choose() -> Sequence[Pattern]:
    return list(Pattern.objects.order_by("maker", "model", "size"))


def _laid_over(place: FamilyPlace, assembly: str, absent: frozenset[str], row: PatternPlace | None) -> PlaceInPattern:
    known = {item.name: getattr(place, item.name) for item in fields(place)}
    laid = PlaceInPattern(**known, assembly=assembly)
    laid = replace(laid, look_alikes=laid.look_alikes - absent)
    if row is None:
        return laid
    return replace(laid, count=row.count or laid.count, part_number=row.part_number)
