"""Writing in the pattern book."""

from typing import Any

from django.db import transaction

from levelwind.core.drag.model import stack_from_dict
from levelwind.core.errors import InputError, LevelwindError
from levelwind.reference.families import family
from levelwind.shop.models import Build, Pattern, PatternPlace
from levelwind.shop.patterns.selectors.layouts import pattern_family
from levelwind.shop.patterns.selectors.patterns import pattern_named

MOST_IN_A_PLACE = 200


@transaction.atomic
def pattern_add(*, maker: str, model: str, family_key: str, size: str = "") -> Pattern:
    """A new kind of reel, built like most of its family until something else is said."""
    maker, model, size = (" ".join(word.split()) for word in (maker, model, size))
    if not maker or not model:
        raise LevelwindError("A pattern needs a maker and a model: what stands on the plate will do.")
    kin = family(family_key)
    if pattern_named(maker=maker, model=model, size=size):
        raise LevelwindError(f"The {' '.join(filter(None, (maker, model, size)))} is in the book already.")
    pattern = Pattern(maker=maker, model=model, size=size, family=kin.key)
    pattern.full_clean()
    pattern.save()
    lacking = [place.key for place in kin.places if place.seldom]
    PatternPlace.objects.bulk_create(PatternPlace(pattern=pattern, key=key, absent=True) for key in lacking)
    return pattern


@transaction.atomic
def pattern_place_set(
    *,
    pattern: Pattern,
    key: str,
    absent: bool = False,
    count: int | None = None,
    part_number: str = "",
    otherwise: bool = False,
) -> PatternPlace | None:
    """Say how a place of this pattern differs from its family's; None, and no row, where it does not.

    ``otherwise``: what sits there is another than in the pattern that this one was begun as.
    """
    place = pattern_family(pattern).place(key)
    if count is not None and not 1 <= count <= MOST_IN_A_PLACE:
        raise InputError(f"count of {place.name}", count, f"from 1 to {MOST_IN_A_PLACE}")
    count = None if count == place.count else count
    row = PatternPlace.objects.select_for_update().filter(pattern=pattern, key=key).first()
    row = row or PatternPlace(pattern=pattern, key=key)
    row.absent, row.count, row.part_number = absent, count, part_number.strip()
    row.otherwise = otherwise
    if not (row.absent or row.count or row.part_number or row.otherwise):
        if row.pk:
            row.delete()
        return None
    row.full_clean()
    row.save()
    return row


@transaction.atomic
def pattern_place_back(*, pattern: Pattern, key: str) -> None:
    """The pattern has this place after all; its count and part number are as they were said before."""
    row = PatternPlace.objects.filter(pattern=pattern, key=key, absent=True).first()
    if row is not None:
        pattern_place_set(pattern=pattern, key=key, count=row.count, part_number=row.part_number)


@transaction.atomic
def pattern_drag_set(*, pattern: Pattern | Build, stack: dict[str, Any] | None) -> None:
    """Make a stack the standard one of a pattern, or of a build of one; None goes back to its family's."""
    pattern.drag = stack_from_dict(stack).as_dict() if stack is not None else {}
    pattern.full_clean()
    pattern.save(update_fields=["drag"])
