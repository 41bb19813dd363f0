"""Prices of a job and their totals, how long such jobs took before, what was billed, paid, and is owed."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Sum

from levelwind.core.codec import from_stored
from levelwind.shop.jobs.selectors.agreed import price_refused, word_that_holds
from levelwind.shop.models import Job, MoneyEntry, Price, PriceLine, Sending, Shop

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


@dataclass(frozen=True, slots=True)
class DraftLine:
    """A line of a bill not yet made."""

    kind: str
    text: str
    amount_minor: int


@dataclass(frozen=True, slots=True)
class Account:
    """A job's money: charges with tax, payments and credits, and what is still owed."""

    entries: tuple[MoneyEntry, ...]
    charged: int
    paid: int

    @property
    def owed(self) -> int:
        return self.charged - self.paid

    @property
    def creditable(self) -> int:
        """What was charged, with tax, and not taken off since."""
        return sum(entry.amount_minor for entry in self.entries if entry.kind in ("charge", "tax", "credit"))


def account_of(job: Job) -> Account:
    entries = tuple(job.money.select_related("bill"))
    charged = sum(entry.amount_minor for entry in entries if entry.kind in ("charge", "tax", "refund"))
    return Account(entries, charged, -sum(entry.amount_minor for entry in entries) + charged)


def bill_draft_lines(job: Job) -> tuple[DraftLine, ...]:
    """The bill as it stands before it is made: what was saved, or else the likely price line by line.

    A price the owner refused is not billed: the one agreed before it counts.
    """
    if job.bill_draft is not None:
        return from_stored(tuple[DraftLine, ...], job.bill_draft, "the bill's draft")
    price = _price_to_bill(job)
    if price is None:
        return ()
    return tuple(DraftLine(line.kind, line.text, line.likely_minor) for line in price.lines.all() if line.likely_minor)


def _price_to_bill(job: Job) -> Price | None:
    latest = price_latest(job)
    if latest is None or latest != price_refused(job):
        return latest
    agreed = word_that_holds(job)
    return agreed.price if agreed else None


@dataclass(frozen=True, slots=True)
class DraftSums:
    net: int
    tax: int

    @property
    def total(self) -> int:
        return self.net + self.tax


def draft_sums(lines: Sequence[DraftLine], shop: Shop) -> DraftSums:
    net = sum(line.amount_minor for line in lines)
    return DraftSums(net, tax_on(net, shop))


def no_lines(job: Job, shop: Shop) -> tuple[DraftLine, ...]:
    """What is billed where the owner says no: as the shop sets it, the way back only of what came by post."""
    post = shop.no_post_minor if job.parcel.came_by == "post" else 0
    lines = (
        DraftLine("work", "Looking it over and the price", shop.no_fee_minor),
        DraftLine("post", "Return post", post),
    )
    return tuple(line for line in lines if line.amount_minor)


def agreed_minor(job: Job, shop: Shop) -> int | None:
    """The most the owner agreed to pay, with tax: the sum named, or the highest price.

    Where all that was said is no, what the shop asks for the looking and the way back. None where nothing was said.
    """
    word = word_that_holds(job)
    if word is None:
        return draft_sums(no_lines(job, shop), shop).total if price_refused(job) else None
    if word.up_to_minor is not None:
        return word.up_to_minor
    highest = word.price.lines.aggregate(sum=Sum("high_minor"))["sum"] or 0
    return highest + tax_on(highest, shop)


def over_the_word(job: Job, lines: Sequence[DraftLine], shop: Shop) -> int:
    """By how much these lines, with what was billed before, are over what was agreed. 0 if they are not, or where
    nothing was."""
    agreed = agreed_minor(job, shop)
    if agreed is None or not lines:
        return 0
    return max(0, account_of(job).creditable + draft_sums(lines, shop).total - agreed)
