"""A line of the price has a rate of tax of its own, from its page to the price paper, the owner's word and the bill."""

from decimal import Decimal

import pytest
from django.test import Client

from levelwind.core.errors import InputError
from levelwind.shop.models import Job, Shop, Stage
from levelwind.shop.money.selectors import agreed_minor, price_totals
from levelwind.shop.money.services.bills import bill_make
from levelwind.shop.money.services.prices import price_copy, price_line_add, word_record
from levelwind.shop.papers.selectors.sheets import price_sheet
from tests.pages import typed_into
from tests.shop.takedown.pieces_jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
PAGE = "/jobs/26-0001/price/"


def _shop(included: bool = False) -> Shop:
    return Shop.objects.create(
        pk=1,
        name="Bench",
        tax_label="Tax",
        tax_percent=Decimal(20),
        tax_included=included,
        other_rates=[["Reduced tax", "5"]],
    )


def _priced(client: Client) -> Job:
    """100.00 at the usual 20 %, 50.00 at 5 %, 30.00 free of tax, typed on the page."""
    job = a_job(a_pattern(), stage=Stage.LOOKED_OVER)
    price = job.prices.create()
    for text, likely in (("Service", 10000), ("Gear", 5000)):
        price_line_add(price=price, kind="work", text=text, low_minor=likely, likely_minor=likely, high_minor=likely)
    add = {"kind": "post", "text": "Stamps", "likely_minor": "30.00", "rate": "0"}
    assert client.post(PAGE + "add/", add).status_code == 302
    gear = price.lines.get(text="Gear")
    page = client.get(PAGE)
    assert client.post(f"{PAGE}line/{gear.pk}/", typed_into(page) | {f"line{gear.pk}-rate": "5"}).status_code == 302
    assert [line.rate for line in price.lines.all()] == ["", "5", "0"]
    return job


def test_each_rate_is_reckoned_on_its_own_lines_and_goes_to_the_paper_the_word_and_the_bill(client: Client) -> None:
    """100.00 · 20 % + 50.00 · 5 % = 20.00 + 2.50 (arithmetic shown; each rate on the sum of its lines)."""
    shop = _shop()
    job = _priced(client)
    price = job.prices.get()
    totals = price_totals(tuple(price.lines.all()), shop)
    assert (totals.tax[1], totals.with_tax[1]) == (2250, 20250)
    page = client.get(PAGE).content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "Tax 20 %" in page and "Reduced tax 5 %" in page and "$202.50" in page
    sheet = price_sheet(price)
    assert [(tax.label, tax.likely) for tax in sheet.taxes] == [("Tax 20 %", 2000), ("Reduced tax 5 %", 250)]
    assert [line.detail for line in sheet.lines] == ["", "Reduced tax 5 %", "tax-free"]
    assert sheet.total == (20250, 20250, 20250)
    word_record(price=price, said="yes", how="phone")
    assert agreed_minor(job, shop) == 20250
    assert [line.rate for line in price_copy(price=price).lines.all()] == ["", "5", "0"]
    bill = bill_make(job=job)
    charges = [(row.text, row.tax_percent) for row in bill.entries.filter(kind="charge")]
    assert charges == [("Service", Decimal(20)), ("Gear", Decimal(5)), ("Stamps", Decimal(0))]
    assert sum(row.amount_minor for row in bill.entries.all()) == 20250


def test_where_prices_include_tax_each_rate_is_taken_out_of_its_own_lines(client: Client) -> None:
    """100.00 · 20 / 120 + 50.00 · 5 / 105 = 16.67 + 2.38 (arithmetic shown)."""
    shop = _shop(included=True)
    price = _priced(client).prices.get()
    totals = price_totals(tuple(price.lines.all()), shop)
    assert (totals.tax[1], totals.with_tax[1]) == (1667 + 238, 18000)
    sheet = price_sheet(price)
    assert (sheet.taxes, sheet.total[1]) == ((), 18000)
    assert "The sums include Tax 20 % and Reduced tax 5 %." in sheet.included
    with pytest.raises(InputError, match="one that the shop sets"):
        price_line_add(price=price, kind="work", text="x", rate="7")
