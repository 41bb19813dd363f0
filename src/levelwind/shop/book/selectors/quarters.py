"""Bills, tax and payments of a quarter, by the shop's own clock, for whoever does the accounts.

Each entry counts on its own day: a bill of March that is voided in April is taken back in April's quarter.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from levelwind.shop.book.selectors.tables import in_money
from levelwind.shop.book.sheets import Sheet
from levelwind.shop.models import MoneyEntry, Owner
from levelwind.shop.people.selectors import currency, shop_get

BILLED = ("charge", "credit", "tax")


@dataclass(frozen=True, slots=True, order=True)
class Quarter:
    """A quarter of a year, 1 to 4.

    >>> str(Quarter(2026, 4)), Quarter(2026, 4).before
    ('2026-Q4', Quarter(year=2026, number=3))
    """

    year: int
    number: int

    def __str__(self) -> str:
        return f"{self.year}-Q{self.number}"

    @property
    def before(self) -> "Quarter":
        return Quarter(self.year, self.number - 1) if self.number > 1 else Quarter(self.year - 1, 4)

    @property
    def after(self) -> "Quarter":
        return Quarter(self.year, self.number + 1) if self.number < 4 else Quarter(self.year + 1, 1)

    @property
    def begins(self) -> datetime:
        """The first moment of it by the shop's own clock."""
        return datetime(self.year, 3 * self.number - 2, 1, tzinfo=timezone.get_current_timezone())


def quarter_of(at: datetime) -> Quarter:
    day = timezone.localtime(at)
    return Quarter(day.year, (day.month + 2) // 3)


def quarters() -> list[Quarter]:
    """From today's back to that of the first entry."""
    first = MoneyEntry.objects.order_by("at").values_list("at", flat=True).first()
    found = [quarter_of(timezone.now())]
    while first and found[-1].begins > first:
        found.append(found[-1].before)
    return found


def quarter_sheets(quarter: Quarter) -> list[Sheet]:
    """Bills, tax by rate, and payments."""
    within = MoneyEntry.objects.filter(at__gte=quarter.begins, at__lt=quarter.after.begins)
    entries = list(within.select_related("bill__owner", "job__owner", "owner").order_by("at", "pk"))
    money = currency(shop_get())
    code = money.code
    heads = ("Bill", "Day", "Owner", f"Before tax ({code})", f"Tax ({code})", f"With tax ({code})", "Void since")
    paid = ("Day", "What", "Owner", "Job", "Bill", "Words", f"Received ({code})")
    bills = [
        [row.number, row.day, row.owner, *(in_money(part, money) for part in _sums(row)), row.void_since]
        for row in _bills(entries)
    ]
    rates = [[rate, *(in_money(part, money) for part in sums)] for rate, sums in _by_rate(entries)]
    payments = [
        [
            timezone.localtime(entry.at).date(),
            entry.get_kind_display(),
            _owner(entry).name,
            entry.job.tag if entry.job else "",
            entry.bill.number if entry.bill else "",
            entry.text,
            in_money(-entry.amount_minor, money),
        ]
        for entry in entries
        if entry.kind not in BILLED
    ]
    return [
        Sheet("bills", heads, bills),
        Sheet("tax", ("Rate, %", f"Before tax ({code})", f"Tax ({code})"), rates),
        Sheet("payments", paid, payments),
    ]


def _sums(row: "_OnBill") -> tuple[int, int, int]:
    return row.before_tax, row.tax, row.before_tax + row.tax


def _owner(entry: MoneyEntry) -> Owner:
    found = entry.owner or (entry.job.owner if entry.job else None)
    assert found is not None  # the database's own constraint
    return found


@dataclass(slots=True)
class _OnBill:
    number: str
    day: date
    owner: str
    void_since: date | None
    before_tax: int = 0
    tax: int = 0


def _bills(entries: Iterable[MoneyEntry]) -> list[_OnBill]:
    """What each bill's lines, credits and tax of these days come to; last, what stands on no bill."""
    sums: dict[tuple[str, int], _OnBill] = {}
    for entry in entries:
        if entry.kind not in BILLED:
            continue
        bill, owner = entry.bill, entry.bill.owner if entry.bill else _owner(entry)
        day = timezone.localtime(bill.issued_at if bill else entry.at).date()
        void = timezone.localtime(bill.voided_at).date() if bill and bill.voided_at else None
        number = bill.number if bill else ""
        row = sums.setdefault((number, owner.pk), _OnBill(number, day, owner.name, void))
        if entry.kind == "tax":
            row.tax += entry.amount_minor
        else:
            row.before_tax += entry.amount_minor
    return sorted(sums.values(), key=lambda row: (row.number == "", row.number))


def _by_rate(entries: Iterable[MoneyEntry]) -> list[tuple[object, list[int]]]:
    """By the rate of each entry; those of before entries had one stand under none."""
    sums: dict[object, list[int]] = defaultdict(lambda: [0, 0])
    for entry in entries:
        if entry.kind in BILLED:
            sums[entry.tax_percent][entry.kind == "tax"] += entry.amount_minor
    return sorted(sums.items(), key=lambda row: (row[0] is not None, row[0]))
