"""The ledger against a double-entry book kept here, and tax against worked examples (from memory, arithmetic shown)."""

from collections import Counter
from decimal import Decimal
from random import Random

import pytest
from django.db import connection
from django.db.utils import DatabaseError

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Bill, Job, MoneyEntry, Shop, Stage, StockEntry
from levelwind.shop.money.selectors import DraftLine, account_of
from levelwind.shop.money.services.bills import bill_draft_save, bill_make, bill_void, owner_bill_make
from levelwind.shop.money.services.ledger import (
    bill_give_back,
    bill_payment_take,
    credit_give,
    payment_give_back,
    payment_reverse,
    payment_take,
)
from levelwind.shop.money.services.sales import Sold, counter_sell, sale_bring_back
from levelwind.shop.money.tax import shared, tax_in, tax_on
from levelwind.shop.papers.selectors.sheets import bill_sheet
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.people.selectors import debt_list, owner_owes
from tests.full_size import cases
from tests.jobs import a_job

pytestmark = pytest.mark.django_db
POSTINGS = {"charge": "income", "credit": "income", "tax": "tax owed"}
"""Where the other side of an entry stands; all the rest is cash. What the owner owes stands on the one side always."""


def a_shop(**facts: object) -> Shop:
    return Shop.objects.create(pk=1, name="Bench", tax_label="Tax", **facts)


def books() -> Counter[str]:
    """Each entry posted twice: what the owners owe, and against it income, tax owed or cash."""
    accounts: Counter[str] = Counter()
    for entry in MoneyEntry.objects.all():
        accounts["owed by owners"] += entry.amount_minor
        accounts[POSTINGS.get(entry.kind, "cash")] -= entry.amount_minor
    return accounts


def tax_wanted(bill: Bill) -> int:
    """From the bill's own lines, rate by rate: p % of their sum, or p / (100 + p) of it where prices include it."""
    sums: Counter[Decimal] = Counter()
    for row in bill.entries.filter(kind__in=["charge", "credit"]):
        assert row.tax_percent is not None
        sums[row.tax_percent] += row.amount_minor if row.typed_minor is None else row.typed_minor
    whole = 100 if not bill.tax_included else 0
    total = 0
    for percent, typed in sums.items():
        exact = Decimal(typed) * percent / (whole or 100 + percent)
        total += int((abs(exact) + Decimal("0.5")) // 1) * (1 if exact >= 0 else -1)
    return total


def a_deed(dice: Random, jobs: list[Job]) -> None:
    job, sum_minor = dice.choice(jobs), dice.randrange(1, 9000)
    what = dice.randrange(10)
    if what == 0:
        lines = [DraftLine("work", "Service", dice.randrange(9000), dice.choice(("", "0", "5"))) for _ in range(3)]
        bill_draft_save(job=job, lines=lines)
        bill_make(job=job)
    elif what in (1, 2):
        payment_take(job=job, amount_minor=sum_minor, text="card")
    elif what == 3:
        credit_give(job=job, amount_minor=sum_minor, text="goodwill")
    elif what == 4:
        payment_give_back(job=job, amount_minor=sum_minor, text="cash")
    elif what == 5:
        payment_reverse(entry=dice.choice(list(job.money.all())), why="wrong reel")
    elif what == 6:
        bill_void(bill=dice.choice(list(Bill.objects.all())), why="wrong owner")
    elif what == 7:
        gear = part_with_number("G-1") or part_add(number="G-1", name="Gear", price_minor=3333, count=999)
        sold = [Sold(gear, dice.randrange(1, 4), rate=rate) for rate in ("", "5")]
        counter_sell(sold=sold, owner=job.owner, how=dice.choice(("", "cash")))
    elif what == 8:
        entry = dice.choice(list(StockEntry.objects.filter(why="sold")))
        sale_bring_back(sold=entry, count=1, sound=dice.random() < 0.5)
        assert entry.charge and entry.charge.bill
        bill_give_back(bill=entry.charge.bill, amount_minor=sum_minor, text="cash")
    else:
        for one in jobs:
            bill_draft_save(job=one, lines=[DraftLine("part", "Gear", dice.randrange(9000))])
        bill = owner_bill_make(owner=job.owner, jobs=jobs, lines=[DraftLine("part", "Spool", 333, "5")])
        bill_payment_take(bill=bill, amount_minor=sum_minor, text="transfer")


@pytest.mark.sampled
@pytest.mark.parametrize("included", [False, True])
@pytest.mark.parametrize("seed", range(cases(1, 25)))
def test_the_ledger_is_a_double_entry_book(seed: int, included: bool) -> None:
    a_shop(tax_percent="7.25", tax_included=included, other_rates=[["Reduced", "5"]])
    first = a_job(stage=Stage.PROVED)
    jobs = [first, a_job("26-0002", owner=first.owner, parcel=first.parcel, stage=Stage.PROVED)]
    dice, done = Random(f"{seed} {included}"), 0
    for _ in range(cases(40, 120)):
        try:
            a_deed(dice, jobs)
            done += 1
        except (LevelwindError, IndexError):
            pass
        jobs = list(Job.objects.all())
        accounts = books()
        assert sum(accounts.values()) == 0
        assert accounts["owed by owners"] == owner_owes(first.owner) == sum(debt.owes_minor for debt in debt_list())
        assert accounts["cash"] >= 0 and accounts["income"] <= 0
        assert all(account_of(job).creditable >= 0 for job in jobs)
    assert done > 10
    for bill in Bill.objects.all():
        taxed = sum(row.amount_minor for row in bill.entries.filter(kind="tax"))
        standing = sum(row.amount_minor for row in bill.entries.filter(kind__in=["charge", "credit", "tax"]))
        assert taxed == tax_wanted(bill)
        assert (standing, taxed) == (0, 0) or not bill.voided_at
        assert sum(line.amount for line in bill_sheet(bill).lines) == standing - (0 if included else taxed)
    numbers = sorted(int(number[-4:]) for number in Bill.objects.values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))


def test_tax_by_hand() -> None:
    """From memory, no book open.

    7.25 % of 123.45 is 8.950125, so 8.95. Of 120.00 that include 20 %, 120 x 20 / 120 = 20.00 is tax; 19 % in 1.00 is
    0.1597, so 0.16. A half goes away from nothing: 10 % of 0.05 is 0.005, so 0.01.
    """
    assert tax_on(12345, Decimal("7.25")) == 895
    assert tax_in(12000, Decimal(20)) == 2000
    assert tax_in(100, Decimal(19)) == 16
    assert (tax_on(5, Decimal(10)), tax_on(-5, Decimal(10))) == (1, -1)
    assert shared(-100, [1, 1, 1]) == (-33, -34, -33) and shared(7, [0, 0]) == (0, 0)


def test_tax_follows_what_is_taken_off() -> None:
    """100.00 and 60.00 at 10 %, 39.40 off: of each rate's lines alike, so tax is 10 % of 120.60, 12.06."""
    a_shop(tax_percent=10)
    job = bill_draft_save(job=a_job(), lines=[DraftLine("work", "Service", 10000), DraftLine("part", "Gear", 6000)])
    bill = bill_make(job=job)
    assert account_of(job).owed == 17600
    credit_give(job=job, amount_minor=3940, text="goodwill")
    assert account_of(job).owed == 12060 + 1206
    sheet = bill_sheet(bill)
    assert [(tax.label, tax.amount) for tax in sheet.taxes] == [("Tax 10 %", 1206)] and sheet.due == 13266


def test_several_rates_and_tax_included_stand_on_the_bill() -> None:
    """Included: 120.00 at 20 % hold 20.00; 10.50 at 5 % hold 0.50; 7.00 are tax-free. In all 137.50, tax 20.50."""
    a_shop(tax_percent=20, tax_included=True, other_rates=[["Reduced", "5"]])
    lines = [
        DraftLine("work", "Service", 12000),
        DraftLine("part", "Book", 1050, "5"),
        DraftLine("post", "Post", 700, "0"),
    ]
    job = bill_draft_save(job=a_job(), lines=lines)
    sheet = bill_sheet(bill_make(job=job))
    assert (sheet.total, [(tax.label, tax.amount) for tax in sheet.taxes]) == (
        13750,
        [("Tax 20 %", 2000), ("Reduced 5 %", 50)],
    )
    assert [line.amount for line in sheet.lines] == [12000, 1050, 700]
    assert sum(row.amount_minor for row in job.money.filter(kind="charge")) == 13750 - 2050
    with pytest.raises(LevelwindError, match="one that the shop sets"):
        bill_draft_save(job=job, lines=[DraftLine("work", "Service", 1, "7")])


def test_a_deposit_is_taken_before_the_bill_and_what_is_over_goes_back() -> None:
    job = a_job()
    assert payment_take(job=job, amount_minor=9000, text="card").kind == "deposit"
    bill = bill_make(job=bill_draft_save(job=job, lines=[DraftLine("work", "Service", 7000)]))
    assert (account_of(job).owed, account_of(job).over) == (-2000, 2000)
    payment_give_back(job=job, amount_minor=2000, text="by transfer")
    assert (account_of(job).owed, account_of(job).received, bill_sheet(bill).due) == (0, 7000, 0)
    with pytest.raises(LevelwindError, match="not yet given back, 7000"):
        payment_give_back(job=job, amount_minor=7001, text="cash")


def test_a_mistyped_payment_is_taken_back_once_and_is_on_no_paper() -> None:
    job = a_job()
    bill = bill_make(job=bill_draft_save(job=job, lines=[DraftLine("work", "Service", 7000)]))
    wrong = payment_take(job=job, amount_minor=70000, text="card")
    payment_reverse(entry=wrong, why="a nought too many")
    payment_take(job=job, amount_minor=7000, text="card")
    assert account_of(job).owed == 0
    assert [payment.amount for payment in bill_sheet(bill).paid] == [7000]
    with pytest.raises(LevelwindError, match="taken back already"):
        payment_reverse(entry=wrong, why="again")
    with pytest.raises(DatabaseError), connection.cursor() as cursor:
        cursor.execute("UPDATE shop_moneyentry SET amount_minor = 1")


def test_a_void_bill_keeps_its_number_and_its_lines_can_be_billed_again() -> None:
    a_shop(tax_percent=10)
    job = bill_draft_save(job=a_job(), lines=[DraftLine("part", "Gear", 3800)])
    bill = bill_make(job=job)
    payment_take(job=job, amount_minor=1000, text="card")
    bill_void(bill=bill, why="the wrong gear")
    job.refresh_from_db()
    assert account_of(job).owed == -1000
    again = bill_make(job=job)
    assert int(again.number[-4:]) == int(bill.number[-4:]) + 1 and account_of(job).owed == 4180 - 1000
    assert bill_sheet(Bill.objects.get(pk=bill.pk)).void.endswith("the wrong gear")
    with pytest.raises(LevelwindError, match="void already"):
        bill_void(bill=bill, why="twice")
