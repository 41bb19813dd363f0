"""What was promised against what happened."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from django.utils import timezone

from levelwind.shop.models import Job, Promise

BANDS = (0.0, 0.7, 0.85, 0.95, 1.0)
"""Ends of the chances that are counted together. Our choice."""
NEWEST = 400
"""Promises that are counted. Our choice: a shop changes."""
FEWEST = 8
"""Below this many promises nothing is said of how well the chances are told."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A promise as it was given, the day it had become by waiting, and the day the reel went home."""

    given: Promise
    day: date
    home: date

    @property
    def kept(self) -> bool:
        return self.home <= self.day

    @property
    def late_days(self) -> int:
        return max((self.home - self.day).days, 0)


@dataclass(frozen=True, slots=True)
class Band:
    """Promises whose chances were told alike."""

    told: float
    """Mean of what was told."""
    kept: int
    of: int

    @property
    def share(self) -> float:
        """(k + ½) / (n + 1), as a chance is told everywhere."""
        return (self.kept + 0.5) / (self.of + 1)

    @property
    def range(self) -> tuple[float, float]:
        """Where the share lies nine times in ten (Jeffreys, Theory of Probability, 1961; from memory)."""
        from scipy.special import betaincinv

        low, high = (float(betaincinv(self.kept + 0.5, self.of - self.kept + 0.5, p)) for p in (0.05, 0.95))
        return low, high


@dataclass(frozen=True, slots=True)
class PromiseRecord:
    """The newest first; and by the chance told, how many were kept."""

    promises: tuple[Kept, ...]
    bands: tuple[Band, ...]

    @property
    def kept(self) -> int:
        return sum(each.kept for each in self.promises)

    @property
    def enough(self) -> bool:
        return sum(band.of for band in self.bands) >= FEWEST


def promises_of(job: Job) -> tuple[Promise, ...]:
    """All that was promised for it, the newest first."""
    return tuple(job.promises.order_by("-at", "-pk"))


def promise_record() -> PromiseRecord:
    """Every promise given for a reel that went home since; a day moved by waiting is judged as moved."""
    rows = Promise.objects.filter(job__sending__sent_at__isnull=False).select_related("job__sending")
    shown = ("job__tag", "job__reel", "job__sending__sent_at", "job__sending__job")
    by_job: dict[int, list[Promise]] = {}
    for row in rows.only("job", "day", "chance", "moved", *shown).order_by("-at", "-pk")[:NEWEST]:
        by_job.setdefault(row.job_id, []).insert(0, row)
    kept = sorted(
        (each for told in by_job.values() for each in _judged(told)), key=lambda each: each.home, reverse=True
    )
    return PromiseRecord(tuple(kept), tuple(_bands(kept)))


def _judged(told: list[Promise]) -> Iterable[Kept]:
    day: date | None = None
    for row in reversed(told):
        day = day or row.day
        if not row.moved:
            sent = row.job.sending.sent_at
            assert sent is not None
            yield Kept(row, day, timezone.localdate(sent))
            day = None


def _bands(kept: Iterable[Kept]) -> Iterable[Band]:
    told = [(each.given.chance, each.kept) for each in kept if each.given.chance is not None]
    for low, high in pairwise(BANDS):
        within = [(chance, good) for chance, good in told if low <= chance < high or chance == high == 1.0]
        if within:
            yield Band(sum(c for c, _ in within) / len(within), sum(good for _, good in within), len(within))
