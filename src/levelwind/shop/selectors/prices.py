"""Prices of a job, their totals, and how long such jobs took before."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from levelwind.shop.models import Job, Price, PriceLine, Sending, Shop, Word

FEWEST_JOBS = 8
"""Below this many finished jobs the history cannot tell a chance."""


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of a price in minor units, without and with tax."""

    low: int
    likely: int
    high: int
    tax: tuple[int, int, int]

    @property
    def with_tax(self) -> tuple[int, int, int]:
        return self.low + self.tax[0], self.likely + self.tax[1], self.high + self.tax[2]


def tax_on(amount_minor: int, shop: Shop) -> int:
    """Tax on a sum, to the nearest minor unit, halves up."""
    return int((amount_minor * int(shop.tax_percent * 100) + 5000) // 10000)


def tax_words(shop: Shop) -> str:
    """The tax as papers name it.

    >>> from decimal import Decimal
    >>> tax_words(Shop(tax_label="Sales tax", tax_percent=Decimal("6.00")))
    'Sales tax 6 %'
    """
    return f"{shop.tax_label} {shop.tax_percent.normalize():f} %"


def price_totals(lines: Sequence[PriceLine], shop: Shop) -> Totals:
    low, likely, high = (sum(getattr(line, f"{end}_minor") for line in lines) for end in ("low", "likely", "high"))
    return Totals(low, likely, high, (tax_on(low, shop), tax_on(likely, shop), tax_on(high, shop)))


def price_latest(job: Job) -> Price | None:
    return job.prices.prefetch_related("lines__part").order_by("-number").first()


def price_agreed(job: Job) -> Word | None:
    """The owner's latest word on this job, whatever it was."""
    return Word.objects.filter(price__job=job).select_related("price").order_by("-at", "-pk").first()


def words_of(job: Job) -> QuerySet[Word]:
    return Word.objects.filter(price__job=job).select_related("price")


def days_in_shop() -> list[int]:
    """Whole days from price sent to reel sent home, for the last 400 jobs that went home."""
    sent = Sending.objects.filter(sent_at__isnull=False).select_related("job").order_by("-sent_at")[:400]
    priced = {
        price.job_id: price.sent_at
        for price in Price.objects.filter(job__in=[row.job_id for row in sent], sent_at__isnull=False)
    }
    pairs = [(priced.get(row.job_id), row.sent_at) for row in sent]
    return [(went - asked).days for asked, went in pairs if asked and went]


@dataclass(frozen=True, slots=True)
class PromiseChance:
    """The chance of keeping a promise of so many days, from how long finished jobs took."""

    days: int
    jobs: int
    in_time: int

    @property
    def chance(self) -> float | None:
        """(k + ½) / (n + 1), the middle of what k of n leaves open (Jeffreys); None with too few jobs to tell."""
        return (self.in_time + 0.5) / (self.jobs + 1) if self.jobs >= FEWEST_JOBS else None


def promise_chance(days: int, took: Sequence[int]) -> PromiseChance:
    return PromiseChance(days=days, jobs=len(took), in_time=sum(one <= days for one in took))


def promise_days(took: Sequence[int], sure: float = 0.85) -> int | None:
    """The fewest days that would have been enough for this share of the finished jobs; None with too few to tell.

    >>> promise_days([3, 5, 6, 8, 9, 10, 12, 14, 15, 30])
    15
    """
    if len(took) < FEWEST_JOBS:
        return None
    ordered = sorted(took)
    return ordered[min(len(ordered) - 1, round(sure * len(ordered)))]
