"""Grease, oil, wipes, line: what reels use up of them, in ml, g, m or pieces."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet, Sum
from django.db.models.functions import TruncMonth
from django.utils import timezone

from levelwind.core.writing import written
from levelwind.shop.models import Job, Part, ReelUse, UsedUp
from levelwind.shop.parts.selectors.shelf import parts_with_stock


@dataclass(frozen=True, slots=True)
class Consumed:
    """A consumable on a reel's page, in its measure."""

    part: Part
    usual: float | None
    """What such a reel uses; None where nothing is said of it."""
    written: float | None
    """What is written of this reel; None: nothing yet."""
    left: float
    """On the shelf, with the one begun."""

    @property
    def shown(self) -> str:
        """What its box begins with."""
        amount = self.usual if self.written is None else self.written
        return "" if amount is None else written(amount, ".6g")


def consumables() -> QuerySet[Part]:
    """Parts that say their measure and how much is in one, with their stock."""
    return parts_with_stock().filter(merged_into=None, holds__isnull=False).exclude(measure="").order_by("number")


def used_by(job: Job) -> dict[int, float]:
    """What is written of a reel, by consumable."""
    rows = UsedUp.objects.filter(job=job).order_by().values("part").annotate(amount=Sum("amount"))
    return {row["part"]: row["amount"] for row in rows}


def consumed(job: Job) -> tuple[Consumed, ...]:
    """Every consumable for a reel's page, those first that such a reel uses."""
    parts, written = list(consumables()), used_by(job)
    usual = usual_of(job.pattern.family if job.pattern else "") if parts else {}
    rows = [
        Consumed(
            part,
            usual.get(part.pk),
            written.get(part.pk),
            max((part.here - (part.cut_off or 0.0)) * (part.holds or 0.0), 0.0),  # type: ignore[attr-defined]
        )
        for part in parts
    ]
    return tuple(sorted(rows, key=lambda row: not row.shown))


def usual_of(family: str) -> dict[int, float]:
    """By consumable what a reel of the family uses: as said of the family, else of any reel."""
    uses = ReelUse.objects.filter(family__in=("", family)).order_by("family")
    return {use.part_id: use.amount for use in uses}


Months = Mapping[date, float]


def used_by_month(homes: Mapping[str, Mapping[date, int]]) -> dict[int, Months]:
    """By consumable and month, by its first day, in its measure: as written; where nothing ever was, by the reels that
    went ``homes``, by family.
    """
    written: dict[int, dict[date, float]] = defaultdict(dict)
    rows = UsedUp.objects.order_by().values("part", month=TruncMonth("at")).annotate(amount=Sum("amount"))
    for row in rows:
        written[row["part"]][timezone.localdate(row["month"])] = row["amount"]
    usual = {family: usual_of(family) for family in homes}
    told: dict[int, Months] = dict(written)
    for part in {key for each in usual.values() for key in each} - set(written):
        months: dict[date, float] = defaultdict(float)
        for family, reels in homes.items():
            for month, count in reels.items():
                months[month] += count * usual[family].get(part, 0.0)
        told[part] = months
    return told
