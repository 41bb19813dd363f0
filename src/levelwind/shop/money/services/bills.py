"""Making bills and taking payments. Money is a ledger: a mistake is put right by another entry."""

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.models import Bill, Job, MoneyEntry, PriceLine
from levelwind.shop.money.selectors import DraftLine, account_of, bill_draft_lines, draft_sums, tax_words
from levelwind.shop.people.selectors import shop_get

MOST_LINES = 60


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
    """Number the bill and write its charges and tax into the ledger."""
    lines, shop = bill_draft_lines(job), shop_get()
    if not lines:
        raise LevelwindError("A bill without a line cannot be made: add what was done.")
    bill = Bill(job=job, number=_next_number())
    bill.full_clean()
    bill.save()
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
    job_note(job=job, text=f"Bill {bill.number} made.", by=by)
    return bill


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
    """Something taken off what is owed; never more than was charged."""
    amount, account = _positive(amount_minor), account_of(job)
    if amount > account.charged:
        raise InputError("credit", amount, f"up to what was charged, {account.charged}")
    return _entry(job, "credit", text, -amount, by)
