"""Prices of a job and their totals, how long such jobs took before, what was billed, paid, and is owed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import QuerySet

from levelwind.core.codec import from_stored
from levelwind.core.writing import written
from levelwind.shop.jobs.selectors.agreed import price_refused, word_that_holds
from levelwind.shop.models import Bill, Job, MoneyEntry, Owner, Price, PriceLine, Sending, Shop, StockEntry
from levelwind.shop.money.tax import tax_in, tax_on
from levelwind.shop.parts.selectors.shelf import parts_that_are_one, sold_and_out

MOST_BILLS = 50
"""Of one owner, on one page; our choice."""

FEWEST_JOBS = 8
"""Below this many finished jobs the history cannot tell a chance."""


@dataclass(frozen=True, slots=True)
class PriceTax:
    """The tax of one rate, on all lines of it: low, likely, high."""

    words: str
    amounts: tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of a price in minor units, without and with tax."""

    low: int
    likely: int
    high: int
    taxes: tuple[PriceTax, ...]
    included: bool = False

    @property
    def tax(self) -> tuple[int, int, int]:
        """Of all rates together."""
        low, likely, high = (sum(tax.amounts[end] for tax in self.taxes) for end in range(3))
        return low, likely, high

    @property
    def with_tax(self) -> tuple[int, int, int]:
        if self.included:
            return self.low, self.likely, self.high
        return self.low + self.tax[0], self.likely + self.tax[1], self.high + self.tax[2]


def tax_words(shop: Shop, percent: Decimal | None = None) -> str:
    """The tax as papers name it, the shop's usual one or the one of this rate.

    >>> tax_words(Shop(tax_label="Sales tax", tax_percent=Decimal("6.00")))
    'Sales tax 6 %'
    """
    percent = Decimal(shop.tax_percent if percent is None else percent)
    named = {Decimal(rate): str(label) for label, rate in shop.other_rates} | {
        Decimal(shop.tax_percent): shop.tax_label
    }
    return f"{named.get(percent, shop.tax_label)} {written(percent.normalize(), 'f')} %"


def rates_of(shop: Shop) -> list[tuple[str, str]]:
    """The rates a line can have, as it keeps them and as its page names them: the usual one, the others, none."""
    usual = tax_words(shop) if shop.tax_percent else "no tax"
    others = [(f"{Decimal(rate).normalize():f}", tax_words(shop, Decimal(rate))) for _, rate in shop.other_rates]
    return [("", usual), *others, *([("0", "tax-free")] if shop.tax_percent else [])]


def price_totals(lines: Sequence[PriceLine], shop: Shop) -> Totals:
    """Tax is worked out on the sum of each rate's lines, as on a bill."""
    reckon = tax_in if shop.tax_included else tax_on
    taxes = []
    for percent, at in by_rate(lines, shop).items():
        low, likely, high = _ends([lines[n] for n in at])
        amounts = reckon(low, percent), reckon(likely, percent), reckon(high, percent)
        if percent:
            taxes.append(PriceTax(tax_words(shop, percent), amounts))
    return Totals(*_ends(lines), tuple(taxes), shop.tax_included)


def _ends(lines: Sequence[PriceLine]) -> tuple[int, int, int]:
    low, likely, high = (sum(getattr(line, f"{end}_minor") for line in lines) for end in ("low", "likely", "high"))
    return low, likely, high


def rate_words(line: PriceLine, shop: Shop) -> str:
    """The line's own rate in words, empty where it is the shop's usual one."""
    percent = Decimal(line.rate or shop.tax_percent)
    if percent == shop.tax_percent:
        return ""
    return tax_words(shop, percent) if percent else "tax-free"


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
    """A line of a bill not yet made; with ``part``, ``count`` of it came off the shelf, ``given`` away or not."""

    kind: str
    text: str
    amount_minor: int
    rate: str = ""
    part: int | None = None
    count: int = 1
    given: bool = False

    @property
    def charged_minor(self) -> int:
        """What the owner pays of it."""
        return 0 if self.given else self.amount_minor


@dataclass(frozen=True, slots=True)
class Account:
    """Money of a job or a bill: charges with tax, payments and credits, and what is still owed."""

    entries: tuple[MoneyEntry, ...]
    charged: int
    paid: int

    @property
    def owed(self) -> int:
        return self.charged - self.paid

    @property
    def over(self) -> int:
        """What was taken beyond what is owed."""
        return max(0, -self.owed)

    @property
    def received(self) -> int:
        """Money taken, less what was given back or mistyped."""
        kinds = ("payment", "deposit", "refund", "reversal")
        return -sum(entry.amount_minor for entry in self.entries if entry.kind in kinds)

    @property
    def newest(self) -> int:
        """The row of the entry that was made last; 0 where there is none."""
        return max((entry.pk for entry in self.entries), default=0)

    @property
    def creditable(self) -> int:
        """What was charged, with tax, and not taken off since."""
        return sum(entry.amount_minor for entry in self.entries if entry.kind in ("charge", "tax", "credit"))


def account_of(job: Job) -> Account:
    return _account(tuple(job.money.select_related("bill", "reversed_by")))


def account_of_bill(bill: Bill) -> Account:
    """What stands on the bill; of one job's bill with all that was paid and credited on the job."""
    entries = bill.job.money if bill.job else bill.entries
    return _account(tuple(entries.select_related("bill", "reversed_by", "job")))


def _account(entries: tuple[MoneyEntry, ...]) -> Account:
    charged = sum(entry.amount_minor for entry in entries if entry.kind in ("charge", "tax", "refund", "reversal"))
    return Account(entries, charged, -sum(entry.amount_minor for entry in entries) + charged)


def bill_draft_lines(job: Job) -> tuple[DraftLine, ...]:
    """The bill as it was typed: what was saved, or else the likely price line by line.

    A price the owner refused is not billed: the one agreed before it counts.
    """
    if job.bill_draft is not None:
        typed = from_stored(tuple[DraftLine, ...], job.bill_draft, "the bill's draft")
        one = parts_that_are_one() if any(line.part for line in typed) else {}
        return tuple(replace(line, part=one.get(line.part, line.part)) if line.part else line for line in typed)
    price = price_to_bill(job)
    if price is None:
        return ()
    return tuple(
        DraftLine(line.kind, line.text, line.likely_minor, line.rate) for line in price.lines.all() if line.likely_minor
    )


def price_to_bill(job: Job) -> Price | None:
    """The newest price, unless the owner refused it: then the one agreed before."""
    latest = price_latest(job)
    if latest is None or latest != price_refused(job):
        return latest
    agreed = word_that_holds(job)
    return agreed.price if agreed else None


@dataclass(frozen=True, slots=True)
class TaxSum:
    """The tax of one rate, on all lines of it."""

    percent: Decimal
    words: str
    amount: int


@dataclass(frozen=True, slots=True)
class DraftSums:
    """Without tax, and the tax of each rate."""

    net: int
    taxes: tuple[TaxSum, ...]
    included: bool

    @property
    def tax(self) -> int:
        return sum(tax.amount for tax in self.taxes)

    @property
    def total(self) -> int:
        return self.net + self.tax

    @property
    def lines(self) -> int:
        """As typed: with the tax where prices include it."""
        return self.total if self.included else self.net


def draft_sums(lines: Sequence[DraftLine], shop: Shop) -> DraftSums:
    """Tax is worked out on the sum of each rate's lines, not line by line."""
    typed = sum(line.charged_minor for line in lines)
    sums = {percent: sum(lines[n].charged_minor for n in at) for percent, at in by_rate(lines, shop).items()}
    reckon = tax_in if shop.tax_included else tax_on
    taxes = tuple(
        TaxSum(percent, tax_words(shop, percent), reckon(sum_minor, percent))
        for percent, sum_minor in sums.items()
        if percent
    )
    held = sum(tax.amount for tax in taxes) if shop.tax_included else 0
    return DraftSums(typed - held, taxes, shop.tax_included)


def by_rate(lines: Sequence[DraftLine | PriceLine], shop: Shop) -> dict[Decimal, list[int]]:
    """The numbers of the lines of each rate: their own, or the shop's usual one."""
    found: dict[Decimal, list[int]] = {}
    for number, line in enumerate(lines):
        found.setdefault(Decimal(line.rate or shop.tax_percent), []).append(number)
    return found


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
    return price_totals(tuple(word.price.lines.all()), shop).with_tax[2]


def over_the_word(job: Job, lines: Sequence[DraftLine], shop: Shop) -> int:
    """By how much these lines, with what was billed before, are over what was agreed. 0 if they are not, or where
    nothing was."""
    agreed = agreed_minor(job, shop)
    if agreed is None or not lines:
        return 0
    return max(0, account_of(job).creditable + draft_sums(lines, shop).total - agreed)


def rate_kept(percent: Decimal | None, shop: Shop) -> str:
    """A percentage as a line keeps it: empty for the shop's usual one."""
    return "" if percent is None or percent == shop.tax_percent else f"{percent.normalize():f}"


def bills_of(job: Job) -> QuerySet[Bill]:
    """Every bill with a line of the job, void ones too, also those over several jobs."""
    return Bill.objects.filter(entries__job=job).distinct()


@dataclass(frozen=True, slots=True)
class SoldEntry:
    """What a bill sold off the shelf, and how many of it did not come back."""

    entry: StockEntry
    out: int


def bill_sold(bill: Bill) -> tuple[SoldEntry, ...]:
    rows = StockEntry.objects.filter(charge__bill=bill, why="sold").select_related("part", "charge").order_by("pk")
    return tuple(SoldEntry(row, sold_and_out(row)) for row in rows)


def reels_sold(bill: Bill) -> tuple[Job, ...]:
    """The shop's own reels that were sold on a bill and did not come back."""
    return tuple(Job.objects.filter(sold_for__bill=bill).select_related("owner"))


def received_apart(account: Account) -> int:
    """Money taken that belongs to no job, less what was given back or mistyped."""
    kinds = ("payment", "deposit", "refund", "reversal")
    return -sum(row.amount_minor for row in account.entries if row.job_id is None and row.kind in kinds)


def bill_get(number: str) -> Bill | None:
    return Bill.objects.select_related("owner", "job").filter(number=number).first()


def owner_bills(owner: Owner) -> tuple[tuple[Bill, int], ...]:
    """The owner's bills, newest first, each with what is owed on it where it is over several jobs or none, else 0."""
    bills = owner.bills.select_related("job").order_by("-pk")[:MOST_BILLS]
    return tuple((bill, 0 if bill.job else owed_on(bill)) for bill in bills)


def owed_on(bill: Bill) -> int:
    """What is owed on a bill: of its job all, of several jobs what each owes, and what belongs to none.

    On a void one only what belongs to no job: negative where it was paid.
    """
    if bill.job:
        return account_of_bill(bill).owed
    own: int = sum(entry.amount_minor for entry in bill.entries.filter(job=None))
    jobs = () if bill.voided_at else Job.objects.filter(money__bill=bill).distinct()
    return own + sum(account_of(job).owed for job in jobs)
