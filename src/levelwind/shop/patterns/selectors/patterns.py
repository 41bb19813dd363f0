"""The pattern book: kinds of reel, and what sits in each of their places."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from levelwind.reference.families import FamilyPlace, families, family
from levelwind.shop.models import OPEN, BoneReel, Job, Pattern
from levelwind.shop.patterns.selectors.layouts import pattern_family


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """One place of a pattern: its family's, with what this pattern says otherwise."""

    place: FamilyPlace
    assembly: str
    absent: bool
    count: int
    part_number: str
    says_so: bool
    otherwise: bool

    @property
    def key(self) -> str:
        return self.place.key


def pattern_find(pk: int) -> Pattern | None:
    return Pattern.objects.filter(pk=pk).first()


def pattern_named(*, maker: str, model: str, size: str) -> Pattern | None:
    """The pattern of this maker, model and size, in any letters."""
    return Pattern.objects.filter(maker__iexact=maker, model__iexact=model, size__iexact=size).first()


def pattern_list(*, words: str = "", family_key: str = "", retired: bool = False) -> QuerySet[Pattern]:
    """Patterns in which every word occurs in maker, model, size or note; ``open_jobs`` and ``bones`` counted.

    Those still offered, or the ``retired`` ones.
    """
    patterns = with_words(Pattern.objects.filter(retired_on__isnull=not retired), words)
    if family_key in families():
        patterns = patterns.filter(family=family_key)
    return patterns.annotate(
        open_jobs=_count(Job.objects.filter(stage__in=OPEN)),
        bones=_count(BoneReel.objects.filter(stripped_on__isnull=True)),
    ).order_by("maker", "model", "size", "pk")


def with_words(patterns: QuerySet[Pattern], words: str) -> QuerySet[Pattern]:
    """Those in which every word occurs in maker, model, size or note, or is a year in which they were made."""
    for word in words.split()[:6]:
        years = Q()
        if word.isdigit() and len(word) == 4:
            years = Q(year_from__lte=int(word), year_to__gte=int(word))
        patterns = patterns.filter(
            Q(maker__icontains=word)
            | Q(model__icontains=word)
            | Q(size__icontains=word)
            | Q(note__icontains=word)
            | years
        )
    return patterns


def _count(rows: QuerySet[Any]) -> Coalesce:
    """How many of them are of the pattern in hand: asked of each pattern shown, not of the whole book."""
    each = rows.filter(pattern=OuterRef("pk")).order_by().values("pattern").annotate(count=Count("pk"))
    return Coalesce(Subquery(each.values("count")), 0)


def family_names() -> list[tuple[str, str]]:
    """Keys and names of the families a pattern can start from."""
    return [(key, family(key).name) for key in families()]


def place_rows(pattern: Pattern) -> tuple[PlaceRow, ...]:
    """Every place of the pattern in its family's order, absent ones too."""
    kin = pattern_family(pattern)
    groups = {assembly.key: assembly.name for assembly in kin.assemblies}
    own = {row.key: row for row in pattern.places.all()}
    rows = []
    for place in kin.places:
        said = own.get(place.key)
        rows.append(
            PlaceRow(
                place=place,
                assembly=groups[place.group],
                absent=bool(said and said.absent),
                count=(said.count if said and said.count else place.count),
                part_number=said.part_number if said else "",
                says_so=said is not None,
                otherwise=bool(said and said.otherwise),
            )
        )
    return tuple(rows)


def pattern_jobs(pattern: Pattern, *, most: int = 30) -> list[Job]:
    """Jobs of this pattern, the newest first."""
    return list(pattern.jobs.select_related("owner").order_by("-booked_in_at", "-pk")[:most])
