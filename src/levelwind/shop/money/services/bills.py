"""Making bills and taking payments. Money is a ledger: a mistake is put right by another entry."""

from collections.abc import Sequence

from django.db import IntegrityError, transaction
from django.utils import timezone

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.selectors.agreed import price_refused, word_newest, word_that_holds
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.models import Bill, Job, MoneyEntry, PriceLine, Shop
from levelwind.shop.money.selectors import (
    DraftLine,
    account_of,
    agreed_minor,
    bill_draft_lines,
    draft_sums,
    over_the_word,
    tax_words,
)
from levelwind.shop.people.selectors import shop_get

MOST_LINES = 60

TRIES = 8
"""How often to take the next number again when somebody else took it first; our choice."""


@transaction.atomic
def bill_draft_save(*, job: Job, lines: Sequence[DraftLine]) -> Job:
    """Keep the lines of a bill not yet made."""
    if len(lines) > MOST_LINES:
        raise InputError("lines of the bill", len(lines), f"up to {MOST_LINES}")
    for line in lines:
        if line.kind not in dict(PriceLine.KINDS):
            raise InputError("kind of line", repr(line.kind), "work, part or post")
        if line.amount_minor < 0:
            raise InputError("amount", line.amount_minor, "0 or more")
    job.bill_draft = as_stored(lines)
    job.full_clean()
    job.save(update_fields=["bill_draft"])
    return job


@transaction.atomic
def bill_make(*, job: Job, by: str = "") -> Bill:
    """Number the bill and write its charges and tax into the ledger. Pressed again, there is nothing left to bill.

    Raises LevelwindError where there is no line, where the owner refused the price it is made from, or where it is more
    than the owner agreed to. Where nobody asked the owner, the history says so.
    """
    job_hold(job)
    lines, shop = bill_draft_lines(job), shop_get()
    _may_be_billed(job, lines, shop)
    bill = _numbered(job)
    entries = [
        MoneyEntry(
            job=job, bill=bill, kind="charge", text=line.text, amount_minor=line.amount_minor, note=line.kind, by=by
        )
        for line in lines
    ]
    tax = draft_sums(lines, shop).tax
    if tax:
        entries.append(MoneyEntry(job=job, bill=bill, kind="tax", text=tax_words(shop), amount_minor=tax, by=by))
    for entry in entries:
        entry.full_clean()
        entry.save()
    job.bill_draft = []
    job.save(update_fields=["bill_draft"])
    asked = "" if word_newest(job) else ", without the owner's word on a price"
    job_note(job=job, text=f"Bill {bill.number} made{asked}.", by=by)
    return bill


def _may_be_billed(job: Job, lines: Sequence[DraftLine], shop: Shop) -> None:
    refused = price_refused(job)
    if refused and not agreed_minor(job, shop):
        raise LevelwindError(f"The owner said no to price {refused.number}: ask again before you bill anything.")
    if not lines:
        last = job.bills.last()
        made = f"Bill {last.number} is made, and another" if last else "A bill"
        raise LevelwindError(f"{made} without a line cannot be made: add what was done.")
    over = over_the_word(job, lines, shop)
    if refused and over:
        most = "than was agreed before" if word_that_holds(job) else "than the looking and the way back"
        raise LevelwindError(f"The owner said no to price {refused.number}, and this is more {most}: ask again first.")
    if over:
        raise LevelwindError("This is more than the owner agreed to: take down first that they agree to it.")


def _numbered(job: Job) -> Bill:
    """The constraint on numbers decides between two who bill at once; who comes second takes the next number."""
    for _ in range(TRIES):
        bill = Bill(job=job, number=_next_number())
        bill.full_clean(validate_unique=False)
        try:
            with transaction.atomic():
                bill.save(force_insert=True)
            return bill
        except IntegrityError:
            continue
    raise LevelwindError("Others are making bills at this very moment. Nothing is lost: make the bill once more.")


def _next_number() -> str:
    """B, the year, and a number that runs without a gap."""
    year = f"B{timezone.localdate():%y}-"
    last = Bill.objects.select_for_update().filter(number__startswith=year).order_by("-number").first()
    return f"{year}{int(last.number.removeprefix(year)) + 1 if last else 1:04d}"


def _entry(job: Job, kind: str, text: str, amount_minor: int, by: str) -> MoneyEntry:
    entry = MoneyEntry(job=job, kind=kind, text=text, amount_minor=amount_minor, by=by)
    entry.full_clean()
    entry.save()
    job_note(job=job, text=f"{entry.get_kind_display().capitalize()}: {text}.", by=by)
    return entry


def _positive(amount_minor: int | None) -> int:
    if not amount_minor or amount_minor < 0:
        raise InputError("sum", amount_minor or "nothing", "more than 0")
    return amount_minor


@transaction.atomic
def payment_take(*, job: Job, amount_minor: int | None, text: str, by: str = "") -> MoneyEntry:
    """Money received."""
    return _entry(job, "payment", text, -_positive(amount_minor), by)


@transaction.atomic
def credit_give(*, job: Job, amount_minor: int | None, text: str, by: str = "") -> MoneyEntry:
    """Something taken off what is owed; all credits together never more than was charged."""
    amount, left = _positive(amount_minor), account_of(job_hold(job)).creditable
    if amount > left:
        raise InputError("credit", amount, f"up to what was charged and not yet taken off, {left}")
    return _entry(job, "credit", text, -amount, by)
