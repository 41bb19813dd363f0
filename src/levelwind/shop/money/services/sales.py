"""Selling over the counter: lines that hang on no job, the parts off the shelf at once, and what is brought back."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.quantities import nearest
from levelwind.shop.jobs.services.jobs import job_bring_back, job_hold, job_sell
from levelwind.shop.models import Bill, Job, MoneyEntry, Owner, Part, StockEntry
from levelwind.shop.money.selectors import DraftLine, account_of_bill, bill_sold, rates_of, reels_sold
from levelwind.shop.money.services.bills import bill_void, bill_write
from levelwind.shop.money.services.ledger import bill_line_less, bill_payment_take
from levelwind.shop.parts.selectors.shelf import sold_and_out
from levelwind.shop.parts.services.shelf import stock_brought_back, stock_sell
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.people.services import owner_add, owner_passing


@dataclass(frozen=True, slots=True)
class Sold:
    """So many of a part off the shelf for a sum together; without one, at the shelf's own price."""

    part: Part
    count: int = 1
    used: bool = False
    amount_minor: int | None = None
    rate: str = ""

    @property
    def line(self) -> DraftLine:
        """Raises LevelwindError where neither a sum nor a price on the shelf says what it costs."""
        amount = self.part.price_minor * self.count if self.amount_minor is None else self.amount_minor
        if self.amount_minor is None and not amount:
            raise LevelwindError(f"Enter what {self.part} is sold for: the shelf has no price for it.")
        counted = f"{self.count} × " if self.count > 1 else ""
        text = f"{counted}{self.part.name} {self.part.number}{', second-hand' if self.used else ''}"
        return DraftLine("part", text[:160], amount, self.rate, self.part.pk, self.count)


@dataclass(frozen=True, slots=True)
class SoldReel:
    """A reel of the shop's own, for a sum."""

    job: Job
    amount_minor: int | None
    rate: str = ""

    @property
    def line(self) -> DraftLine:
        """Raises LevelwindError without a sum: no shelf says what it costs."""
        if self.amount_minor is None:
            raise LevelwindError(f"Enter what {self.job} is sold for.")
        named = f"{self.job.reel}, No. {self.job.serial}" if self.job.serial else self.job.reel
        return DraftLine("part", f"{named} ({self.job.tag})"[:160], self.amount_minor, self.rate)


@transaction.atomic
def counter_sell(
    *,
    sold: Sequence[Sold] = (),
    reels: Sequence[SoldReel] = (),
    lines: Sequence[DraftLine] = (),
    owner: Owner | None = None,
    how: str = "",
    press: str | None = None,
    by: str = "",
) -> Bill:
    """Sell parts off the shelf, reels of the shop's own and what lies on no shelf, on one bill.

    ``how`` it was paid is empty where it is not yet.

    Without an owner it is sold to somebody without a name, who pays at once; an owner not yet in the book is written
    down. The same press again gives the same bill.
    Raises LevelwindError where fewer lie on the shelf, and nothing at all is sold then.
    """
    if owner is None and not how:
        raise LevelwindError("Without a name it is paid at once: take the money, or enter who buys it.")
    passing = owner_passing()
    Owner.objects.select_for_update().get(pk=passing.pk)  # one sale after the other
    made = Bill.objects.filter(press=press).first() if press else None
    if made:
        return made
    drawn = [*(one.line for one in sold), *(one.line for one in reels), *lines]
    if not drawn:
        raise LevelwindError("Nothing is sold yet: find a part, or write a line.")
    for line in drawn:
        if line.rate not in dict(rates_of(shop_get())):
            raise InputError("rate of tax", repr(line.rate), "one that the shop sets")
    if owner and owner.pk is None:
        owner_add(owner=owner)
    bill, charges = bill_write(owner=owner or passing, rows=[(None, line) for line in drawn], press=press, by=by)
    together = sorted(zip(sold, charges, strict=False), key=lambda pair: pair[0].part.pk)
    for one, charge in together:  # in one order, so that two who sell the same parts never wait in a circle
        stock_sell(part=one.part, charge=charge, count=one.count, used=one.used, by=by)
    for reel, charge in sorted(zip(reels, charges[len(sold) :], strict=False), key=lambda pair: pair[0].job.pk):
        job_sell(job=reel.job, charge=charge, by=by)
    owed = account_of_bill(bill).owed
    if how and owed:
        bill_payment_take(bill=bill, amount_minor=owed, text=how, by=by)
    return bill


@transaction.atomic
def sale_bring_back(
    *, sold: StockEntry, count: int, sound: bool, out: int | None = None, by: str = ""
) -> list[MoneyEntry]:
    """So many of what was sold come back: their share is off the bill, with its tax, and they lie on the shelf again.

    What is not ``sound`` is thrown away. Off a void bill nothing more is taken. ``out`` is how many were out on the
    page that was pressed: pressed twice, they come back once.
    """
    charge = sold.charge
    if charge is None or charge.bill is None:
        raise LevelwindError("This was not sold over the counter.")
    bill = Bill.objects.select_for_update().get(pk=charge.bill.pk)
    if out is not None and out != sold_and_out(sold):
        raise LevelwindError("Some of it came back since this page was loaded: look how many are out now.")
    before = charge.count - sum(one.out for one in bill_sold(bill) if one.entry.charge_id == charge.pk)
    stock_brought_back(sold=sold, count=count, sound=sound, note=f"bill {bill.number}", by=by)
    amount = _share(charge, before + count) - _share(charge, before)
    if bill.voided_at or not amount:
        return []
    text = f"Brought back: {count} × {sold.part.name} {sold.part.number}"
    return bill_line_less(bill=bill, rate=charge.tax_percent or Decimal(0), amount_minor=amount, text=text, by=by)


@transaction.atomic
def reel_bring_back(*, job: Job, by: str = "") -> list[MoneyEntry]:
    """A reel that was sold is here again: its sum is off the bill with its tax, unless the bill is void."""
    charge = job_hold(job).sold_for
    if charge is None or charge.bill is None:
        raise LevelwindError(f"{job.tag} is {job.get_stage_display()}, not sold.")
    bill = Bill.objects.select_for_update().get(pk=charge.bill.pk)
    job_bring_back(job=job, why=f"bill {bill.number}", by=by)
    amount = _share(charge, 1)
    if bill.voided_at or not amount:
        return []
    text = f"Brought back: {charge.text}"
    return bill_line_less(bill=bill, rate=charge.tax_percent or Decimal(0), amount_minor=amount, text=text, by=by)


def _share(charge: MoneyEntry, count: int) -> int:
    """What so many of a line's pieces come to, as typed; all of them, the whole of it."""
    whole = charge.amount_minor if charge.typed_minor is None else charge.typed_minor
    return nearest(Decimal(whole) * count / charge.count)


@transaction.atomic
def sale_void(*, bill: Bill, why: str, back: bool, by: str = "") -> Bill:
    """A bill does not hold; with ``back`` what was sold on it and is still out lies on the shelf again."""
    bill = bill_void(bill=bill, why=why, by=by)
    for one in bill_sold(bill) if back else ():
        if one.out:
            stock_brought_back(sold=one.entry, count=one.out, sound=True, note=f"bill {bill.number} is void", by=by)
    for job in reels_sold(bill) if back else ():
        reel_bring_back(job=job, by=by)
    return bill
