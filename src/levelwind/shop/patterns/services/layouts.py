"""What a pattern says otherwise than its family, written down: every word is checked before it is kept."""

from collections.abc import Callable

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.reference.families import FamilyPlace, family
from levelwind.reference.family_files import Values
from levelwind.reference.layer_changes import own_key, place_freed
from levelwind.reference.layers import Layer, values_beneath
from levelwind.shop.models import Job, Pattern
from levelwind.shop.patterns.selectors.findings import LEVEL_WIND, pattern_findings
from levelwind.shop.patterns.selectors.patterns import place_rows
from levelwind.shop.patterns.services.patterns import MOST_IN_A_PLACE, pattern_place_set

Change = Callable[[Layer], Layer]
"""What a person does to a layer, as `levelwind.reference.layer_edits` has it."""

LIKE_ITS_KIND = {"friction_washer": ("whenever open", "wet, wipe, bag"), "bearing": ("if worn", "solvent wipe")}
"""When a piece of a kind is renewed and how it is cleaned, until somebody says so. Common practice, no source."""
HAZARD_OF_KIND = {"spring": "spring", "clip": "clip"}


@transaction.atomic
def pattern_says_set(*, pattern: Pattern, says: Layer) -> Pattern:
    """Keep what the pattern says. Refused where it names nothing, goes in a circle, or leaves a piece in."""
    refusals = pattern_findings(pattern, says).refusals
    if refusals:
        raise LevelwindError(refusals[0])
    pattern.says = dict(says)
    pattern.full_clean()
    pattern.save(update_fields=["says"])
    return pattern


@transaction.atomic
def pattern_change(*, pattern: Pattern, change: Change) -> Pattern:
    """One change of what the pattern says, made to what the book holds now."""
    held = Pattern.objects.select_for_update().get(pk=pattern.pk)
    return pattern_says_set(pattern=held, says=change(held.says))


@transaction.atomic
def pattern_level_wind(*, pattern: Pattern, has: bool) -> None:
    """Say at once of every place of the level wind that the pattern has it, or has none."""
    for row in place_rows(pattern):
        if row.place.group == LEVEL_WIND and row.absent == has:
            count = row.count if row.count != row.place.count else None
            pattern_place_set(pattern=pattern, key=row.key, absent=not has, count=count, part_number=row.part_number)


def place_of_its_own(*, name: str, kind: str, count: int, group: str, taken: set[str]) -> Values:
    """A place that the family lacks, as its kind is usually treated, under a key that nobody took yet."""
    name = " ".join(name.split())
    if not name:
        raise LevelwindError("Say what the piece is: a word or two, such as “sleeve pin”.")
    if not 1 <= count <= MOST_IN_A_PLACE:
        raise InputError(f"count of {name}", count, f"from 1 to {MOST_IN_A_PLACE}")
    renew, clean = LIKE_ITS_KIND.get(kind, ("rarely", "solvent wipe"))
    row = {"key": own_key(name, taken), "name": name, "group": group, "kind": kind, "count": count}
    hazard = {"hazard": HAZARD_OF_KIND[kind]} if kind in HAZARD_OF_KIND else {}
    return {**row, "renew": renew, "clean": clean, **hazard}


def keys_taken(pattern: Pattern, places: tuple[FamilyPlace, ...]) -> set[str]:
    """Keys of places that the pattern, its family, or any reel of it has: none is ever given twice."""
    own = [row["key"] for row in pattern.says.get("places", {}).get("place", [])]
    for says in Job.objects.filter(pattern=pattern).exclude(says={}).values_list("says", flat=True):
        own += [row["key"] for row in says.get("places", {}).get("place", [])]
    return {*own, *(place.key for place in (*places, *family(pattern.family).places))}


def one_more(pattern_family: str, layers: list[Layer], says: Layer, place: Values, step: str) -> Values:
    """``says`` with one more place that comes off in this step of what lies beneath, or of its own."""
    beneath = values_beneath(pattern_family, [*layers, says])
    rows = {row["key"]: row for row in beneath["takedown.toml"]["step"]}
    if step not in rows:
        raise InputError("step", repr(step[:60]), "a step of this reel")
    return place_freed(says, place, rows[step])
