"""How a reel is laid out: its family, its pattern over it, and over both what this one reel has otherwise."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Rules
from levelwind.reference.families import Family, FamilyPlace
from levelwind.reference.layers import Layer, laid_out
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


def pattern_layers(pattern: Pattern) -> list[Layer]:
    """What the pattern says otherwise than its family, lowest first: places and steps of its own, then its rows."""
    says: list[Layer] = [pattern.says] if pattern.says else []
    known = {place.key: place for place in laid_out(pattern.family, says).places}
    drop, change = [], {}
    for row in PatternPlace.objects.filter(pattern=pattern, key__in=known).order_by("key"):
        if row.absent:
            drop.append(row.key)
        elif row.count and row.count != known[row.key].count:
            change[row.key] = {"count": row.count}
    rows = {"places": {"drop": {"place": drop}, "change": {"place": change}}}
    return [*says, rows] if drop or change else says


def pattern_family(pattern: Pattern) -> Family:
    """The pattern's family with the places and steps of its own, those it is said to lack among them."""
    return laid_out(pattern.family, [pattern.says])


def pattern_layout(pattern: Pattern) -> Layout:
    """The family with what the pattern says laid over it; places the pattern lacks are gone from the rules too."""
    return _layout(pattern, pattern_layers(pattern))


def job_layers(job: Job) -> list[Layer]:
    """The layers under this reel: as they were when it was begun, else its pattern's as it stands now."""
    assert job.pattern is not None
    return pattern_layers(job.pattern) if job.layers is None else list(job.layers)


def job_layout(job: Job) -> Layout:
    """How the job's reel is laid out. Raises LevelwindError while nobody has said which pattern it is."""
    if job.pattern is None:
        raise LevelwindError("Say first which pattern this reel is: its places and its takedown come from there.")
    return _layout(job.pattern, [*job_layers(job), job.says])


def layout_moved_on(job: Job) -> bool:
    """Whether the pattern was changed since this reel was begun, so that it would be laid out otherwise now."""
    if job.pattern is None or job.layers is None:
        return False
    now = laid_out(job.pattern.family, [*pattern_layers(job.pattern), job.says])
    return now != laid_out(job.pattern.family, [*job.layers, job.says])


def _layout(pattern: Pattern, layers: Sequence[Layer]) -> Layout:
    kin = laid_out(pattern.family, layers)
    assemblies = {assembly.key: assembly.name for assembly in kin.assemblies}
    numbered = PatternPlace.objects.filter(pattern=pattern).exclude(part_number="")
    numbers = dict(numbered.values_list("key", "part_number"))
    return Layout(kin, tuple(_in_pattern(place, assemblies, numbers) for place in kin.places), kin.rules)


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


def _in_pattern(place: FamilyPlace, assemblies: Mapping[str, str], numbers: Mapping[str, str]) -> PlaceInPattern:
    known = {item.name: getattr(place, item.name) for item in fields(place)}
    return PlaceInPattern(**known, assembly=assemblies[place.group], part_number=numbers.get(place.key, ""))
