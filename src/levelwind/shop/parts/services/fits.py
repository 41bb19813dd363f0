"""Saying that a part fits a place or does not, or replaces another part, and taking it back."""

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import Fit, Part, Pattern, Replacement
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import pattern_places

USUALLY_SURE = {"number": 0.95, "declared": 0.9, "measured": 0.8, "standard": 0.9, "tried": 0.98}
"""How sure each basis makes one until something else is said: judgements."""


@transaction.atomic
def fit_say(
    *,
    part: Part,
    pattern: Pattern,
    place: str,
    basis: str = "declared",
    said_by: str = "",
    sure: float | None = None,
    note: str = "",
    serves: bool = True,
) -> Fit:
    """Say that a part serves a place of a pattern, or does not. Said again on the same basis, the later word counts."""
    if basis not in USUALLY_SURE:
        raise InputError("basis", repr(basis), ", ".join(USUALLY_SURE))
    if place not in {one.key for one in pattern_places(pattern)}:
        raise LevelwindError(f"The {pattern} has no place called “{place}”.")
    sure = USUALLY_SURE[basis] if sure is None else sure
    if not 0 <= sure <= 1:
        raise InputError("how sure", sure, "from 0 to 1")
    fit, _ = Fit.objects.update_or_create(
        part=part,
        pattern=pattern,
        place=place,
        basis=basis,
        defaults={"said_by": said_by.strip(), "sure": sure, "note": note.strip(), "serves": serves},
    )
    return fit


@transaction.atomic
def fit_recognised(
    *, number: str, name: str, kind: str, pattern: Pattern, place: str, sure: float, note: str = "", said_by: str = ""
) -> Fit:
    """A piece of this place was recognised as a standard size, which is entered on the shelf with none lying there."""
    part = part_with_number(number) or part_add(number=number, name=name, kind=kind, by=said_by)
    return fit_say(
        part=part, pattern=pattern, place=place, basis="standard", said_by=said_by, sure=sure, note=note[:200]
    )


@transaction.atomic
def fit_take_back(*, fit: Fit) -> None:
    """It does not fit after all."""
    fit.delete()


@transaction.atomic
def part_replaces(
    *, part: Part, instead_of: Part, said_by: str = "", sure: float = USUALLY_SURE["declared"], note: str = ""
) -> Replacement:
    """Say that a part serves wherever another does, and not the other way. Said again, the later word counts."""
    if part == instead_of:
        raise LevelwindError("A part cannot replace itself: give the number of the part it is used instead of.")
    if not 0 <= sure <= 1:
        raise InputError("how sure", sure, "from 0 to 1")
    row, _ = Replacement.objects.update_or_create(
        part=part, instead_of=instead_of, defaults={"said_by": said_by.strip(), "sure": sure, "note": note.strip()}
    )
    return row


@transaction.atomic
def part_replaces_not(*, replacement: Replacement) -> None:
    """It does not replace it after all."""
    replacement.delete()
