"""Money that changes hands, and what is taken off a bill: each an entry that is added, none that is edited.

``after`` is the newest entry on the page that was pressed: pressed twice, it is entered once.
"""

import re
from collections.abc import Iterable
from decimal import Decimal

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.models import Bill, Job, MoneyEntry
from levelwind.shop.money.selectors import Account, account_of, account_of_bill, received_apart
from levelwind.shop.money.tax import shared, tax_in, tax_on

RATE = re.compile(r"([\d.]+) %$")
"""How the words of a tax end."""


def _positive(amount_minor: int | None) -> int:
    if not amount_minor or amount_minor < 0:
        raise InputError("sum", amount_minor or "nothing", "more than 0")
    return amount_minor


def _as_seen(account: Account, after: int | None) -> Account:
    if after is not None and account.newest != after:
        raise LevelwindError(
            "Something was entered since this page was loaded: look at the entries, and enter it again if it is not "
            "among them."
        )
    return account


def _enter(job: Job | None, kind: str, text: str, amount_minor: int, by: str, **facts: object) -> MoneyEntry:
    entry = MoneyEntry(job=job, kind=kind, text=text[:160], amount_minor=amount_minor, by=by, **facts)
    entry.full_clean()
    entry.save()
    if job:
        job_note(job=job, text=f"{entry.get_kind_display().capitalize()}: {text}.", by=by)
    return entry


@transaction.atomic
def payment_take(
    *, job: Job, amount_minor: int | None, text: str, after: int | None = None, by: str = ""
) -> MoneyEntry:
    """Money received; a deposit where nothing is charged yet."""
    amount, charged = _positive(amount_minor), _as_seen(account_of(job_hold(job)), after).creditable
    return _enter(job, "payment" if charged else "deposit", text, -amount, by)


@transaction.atomic
def bill_payment_take(
    *, bill: Bill, amount_minor: int | None, text: str, after: int | None = None, by: str = ""
) -> list[MoneyEntry]:
    """Money received for a bill over several jobs: to each job what it owes, in order; what is over is the owner's."""
    left = _positive(amount_minor)
    if bill.voided_at:
        raise LevelwindError(f"Bill {bill.number} is void: nothing is owed on it.")
    if bill.job:
        return [payment_take(job=bill.job, amount_minor=left, text=text, after=after, by=by)]
    _as_seen(account_of_bill(Bill.objects.select_for_update().get(pk=bill.pk)), after)
    entries = []
    for job in Job.objects.filter(money__bill=bill).distinct().order_by("tag"):
        share = min(left, max(0, account_of(job_hold(job)).owed))
        if share:
            entries.append(_enter(job, "payment", text, -share, by, bill=bill))
            left -= share
    if left:
        entries.append(_enter(None, "payment", text, -left, by, bill=bill, owner=bill.owner))
    return entries


@transaction.atomic
def payment_give_back(
    *, job: Job, amount_minor: int | None, text: str, after: int | None = None, by: str = ""
) -> MoneyEntry:
    """Money given back to the owner, never more than was received."""
    amount, received = _positive(amount_minor), _as_seen(account_of(job_hold(job)), after).received
    if amount > received:
        raise InputError("sum given back", amount, f"up to what was received and not yet given back, {received}")
    return _enter(job, "refund", text, amount, by)


@transaction.atomic
def bill_give_back(
    *, bill: Bill, amount_minor: int | None, text: str, after: int | None = None, by: str = ""
) -> MoneyEntry:
    """Of what was received on a bill and belongs to no job, given back to the owner, never more than that."""
    amount = _positive(amount_minor)
    bill = Bill.objects.select_for_update().get(pk=bill.pk)
    received = received_apart(_as_seen(account_of_bill(bill), after))
    if amount > received:
        raise InputError("sum given back", amount, f"up to what was received and not yet given back, {received}")
    return _enter(None, "refund", text, amount, by, bill=bill, owner=bill.owner)


@transaction.atomic
def payment_reverse(*, entry: MoneyEntry, why: str, by: str = "") -> MoneyEntry:
    """A payment that was typed wrongly never was: one entry takes it back, once. The right one is taken anew."""
    why = why.strip()
    if entry.job:
        job_hold(entry.job)
    elif entry.bill:
        Bill.objects.select_for_update().get(pk=entry.bill.pk)
    if entry.kind not in ("payment", "deposit"):
        raise LevelwindError("Only money received can have been mistyped: a bill is voided.")
    if MoneyEntry.objects.filter(reverses=entry).exists():
        raise LevelwindError("This payment is taken back already.")
    if not why:
        raise LevelwindError("Enter in a sentence what was wrong with it.")
    text = f"mistyped: {entry.text}: {why}"
    return _enter(
        entry.job, "reversal", text, -entry.amount_minor, by, owner=entry.owner, bill=entry.bill, reverses=entry
    )


@transaction.atomic
def credit_give(
    *, job: Job, amount_minor: int | None, text: str, after: int | None = None, by: str = ""
) -> list[MoneyEntry]:
    """Something taken off what the lines of a job's bills come to, the newest first; its tax follows it.

    Without tax, as the lines are; with it where the bill's prices include it. All credits together never take off more
    than was charged.
    """
    left = _positive(amount_minor)
    _as_seen(account_of(job_hold(job)), after)
    bills = list(Bill.objects.filter(entries__job=job, voided_at=None).distinct().order_by("-pk"))
    most = sum(_typed(_lines(bill, job)) for bill in bills) + _typed(_lines(None, job))
    if left > most:
        raise InputError("credit", left, f"up to what was charged and not yet taken off, {most}")
    entries: list[MoneyEntry] = []
    for bill in (*bills, None):
        share = min(left, _typed(_lines(bill, job)))
        if share > 0:
            entries += _take_off(bill, job, share, text, by)
            left -= share
    return entries


def _lines(bill: Bill | None, job: Job | None = None) -> list[MoneyEntry]:
    rows = MoneyEntry.objects.filter(bill=bill, kind__in=["charge", "credit", "tax"])
    return list(rows.filter(job=job) if job else rows)


def _typed(rows: Iterable[MoneyEntry]) -> int:
    """What lines and credits come to, as they were typed."""
    kept = (row for row in rows if row.kind != "tax")
    return sum(row.amount_minor if row.typed_minor is None else row.typed_minor for row in kept)


def _rate(row: MoneyEntry, rows: Iterable[MoneyEntry]) -> Decimal:
    """Its own, or of an older bill the one that its tax names."""
    if row.tax_percent is not None:
        return row.tax_percent
    named = next((found for tax in rows if tax.kind == "tax" and (found := RATE.search(tax.text))), None)
    return Decimal(named.group(1)) if named else Decimal(0)


def _take_off(bill: Bill | None, job: Job, amount: int, text: str, by: str) -> list[MoneyEntry]:
    """A credit for each rate of the job's lines on a bill, in the shares of what the lines of each come to."""
    mine = _lines(bill, job)
    rates = list(dict.fromkeys(_rate(row, mine) for row in mine if row.kind != "tax"))
    sums = [_typed(row for row in mine if row.kind != "tax" and _rate(row, mine) == rate) for rate in rates]
    shares = zip(rates, shared(amount, sums), strict=True)
    return [entry for rate, part in shares if part for entry in _less(bill, job, rate, part, text, by)]


def bill_line_less(*, bill: Bill, rate: Decimal, amount_minor: int, text: str, by: str = "") -> list[MoneyEntry]:
    """So much less of a line that belongs to no job, as it was typed; its tax follows it."""
    return _less(bill, None, rate, amount_minor, text, by)


def _less(bill: Bill | None, job: Job | None, rate: Decimal, part: int, text: str, by: str) -> list[MoneyEntry]:
    """A credit of one rate, and what the rate's tax on the bill's rest is less by."""
    included = bool(bill and bill.tax_included)
    rows = _lines(bill) if bill else _lines(None, job)
    rest = _typed(row for row in rows if row.kind != "tax" and _rate(row, rows) == rate) - part
    taxes = [row for row in rows if row.kind == "tax" and _rate(row, rows) == rate]
    taxed = sum(row.amount_minor for row in taxes)
    less = taxed - (tax_in if included else tax_on)(rest, rate) if taxed else 0
    net, typed = (part - less, -part) if included else (part, None)
    facts: dict[str, object] = {"bill": bill, "tax_percent": rate}
    if job is None and bill:
        facts["owner"] = bill.owner
    entries = [_enter(job, "credit", text, -net, by, typed_minor=typed, **facts)]
    if less:
        entries.append(_enter(job, "tax", taxes[0].text, -less, by, **facts))
    return entries
