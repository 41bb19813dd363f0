"""What a reel of the shop's own cost and brought. Only reads."""

from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from levelwind.core.quantities import nearest
from levelwind.shop.jobs.selectors.jobs import open_jobs
from levelwind.shop.jobs.selectors.minutes import clocked
from levelwind.shop.models import OPEN, Job, Stage


@dataclass(frozen=True, slots=True)
class OwnReel:
    """In minor units, without tax: what was paid for it, its parts at what they cost the shop, what it was sold for."""

    job: Job
    bought_minor: int
    parts_minor: int
    sold_minor: int | None
    minutes: float | None
    """On the clock of its steps; None where none were ticked."""

    @property
    def cost_minor(self) -> int:
        return self.bought_minor + self.parts_minor

    @property
    def left_minor(self) -> int | None:
        """What is left for the work; None while it is not sold."""
        return None if self.sold_minor is None else self.sold_minor - self.cost_minor

    @property
    def an_hour_minor(self) -> int | None:
        """What an hour on the clock brought, to the nearest minor unit, halves up."""
        if self.left_minor is None or not self.minutes:
            return None
        return nearest(Decimal(self.left_minor) * 60 / Decimal(self.minutes))


def own_reel(job: Job) -> OwnReel:
    return _own_reel(job, clocked([job]).get(job.pk))


def _own_reel(job: Job, minutes: float | None) -> OwnReel:
    out = job.stock_entries.filter(why__in=["taken", "back"]).select_related("part")
    parts = -sum(entry.change * entry.part.cost_minor for entry in out)
    return OwnReel(job, job.bought_minor or 0, parts, job.sold_for.amount_minor if job.sold_for else None, minutes)


def own_reels() -> tuple[OwnReel, ...]:
    """Those on the bench, then those that were sold, the newest first."""
    return _reels(open_jobs()) + _reels(Job.objects.filter(stage=Stage.SOLD).order_by("-stage_since"))


def reels_to_sell() -> QuerySet[Job]:
    """Reels of the shop's own that are here."""
    return Job.objects.filter(owner__kind="shop").filter(stage__in=OPEN).select_related("owner").order_by("tag")


def _reels(jobs: QuerySet[Job]) -> tuple[OwnReel, ...]:
    found = list(jobs.filter(owner__kind="shop").select_related("owner", "sold_for__bill", "pattern")[:MOST])
    minutes = clocked(found)
    return tuple(_own_reel(job, minutes.get(job.pk)) for job in found)


MOST = 60
"""Reels on one page; our choice."""
