"""How far the pieces of a pattern may be worn."""

from levelwind.core.fits.wear import Limit
from levelwind.shop.models import Pattern, PlaceLimit


def place_limits(pattern: Pattern) -> dict[str, tuple[Limit, ...]]:
    """The limits of each place that has any."""
    found: dict[str, list[Limit]] = {}
    for row in PlaceLimit.objects.filter(pattern=pattern).order_by("place", "dimension"):
        found.setdefault(row.place, []).append(Limit(row.dimension, row.new_mm, row.least_mm, row.most_mm, row.source))
    return {place: tuple(limits) for place, limits in found.items()}
