"""Selling over the counter, as a browser without scripts does it; and a bill's own page."""

import pytest
from django.test import Client

from levelwind.shop.models import Bill, Job, Owner, Part, Shop
from levelwind.shop.money.selectors import DraftLine, owed_on
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.services.shelf import part_add
from tests.jobs import a_job
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
SELL = "/counter/sell/"


@pytest.fixture
def gear() -> Part:
    Shop.objects.create(pk=1, name="Bench", tax_label="Tax", tax_percent=10, other_rates=[["Reduced", "5"]])
    return part_add(number="G-1", name="Main gear", price_minor=3800, count=5)


def test_a_part_is_found_put_on_the_sale_and_sold(client: Client, gear: Part) -> None:
    """Found by a word; what was typed is still there when another is found; and it can be left out again."""
    other = part_add(number="W-9", name="Drag washer", price_minor=450, count=9)
    assert "New, 5 here" in client.get(SELL, {"find": "gear"}).content.decode()
    first = client.get(SELL, {"find": "gear", "add": f"{gear.pk}-new"})
    typed = typed_into(first, **{f"{gear.pk}-new-count": "2"}, find="washer")
    again = client.get(SELL, typed | {"add": f"{other.pk}-new"})
    fields = typed_into(again)
    assert (fields[f"{gear.pk}-new-count"], fields[f"{other.pk}-new-count"]) == ("2", "1")
    assert "$88.55" in again.content.decode()  # 76.00 and 4.50, and 10 % of them
    left = client.get(SELL, {**fields, "part": [f"{gear.pk}-new", f"{other.pk}-new"], "away": f"{other.pk}-new"})
    sold = client.post(SELL, typed_into(left, how="card"))
    bill = Bill.objects.get()
    assert sold.headers["location"] == f"/counter/bills/{bill.number}/"
    assert (stock_of(gear).new, stock_of(other).new, owed_on(bill)) == (3, 9, 0)
    client.post(SELL, typed_into(left, how="card"))
    assert Bill.objects.count() == 1  # pressed twice
    ledger = client.get(f"/shelf/part/{gear.pk}/").content.decode()
    assert "Sold over the counter" in ledger and f"/counter/bills/{bill.number}/" in ledger


def test_who_buys_is_chosen_named_or_nobody(client: Client, gear: Part) -> None:
    owners = [Owner.objects.create(name="Ines Vasterholm", address=f"{n} Quay") for n in (1, 2)]
    fields = typed_into(client.get(SELL, {"add": f"{gear.pk}-new"}))
    refused = client.post(SELL, fields | {"buyer": "ines vasterholm", "how": "cash"})
    assert (
        refused.status_code == 422
        and "choose which" in refused.content.decode()
        and "2 Quay" in refused.content.decode()
    )
    refused = client.post(SELL, fields | {"how": "not yet"})
    assert "Without a name it is paid at once" in refused.content.decode() and stock_of(gear).new == 5
    client.post(SELL, fields | {"buyer": "ines", "owner": str(owners[1].pk), "how": "not yet"})
    assert "Owes $41.80" in client.get(f"/counter/owners/{owners[1].pk}/").content.decode()
    fields = typed_into(client.get(SELL, {"add": f"{gear.pk}-new"}))
    client.post(SELL, fields | {"buyer": "Ruan Pellowe", "how": "cash"})
    assert Owner.objects.get(name="Ruan Pellowe").bills.count() == 1


def test_a_sale_is_put_right_on_its_bill(client: Client, gear: Part) -> None:
    fields = typed_into(client.get(SELL, {"add": f"{gear.pk}-new"}), how="cash")
    client.post(SELL, fields | {f"{gear.pk}-new-count": "2", "line-0-text": "A bag", "line-0-amount_minor": "1.50"})
    bill = Bill.objects.get()
    there = f"/counter/bills/{bill.number}/"
    sold = bill.entries.get(part=gear).stock_entries.get()
    back = typed_into(client.get(there)) | {"count": "1"}
    assert (back["sold"], back["out"]) == (str(sold.pk), "2")
    client.post(f"{there}brought-back/", back)
    twice = client.post(f"{there}brought-back/", back, follow=True).content.decode()
    assert "Some of it came back since this page was loaded" in twice
    page = client.get(there)
    assert stock_of(gear).new == 4 and typed_into(page)["amount"] == "41.80"
    assert "The shop owes" in page.content.decode()
    client.post(f"{there}given-back/", {"amount": "41.80", "how": "cash"})
    assert owed_on(bill) == 0 and "Settled" in client.get(there).content.decode()
    for what, typed, said in (
        ("paid", {"amount": "no"}, "can be a number"),
        ("void", {"why": ""}, "Enter in a sentence"),
        ("brought-back", {"sold": sold.pk, "count": "7"}, "1 of G-1 can come back"),
    ):
        assert said in client.post(f"{there}{what}/", typed, follow=True).content.decode()
    client.post(f"{there}void/", {"why": "wrong price", "back": "on"})
    assert stock_of(gear).new == 5 and "Void since" in client.get(there).content.decode()
    assert client.post(f"{there}burnt/").status_code == 404 and client.get("/counter/bills/B99-1/").status_code == 404


def test_a_job_s_bill_has_a_page_that_leads_to_its_money(client: Client, gear: Part) -> None:
    job: Job = bill_draft_save(job=a_job(), lines=[DraftLine("work", "Service", 6000)])
    page = client.get(f"/counter/bills/{bill_make(job=job).number}/").content.decode()
    assert f"/jobs/{job.tag}/money/" in page and "$66.00" in page
