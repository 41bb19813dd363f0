"""What a job is billed, what was paid, and what is owed."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Sum

from levelwind.shop.models import Job, MoneyEntry, Shop
from levelwind.shop.selectors.prices import price_agreed, price_latest, tax_on


@dataclass(frozen=True, slots=True)
class DraftLine:
    """A line of a bill not yet made."""

    kind: str
    text: str
    amount_minor: int

    def as_dict(self) -> dict[str, object]:
        return {"kind": self.kind, "text": self.text, "amount_minor": self.amount_minor}


@dataclass(frozen=True, slots=True)
class Account:
    """A job's money: charges with tax, payments and credits, and what is still owed."""

    entries: tuple[MoneyEntry, ...]
    charged: int
    paid: int

    @property
    def owed(self) -> int:
        return self.charged - self.paid


def account_of(job: Job) -> Account:
    entries = tuple(job.money.select_related("bill"))
    charged = sum(entry.amount_minor for entry in entries if entry.kind in ("charge", "tax", "refund"))
    return Account(entries, charged, -sum(entry.amount_minor for entry in entries) + charged)


def bill_draft_lines(job: Job) -> tuple[DraftLine, ...]:
    """The bill as it stands before it is made: what was saved, or else the likely price line by line."""
    if job.bill_draft is not None:
        return tuple(DraftLine(**row) for row in job.bill_draft)
    price = price_latest(job)
    if price is None:
        return ()
    return tuple(DraftLine(line.kind, line.text, line.likely_minor) for line in price.lines.all() if line.likely_minor)


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


def over_the_word(job: Job, lines: Sequence[DraftLine], shop: Shop) -> int:
    """By how much the bill is over what the owner agreed to: the sum named, or the highest price. 0 if it is not."""
    word = price_agreed(job)
    if word is None or word.said == "no":
        return 0
    agreed = word.up_to_minor
    if agreed is None:
        highest = word.price.lines.aggregate(sum=Sum("high_minor"))["sum"] or 0
        agreed = highest + tax_on(highest, shop)
    return max(0, draft_sums(lines, shop).total - agreed)
