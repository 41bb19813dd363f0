"""Making bills and voiding them. Money is a ledger: a mistake is put right by another entry."""

from collections.abc import Sequence
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.utils import timezone

from levelwind.core.codec import as_stored
from levelwind.core.errors import InputError, LevelwindError
from levelwind.documents.money import format_money
from levelwind.shop.jobs.selectors.agreed import price_refused, word_newest, word_that_holds
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.models import Bill, Job, MoneyEntry, Owner, PriceLine, Shop
from levelwind.shop.money.fitted import bill_lines
from levelwind.shop.money.selectors import (
    DraftLine,
    agreed_minor,
    by_rate,
    over_the_word,
    rate_kept,
    rates_of,
    tax_words,
)
from levelwind.shop.money.tax import shared, tax_in, tax_on
from levelwind.shop.people.clock import clock_hold
from levelwind.shop.people.selectors import currency, shop_get

MOST_LINES = 60

STANDING = ("charge", "credit", "tax")
"""The kinds of entries that a bill is made of; the others are money that changes hands."""

GIVEN = ", given away"
"""What a bill says of a part the shop takes no money for."""

TRIES = 8
"""How often to take the next number again when somebody else took it first; our choice."""


@transaction.atomic
def bill_draft_save(*, job: Job, lines: Sequence[DraftLine]) -> Job:
    """Keep the lines of a bill not yet made."""
    shop = shop_get()
    if len(lines) > MOST_LINES:
        raise InputError("lines of the bill", len(lines), f"up to {MOST_LINES}")
    for line in lines:
        if line.kind not in dict(PriceLine.KINDS):
            raise InputError("kind of line", repr(line.kind), "work, part or post")
        if line.amount_minor < 0:
            raise InputError("amount", line.amount_minor, "0 or more")
        if line.rate not in dict(rates_of(shop)):
            raise InputError("rate of tax", repr(line.rate), "one that the shop sets")
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
    return owner_bill_make(owner=job.owner, jobs=[job], by=by)


def _may_be_billed(job: Job, lines: Sequence[DraftLine], shop: Shop) -> None:
    if job.is_own:
        raise LevelwindError(f"{job.tag} is the shop's own: it is sold over the counter, not billed.")
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
        raise LevelwindError(
            f"The owner said no to price {refused.number}, and this is more {most}: ask again first, "
            "or give away what was added."
        )
    if over:
        raise LevelwindError(
            "This is more than the owner agreed to: write down that they agree, or give away what was added."
        )


@transaction.atomic
def owner_bill_make(*, owner: Owner, jobs: Sequence[Job], lines: Sequence[DraftLine] = (), by: str = "") -> Bill:
    """One bill over what stands to be billed of several of an owner's jobs, and over lines that belong to none.

    Each job's lines are held to its own owner's word, as for ``bill_make``.
    """
    shop = shop_get()
    rows: list[tuple[Job | None, DraftLine]] = []
    for job in jobs:
        if job_hold(job).owner_id != owner.pk:
            raise LevelwindError(f"{job.tag} belongs to somebody else.")
        drawn = bill_lines(job)
        _may_be_billed(job, drawn, shop)
        rows += [(job, line) for line in drawn]
    rows += [(None, line) for line in lines]
    if not rows:
        raise LevelwindError("A bill without a line cannot be made: choose a job, or add a line.")
    bill, _ = bill_write(owner=owner, rows=rows, job=jobs[0] if len(jobs) == 1 and not lines else None, by=by)
    for job in jobs:
        job.bill_draft = []
        job.save(update_fields=["bill_draft"])
        job_note(job=job, text=f"Bill {bill.number} made{_unasked(job)}.", by=by)
    for whose, line in rows:
        if whose and line.given:
            worth = format_money(line.amount_minor, currency(shop))
            job_note(job=whose, text=f"Given away: {line.text}, {worth}.", by=by)
    return bill


@transaction.atomic
def bill_write(
    *,
    owner: Owner,
    rows: Sequence[tuple[Job | None, DraftLine]],
    job: Job | None = None,
    press: str | None = None,
    by: str = "",
) -> tuple[Bill, list[MoneyEntry]]:
    """Number a bill and write its lines into the ledger; the charge of each line comes back in the order of the lines.

    Whether it may be made is for the caller to ask.
    """
    shop = shop_get()
    bill = _numbered(Bill(owner=owner, job=job, tax_included=shop.tax_included, press=press))
    return bill, _write(bill, rows, shop, by)


def _unasked(job: Job) -> str:
    return "" if word_newest(job) else ", without the owner's word on a price"


def _write(bill: Bill, rows: Sequence[tuple[Job | None, DraftLine]], shop: Shop, by: str) -> list[MoneyEntry]:
    """A charge for each line, and a tax entry for each rate and job, on the sum of the rate's lines."""
    lines = [line for _, line in rows]
    charges: dict[int, MoneyEntry] = {}
    for percent, at in by_rate(lines, shop).items():
        typed = [lines[n].charged_minor for n in at]
        reckon = tax_in if bill.tax_included else tax_on
        taxes = shared(reckon(sum(typed), percent), typed)
        held: dict[Job | None, int] = {}
        for n, tax in zip(at, taxes, strict=True):
            job, line = rows[n]
            held[job] = held.get(job, 0) + tax
            amount = line.charged_minor - tax if bill.tax_included else line.charged_minor
            with_tax = line.charged_minor if bill.tax_included else None
            text = f"{line.text[: 160 - len(GIVEN)]}{GIVEN}" if line.given else line.text
            entry = _enter(bill, job, "charge", text, amount, by, percent, with_tax, line.kind, line.part, line.count)
            charges[n] = entry
        for job, tax in held.items():
            if tax:
                _enter(bill, job, "tax", tax_words(shop, percent), tax, by, percent)
    return [charges[n] for n in range(len(rows))]


def _enter(
    bill: Bill,
    job: Job | None,
    kind: str,
    text: str,
    amount: int,
    by: str,
    percent: Decimal | None = None,
    typed: int | None = None,
    note: str = "",
    part: int | None = None,
    count: int = 1,
) -> MoneyEntry:
    entry = MoneyEntry(
        bill=bill,
        job=job,
        owner=None if job else bill.owner,
        kind=kind,
        text=text[:160],
        amount_minor=amount,
        tax_percent=percent,
        typed_minor=typed,
        note=note,
        part_id=part,
        count=count,
        by=by,
    )
    entry.full_clean()
    entry.save()
    return entry


@transaction.atomic
def bill_void(*, bill: Bill, why: str, by: str = "") -> Bill:
    """The bill is wrong: each of its entries is taken back by another, and its lines can be billed again.

    Its number stays. What was paid stays paid: it counts for the next bill, or is given back.
    """
    bill = Bill.objects.select_for_update().get(pk=bill.pk)
    why = why.strip()
    if bill.voided_at:
        raise LevelwindError(f"Bill {bill.number} is void already.")
    if not why:
        raise LevelwindError("Enter in a sentence why the bill is void.")
    entries = list(bill.entries.filter(kind__in=STANDING).select_related("job"))
    _bill_again(bill, entries)
    for entry in entries:
        kind = "tax" if entry.kind == "tax" else "credit" if entry.amount_minor > 0 else "charge"
        typed = None if entry.typed_minor is None else -entry.typed_minor
        text = f"Void: {entry.text}"
        _enter(
            bill,
            entry.job,
            kind,
            text,
            -entry.amount_minor,
            by,
            entry.tax_percent,
            typed,
            entry.note,
            entry.part_id,
            entry.count,
        )
    bill.voided_at, bill.void_why = timezone.now(), why[:200]
    bill.full_clean()
    bill.save(update_fields=["voided_at", "void_why"])
    for job in {entry.job for entry in entries if entry.job}:
        job_note(job=job, text=f"Bill {bill.number} is void: {why}", by=by)
    return bill


def _bill_again(bill: Bill, entries: Sequence[MoneyEntry]) -> None:
    """The lines of a voided bill stand to be billed again, where nobody has begun others.

    What was given away on it is not among them: it comes as any part that was fitted, to be given away again or not.
    """
    shop = shop_get()
    for job in {entry.job for entry in entries if entry.job}:
        if job_hold(job).bill_draft:
            continue
        lines = [
            DraftLine(
                entry.note if entry.note in dict(PriceLine.KINDS) else "work",
                entry.text,
                entry.amount_minor if entry.typed_minor is None else entry.typed_minor,
                rate_kept(entry.tax_percent, shop),
                entry.part_id,
                entry.count,
            )
            for entry in entries
            if entry.job == job and entry.kind == "charge" and not (entry.part_id and not entry.amount_minor)
        ]
        job.bill_draft = as_stored(lines)
        job.save(update_fields=["bill_draft"])


def _numbered(bill: Bill) -> Bill:
    """The constraint on numbers decides between two who bill at once; who comes second takes the next number."""
    clock_hold()
    for _ in range(TRIES):
        bill.number = _next_number()
        bill.full_clean(validate_unique=False)
        try:
            with transaction.atomic():
                bill.save(force_insert=True)
            return bill
        except IntegrityError:
            bill.pk = None
    raise LevelwindError("Others are making bills at this very moment. Nothing is lost: make the bill once more.")


def _next_number() -> str:
    """B, the year, and a number that runs without a gap: the bill made last in a year has its highest."""
    year = f"B{timezone.localdate():%y}-"
    last = Bill.objects.select_for_update().filter(number__startswith=year).order_by("-pk").first()
    return f"{year}{int(last.number.removeprefix(year)) + 1 if last else 1:04d}"
