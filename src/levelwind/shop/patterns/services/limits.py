"""Saying how far a piece may be worn."""

from django.db import transaction

from levelwind.core.errors import InputError
from levelwind.core.fits.wear import Limit
from levelwind.shop.models import Pattern, PlaceLimit
from levelwind.shop.patterns.selectors.layouts import pattern_family

OUR_CHOICE = "our choice"


@transaction.atomic
def place_limit_set(
    *,
    pattern: Pattern,
    place: str,
    dimension: str,
    new_mm: float | None = None,
    least_mm: float | None = None,
    most_mm: float | None = None,
    source: str = "",
) -> PlaceLimit | None:
    """Renew a piece under or over these sizes, in mm; with none the limit goes. Said again, the later word counts."""
    asked = pattern_family(pattern).place(place).measure
    if dimension not in asked:
        raise InputError("dimension", repr(dimension[:60]), "one of " + (", ".join(asked) or "none for this piece"))
    rows = PlaceLimit.objects.filter(pattern=pattern, place=place, dimension=dimension)
    if least_mm is None and most_mm is None and new_mm is None:
        rows.delete()
        return None
    said = Limit(dimension, new_mm, least_mm, most_mm, source.strip() or OUR_CHOICE)
    row = rows.first() or PlaceLimit(pattern=pattern, place=place, dimension=dimension)
    row.new_mm, row.least_mm, row.most_mm, row.source = said.new_mm, said.least_mm, said.most_mm, said.source
    row.full_clean()
    row.save()
    return row
