"""What a pattern says otherwise than its family, written down: every word is checked before it is kept."""

from collections.abc import Callable

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.reference.families import FamilyPlace, family
from levelwind.reference.family_files import Values
from levelwind.reference.layer_back import laid_by, own_back
from levelwind.reference.layer_changes import own_key, place_freed
from levelwind.reference.layers import OWN, Layer, Under, laid_out
from levelwind.shop.models import Build, Job, Pattern, Piece
from levelwind.shop.patterns.selectors.findings import LEVEL_WIND, findings
from levelwind.shop.patterns.selectors.layouts import pattern_layers, under
from levelwind.shop.patterns.selectors.patterns import place_rows
from levelwind.shop.patterns.services.patterns import MOST_IN_A_PLACE, pattern_place_set

Change = Callable[[Layer], Layer]
"""What a person does to a layer, as `levelwind.reference.layer_edits` has it."""

LIKE_ITS_KIND = {"friction_washer": ("whenever open", "wet, wipe, bag"), "bearing": ("if worn", "solvent wipe")}
"""When a piece of a kind is renewed and how it is cleaned, until somebody says so. Common practice, no source."""
HAZARD_OF_KIND = {"spring": "spring", "clip": "clip"}


@transaction.atomic
def says_set(*, one: Pattern | Build, says: Layer) -> None:
    """Keep what a pattern or a build says. Refused where it names nothing, goes in a circle, or leaves a piece in."""
    refusals = findings(one, says).refusals
    if refusals:
        raise LevelwindError(refusals[0])
    one.says = dict(says)
    one.full_clean()
    one.save(update_fields=["says"])
    refuse_broken(one)


@transaction.atomic
def layout_change(*, one: Pattern | Build, change: Change) -> None:
    """One change of what a pattern or a build says, made to what the book holds now. Places and steps of its own that
    go out by it are kept, so that they can come back."""
    held = type(one)._default_manager.select_for_update().get(pk=one.pk)
    before = held.says
    says_set(one=held, says=change(before))
    held.laid_by = laid_by(under(held), held.laid_by, before, held.says)
    held.save(update_fields=["laid_by"])


def own_row_back(*, one: Pattern | Build, file: str, key: str) -> None:
    """A place ("places") or a step ("takedown") of its own that was taken out, in again."""
    layout_change(one=one, change=lambda says: own_back(under(one), says, one.laid_by, file, key))


def refuse_broken(one: Pattern | Build) -> None:
    """Raises LevelwindError where the pattern, or a build of it, cannot be taken apart any more."""
    pattern = one if isinstance(one, Pattern) else one.pattern
    for build in (None, *pattern.builds.all()):
        try:
            laid_out(pattern.family, pattern_layers(pattern, build))
        except InputError as error:
            who = f"The build “{build}”" if build else f"The {pattern}"
            raise LevelwindError(f"{who} would not come apart: {error}") from error


@transaction.atomic
def pattern_level_wind(*, pattern: Pattern, has: bool) -> None:
    """Say at once of every place of the level wind that the pattern has it, or has none."""
    for row in place_rows(pattern):
        if row.place.group == LEVEL_WIND and row.absent == has:
            count = row.count if row.count != row.place.count else None
            pattern_place_set(
                pattern=pattern,
                key=row.key,
                absent=not has,
                count=count,
                part_number=row.part_number,
                otherwise=row.otherwise,
            )


def place_of_its_own(*, name: str, kind: str, count: int, group: str, taken: set[str]) -> Values:
    """A place that the family lacks, as its kind is usually treated, under a key that nobody took yet."""
    name = " ".join(name.split())
    if not name:
        raise LevelwindError("Enter what the piece is: a word or two, such as “sleeve pin”.")
    if not 1 <= count <= MOST_IN_A_PLACE:
        raise InputError(f"count of {name}", count, f"from 1 to {MOST_IN_A_PLACE}")
    renew, clean = LIKE_ITS_KIND.get(kind, ("rarely", "solvent wipe"))
    row = {"key": own_key(name, taken), "name": name, "group": group, "kind": kind, "count": count}
    hazard = {"hazard": HAZARD_OF_KIND[kind]} if kind in HAZARD_OF_KIND else {}
    return {**row, "renew": renew, "clean": clean, **hazard}


def keys_taken(pattern: Pattern, places: tuple[FamilyPlace, ...]) -> set[str]:
    """Keys of places that the pattern, its family, or any reel of it has: none is ever given twice."""
    jobs = Job.objects.filter(pattern=pattern).exclude(says={}).values_list("says", flat=True)
    said = [pattern.says, *pattern.builds.values_list("says", flat=True), *jobs]
    own = [row["key"] for says in said for row in says.get("places", {}).get("place", [])]
    spoken_of = [
        *pattern.places.values_list("key", flat=True),
        *pattern.fits.values_list("place", flat=True),
        *Piece.objects.filter(job__pattern=pattern, place__startswith=OWN).values_list("place", flat=True).distinct(),
    ]
    kept = [pattern.laid_by, *pattern.builds.values_list("laid_by", flat=True)]
    own += [one["row"]["key"] for rows in kept for one in rows]
    return {*own, *spoken_of, *(place.key for place in (*places, *family(pattern.family).places))}


def one_more(beneath: Under, says: Layer, place: Values, step: str) -> Values:
    """``says`` with one more place that comes off in this step of what lies beneath, or of its own."""
    rows = {row["key"]: row for row in beneath.values(says)["takedown.toml"]["step"]}
    if step not in rows:
        raise InputError("step", repr(step[:60]), "a step of this reel")
    return place_freed(says, place, rows[step])
