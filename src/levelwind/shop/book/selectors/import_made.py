"""What came by a list, and what hinders that it goes again."""

from binascii import crc32
from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Model, Q, QuerySet

from levelwind.shop.book.packed import unpacked
from levelwind.shop.models import (
    DragPlan,
    Fit,
    Import,
    Job,
    JobEvent,
    Owner,
    Parcel,
    Part,
    Pattern,
    PatternPlace,
    PlaceLimit,
    Replacement,
    StockEntry,
)

MADE_OF: dict[str, type[Model]] = {
    str(model._meta.model_name): model
    for model in (
        *(JobEvent, Job, Parcel, Fit, PlaceLimit, Replacement, PatternPlace, Pattern, StockEntry, Part, Owner),
    )
}
"""What a list may make, in the order in which it goes again: what hangs on another goes before it."""
NEVER_CHANGED = ("jobevent", "stockentry")
"""Tables of it whose rows nobody edits: the shelf's ledger by the database's own law, a job's history by custom."""
NAMED = 3
"""Things named in a sentence; the others are counted. Our choice."""

Spans = Sequence[Sequence[int]]


def within(runs: Spans, name: str = "pk") -> Q:
    """Rows whose key is in one of these runs."""
    found = Q(pk__in=[])
    for first, last in runs:
        found |= Q(**{f"{name}__gte": first, f"{name}__lte": last})
    return found


def digests(model: type[Model], runs: Spans) -> str:
    """Eight figures a row, in the order of keys: another value anywhere in a row gives others."""
    names = [each.attname for each in model._meta.concrete_fields]
    rows = model._base_manager.filter(within(runs)).order_by("pk").values_list(*names)
    return "".join(f"{crc32(repr(row).encode()):08x}" for row in rows.iterator())


def came_by(one: Import) -> dict[str, Any]:
    """``keys`` by table as runs, ``digests``, and what was ``filled``."""
    return unpacked(one.made) or {"keys": {}, "digests": {}, "filled": []}


def hindrances(one: Import) -> tuple[str, ...]:
    """In words, what hangs by now on what came by the list, and what was changed since; none where it can go."""
    made = came_by(one)
    keys: Mapping[str, Spans] = made["keys"]
    return (*_hanging(keys), *_counted_since(one, keys), *_laid_in(keys), *_changed(keys, made["digests"]))


def _hanging(keys: Mapping[str, Spans]) -> list[str]:
    found = []
    for name, runs in keys.items():
        for relation in MADE_OF[name]._meta.related_objects:
            other = relation.related_model
            rows = other._base_manager.filter(within(runs, relation.field.attname))
            rows = rows.exclude(within(keys.get(str(other._meta.model_name), [])))
            count = rows.count()
            if count:
                words = other._meta.verbose_name if count == 1 else other._meta.verbose_name_plural
                on = MADE_OF[name]._meta.verbose_name_plural
                found.append(f"{count} {words} that came since hang on {on} of this list")
    return found


def _counted_since(one: Import, keys: Mapping[str, Spans]) -> list[str]:
    """Parts that were there before and were only counted by the list: their ledger has gone on since."""
    counted = StockEntry.objects.filter(came_by=one).exclude(within(keys.get("part", []), "part_id")).values("part")
    later = StockEntry._base_manager.filter(part__in=counted).exclude(came_by=one)
    count = later.count()
    return [f"{count} entries of the shelf stand over counts of this list"] if count else []


def _laid_in(keys: Mapping[str, Spans]) -> list[str]:
    runs = keys.get("part", [])
    if not runs:
        return []
    plans = DragPlan.objects.exclude(setup={}, found={}).select_related("job")
    tags = sorted({plan.job.tag for plan in plans if any(_in(runs, pk) for pk in _parts(plan))})
    return [f"parts of this list lie in the drag of {', '.join(tags[:NAMED])}"] if tags else []


def _parts(plan: DragPlan) -> list[int]:
    listed = (*plan.setup.get("parts", ()), *plan.found.get("parts", ()))
    return [int(pk) for pk in listed if str(pk).isdecimal()]


def _in(runs: Spans, pk: int) -> bool:
    return any(first <= pk <= last for first, last in runs)


def _changed(keys: Mapping[str, Spans], were: Mapping[str, str]) -> list[str]:
    found = []
    for name, was in were.items():
        runs = keys[name]
        now = digests(MADE_OF[name], runs)
        if now != was:
            found.append(_who_changed(MADE_OF[name], runs, now, was))
    return found


def _who_changed(model: type[Model], runs: Spans, now: str, was: str) -> str:
    rows: QuerySet[Any] = model._base_manager.filter(within(runs)).order_by("pk")
    plural = model._meta.verbose_name_plural
    if len(now) != len(was):
        gone = (len(was) - len(now)) // 8
        return f"{gone} {plural} of this list are gone by now"
    other = [n for n in range(len(now) // 8) if now[8 * n : 8 * n + 8] != was[8 * n : 8 * n + 8]]
    listed = list(rows.values_list("pk", flat=True))
    names = ", ".join(str(rows.get(pk=listed[n])) for n in other[:NAMED])
    more = f" and {len(other) - NAMED} more" if len(other) > NAMED else ""
    return f"{len(other)} {plural} were changed since: {names}{more}"
