"""Sold over the counter: the part is off the shelf, the bill made and paid in one; and all of it can come back."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.documents.bill import layout
from levelwind.shop.models import Bill, MoneyEntry, Owner, Part, Shop, StockEntry
from levelwind.shop.money.selectors import DraftLine, bill_sold, owed_on
from levelwind.shop.money.services.ledger import bill_give_back, payment_reverse
from levelwind.shop.money.services.sales import Sold, counter_sell, sale_bring_back, sale_void
from levelwind.shop.papers.selectors.sheets import bill_sheet
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.services.shelf import part_add, stock_from_donor
from levelwind.shop.people.merging import owner_merge
from levelwind.shop.people.selectors import debt_list, owner_owes
from tests.documents.paper import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def gear() -> Part:
    Shop.objects.create(pk=1, name="Bench", tax_label="Tax", tax_percent=10)
    return part_add(number="G-1", name="Main gear", price_minor=3800, count=5)


def test_a_part_is_sold_to_somebody_without_a_name(gear: Part) -> None:
    """2 × 38.00 and 1.50 for a bag, 10 %: 77.50 and 7.75 tax."""
    bill = counter_sell(sold=[Sold(gear, 2)], lines=[DraftLine("part", "A bag", 150)], how="cash", press="one")
    assert counter_sell(sold=[Sold(gear, 2)], how="cash", press="one") == bill and Bill.objects.count() == 1
    assert (stock_of(gear).new, owed_on(bill), bill.owner.kind) == (3, 0, "passing")
    sheet = bill_sheet(bill)
    assert (sheet.total, sheet.due, [line.what for line in sheet.lines]) == (
        8525,
        0,
        ["2 × Main gear G-1", "A bag"],
    )
    assert [payment.how for payment in sheet.paid] == ["cash"]
    again = counter_sell(sold=[Sold(gear)], how="card", press="two")
    assert again.owner == bill.owner and int(again.number[-4:]) == int(bill.number[-4:]) + 1
    assert not debt_list()


def test_what_is_refused_sells_nothing(gear: Part) -> None:
    """Too many, unpaid without a name, no price, nothing at all: no bill, no stock, no owner."""
    stranger = Owner(name="Ruan Pellowe")
    with pytest.raises(LevelwindError, match="Only 5 new"):
        counter_sell(sold=[Sold(gear, 6)], owner=stranger, how="cash")
    with pytest.raises(LevelwindError, match="Without a name it is paid at once"):
        counter_sell(sold=[Sold(gear)])
    with pytest.raises(LevelwindError, match="the shelf has no price"):
        counter_sell(sold=[Sold(part_add(number="X", name="Odd", count=1))], how="cash")
    with pytest.raises(LevelwindError, match="Nothing is sold yet"):
        counter_sell(how="cash")
    with pytest.raises(LevelwindError, match="one that the shop sets"):
        counter_sell(lines=[DraftLine("part", "A bag", 1, "7")], how="cash")
    assert (Bill.objects.count(), MoneyEntry.objects.count(), stock_of(gear).new) == (0, 0, 5)
    assert not Owner.objects.filter(name="Ruan Pellowe").exists()


def test_what_is_brought_back_is_off_the_bill_and_on_the_shelf(gear: Part) -> None:
    """3 for 100.00 at 10 %: back one by one they take off 33.33, 33.34 and 33.33, and in the end all the tax."""
    bill = counter_sell(sold=[Sold(gear, 3, amount_minor=10000)], owner=Owner(name="Ines Vasterholm"))
    sold = bill_sold(bill)[0].entry
    off = [sale_bring_back(sold=sold, count=1, sound=sound)[0].amount_minor for sound in (True, False, True)]
    assert off == [-3333, -3334, -3333] and owed_on(bill) == 0
    assert stock_of(gear).new == 4
    with pytest.raises(LevelwindError, match="0 of G-1 can come back"):
        sale_bring_back(sold=sold, count=1, sound=True)
    assert bill_sheet(bill).due == 0 and owner_owes(bill.owner) == 0


@pytest.mark.parametrize("back", [True, False])
def test_a_void_sale_puts_the_part_back_if_it_is_said(gear: Part, back: bool) -> None:
    stock_from_donor(part=gear, count=1)
    bill = counter_sell(sold=[Sold(gear, 2), Sold(gear, used=True, amount_minor=900)], how="card")
    sale_void(bill=bill, why="the wrong gear", back=back)
    assert (stock_of(gear).new, stock_of(gear).used) == ((5, 1) if back else (3, 0))
    assert owed_on(bill) == -9350
    with pytest.raises(LevelwindError, match="not yet given back, 9350"):
        bill_give_back(bill=bill, amount_minor=9351, text="cash")
    bill_give_back(bill=bill, amount_minor=9350, text="cash")
    assert owed_on(bill) == 0 and bill_sheet(Bill.objects.get()).due == 0
    if not back:  # it turns up later
        assert sale_bring_back(sold=bill_sold(bill)[0].entry, count=2, sound=True) == []
        assert stock_of(gear).new == 5


def test_a_mistyped_payment_of_a_sale_is_taken_back(gear: Part) -> None:
    bill = counter_sell(sold=[Sold(gear)], how="card")
    payment_reverse(entry=bill.entries.get(kind="payment"), why="it was cash")
    assert owed_on(bill) == 4180


def test_nobody_in_particular_is_merged_with_nobody(gear: Part) -> None:
    bill = counter_sell(sold=[Sold(gear)], how="cash")
    with pytest.raises(LevelwindError, match="nobody in particular"):
        owner_merge(gone=bill.owner, into=Owner.objects.create(name="Ines Vasterholm"))
    assert StockEntry.objects.get(why="sold").charge == bill.entries.get(kind="charge")


def test_the_paper_of_a_sale_names_who_bought_and_no_reel(gear: Part) -> None:
    owner = Owner(name="Ines Vasterholm", address="7 Quay Road")
    text = words(layout(bill_sheet(counter_sell(sold=[Sold(gear)], owner=owner))))
    assert "What was sold" in text and "Ines Vasterholm" in text and "7 Quay Road" in text
    assert "pattern" not in text.lower() and "done and fitted" not in text
