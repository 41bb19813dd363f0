"""A stock count by walking the shelf: which spots there are, and which part of one is to be counted next."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from levelwind.shop.models import Part
from levelwind.shop.parts.selectors.shelf import parts_with_stock

A_WALK = timedelta(days=7)
"""What was counted within this time is not asked again. Our choice: a count may take a week of evenings."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the shelf, how many parts lie in it, and how many of them were counted within the walk."""

    name: str
    parts: int
    counted: int

    @property
    def done(self) -> bool:
        return self.counted >= self.parts


def _counted() -> Q:
    return Q(counted_at__gte=timezone.now() - A_WALK)


def spots() -> list[Spot]:
    """All spots in the order of their names; parts of which it is not said where they lie come last."""
    rows: Iterable[Any] = Part.objects.filter(merged_into=None).order_by().values("spot")
    found = rows.annotate(parts=Count("pk"), counted=Count("pk", filter=_counted()))  # type: ignore[attr-defined]
    spots = [Spot(row["spot"], row["parts"], row["counted"]) for row in found]
    return sorted(spots, key=lambda spot: (not spot.name, spot.name.casefold()))


def to_count(spot: str) -> QuerySet[Any]:
    """Parts of the spot that the walk has not come to, by number, with their stock."""
    return parts_with_stock().filter(merged_into=None, spot=spot).exclude(_counted()).order_by("number")
