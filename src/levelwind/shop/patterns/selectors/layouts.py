"""How a reel is laid out: its family, its pattern over it, and over both what this one reel has otherwise."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from hashlib import sha256

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Rules
from levelwind.reference.builds import layers_of
from levelwind.reference.families import Family, FamilyPlace
from levelwind.reference.layers import Layer, Under, laid_out
from levelwind.shop.models import Build, Job, Pattern, PatternPlace, PriceLine


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceInPattern(FamilyPlace):
    """A family's place as one pattern has it; ``assembly`` is the name of the group the hand works on."""

    assembly: str
    part_number: str = ""


@dataclass(frozen=True, slots=True)
class Layout:
    """How a reel is laid out: its family, its places in the order the hand meets them, and how they come apart.

    ``moved_on`` says that its pattern was changed since the reel was begun, and would lay it out otherwise now;
    ``kept`` that somebody saw it and said that this reel stays as it is.
    """

    family: Family
    places: tuple[PlaceInPattern, ...]
    rules: Rules
    moved_on: bool = False
    kept: bool = False

    def by_key(self) -> dict[str, PlaceInPattern]:
        return {place.key: place for place in self.places}


def pattern_layers(pattern: Pattern, build: Build | None = None) -> list[Layer]:
    """What the pattern says otherwise than its family, lowest first, and over it what its build says."""
    layers = _own_layers(pattern, _rows(pattern))
    return _with_build(layers, build)


def _with_build(layers: list[Layer], build: Build | None) -> list[Layer]:
    return [*layers, *layers_of(build.pattern.family, build.built_as), build.says] if build else layers


def _rows(pattern: Pattern) -> list[PatternPlace]:
    return list(PatternPlace.objects.filter(pattern=pattern).order_by("key"))


def _own_layers(pattern: Pattern, rows: Sequence[PatternPlace]) -> list[Layer]:
    """The builds it is of, places and steps of its own, then its rows."""
    says: list[Layer] = layers_of(pattern.family, pattern.built_as)
    says += [pattern.says] if pattern.says else []
    known = {place.key: place for place in laid_out(pattern.family, says).places}
    drop, change = [], {}
    for row in rows:
        if row.key not in known:
            continue
        if row.absent:
            drop.append(row.key)
        elif row.count and row.count != known[row.key].count:
            change[row.key] = {"count": row.count}
    told = {"places": {"drop": {"place": drop}, "change": {"place": change}}}
    return [*says, told] if drop or change else says


def pattern_family(pattern: Pattern) -> Family:
    """The pattern's family with the places and steps of its own, those it is said to lack among them."""
    return under(pattern).laid_out(pattern.says)


def under(one: Pattern | Build) -> Under:
    """What lies under a pattern's or a build's own words."""
    if isinstance(one, Pattern):
        return Under(one.family, tuple(layers_of(one.family, one.built_as)))
    pattern = one.pattern
    return Under(pattern.family, (*pattern_layers(pattern), *layers_of(pattern.family, one.built_as)))


def pattern_layout(pattern: Pattern, build: Build | None = None) -> Layout:
    """The family with what the pattern and its build say over it; places it lacks are gone from the rules too."""
    rows = _rows(pattern)
    return _layout(pattern, _with_build(_own_layers(pattern, rows), build), rows)


def job_layers(job: Job) -> list[Layer]:
    """The layers under this reel: as they were when it was begun, else its pattern's as it stands now."""
    assert job.pattern is not None
    return pattern_layers(job.pattern, job.build) if job.layers is None else list(job.layers)


def job_layout(job: Job) -> Layout:
    """How the job's reel is laid out. Raises LevelwindError while nobody has said which pattern it is."""
    if job.pattern is None:
        raise LevelwindError("Choose its pattern first: its places and its takedown come from there.")
    rows = _rows(job.pattern)
    now = [*_with_build(_own_layers(job.pattern, rows), job.build), job.says]
    if job.layers is None:
        return _layout(job.pattern, now, rows)
    begun = _layout(job.pattern, [*job.layers, job.says], rows)
    moved_on = laid_out(job.pattern.family, now) != begun.family
    return replace(begun, moved_on=moved_on, kept=moved_on and job.kept_from == layers_digest(now[:-1]))


def layers_digest(layers: Sequence[Layer]) -> str:
    """By which layers are known again: SHA-256 of what they say."""
    return sha256(json.dumps(list(layers), sort_keys=True).encode()).hexdigest()


def _layout(pattern: Pattern, layers: Sequence[Layer], rows: Sequence[PatternPlace]) -> Layout:
    kin = laid_out(pattern.family, layers)
    assemblies = {assembly.key: assembly.name for assembly in kin.assemblies}
    numbers = {row.key: row.part_number for row in rows}
    return Layout(kin, tuple(_in_pattern(place, assemblies, numbers) for place in kin.places), kin.rules)


def pattern_places(pattern: Pattern) -> tuple[PlaceInPattern, ...]:
    return pattern_layout(pattern).places


def job_places(job: Job) -> tuple[PlaceInPattern, ...]:
    """The places of the job's reel; none while nobody has said which pattern it is."""
    return job_layout(job).places if job.pattern else ()


def priced_places(job: Job) -> tuple[str, ...]:
    """The places that the lines of the job's latest price speak of, in their order; any of them may be unknown here."""
    lines = PriceLine.objects.filter(price__job=job).order_by("-price__number", "pk").values_list("price", "place")
    latest = lines[0][0] if lines else None
    return tuple(dict.fromkeys(place for price, place in lines if price == latest and place))


def _in_pattern(place: FamilyPlace, assemblies: Mapping[str, str], numbers: Mapping[str, str]) -> PlaceInPattern:
    known = {item.name: getattr(place, item.name) for item in fields(place)}
    return PlaceInPattern(**known, assembly=assemblies[place.group], part_number=numbers.get(place.key, ""))
