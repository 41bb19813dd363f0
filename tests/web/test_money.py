"""Money on its pages: deposit, payment mistyped, given back, a bill voided, one bill over several jobs."""

import pytest
from django.test import Client

from levelwind.shop.models import Bill, Job, Shop, Stage
from levelwind.shop.money.selectors import DraftLine, account_of
from levelwind.shop.money.services.bills import bill_draft_save
from tests.jobs import a_job
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
BOX, MONEY = "/jobs/26-0001/box/", "/jobs/26-0001/money/"


@pytest.fixture
def job() -> Job:
    Shop.objects.create(pk=1, name="Bench", tax_label="Tax", tax_percent=10, other_rates=[["Reduced", "5"]])
    return bill_draft_save(job=a_job(stage=Stage.PROVED), lines=[DraftLine("work", "Service", 7000)])


def _pay(client: Client, what: str, amount: str) -> str:
    answer = client.post(BOX + "money/", {"what": what, "amount_minor": amount, "text": "card"}, follow=True)
    return answer.content.decode()


def test_from_deposit_to_a_void_bill(client: Client, job: Job) -> None:
    assert "Take a deposit" in client.get(BOX).content.decode()
    _pay(client, "payment", "100")
    client.post(BOX + "bill/", typed_into(client.get(BOX)) | {"bill-0-rate": "5"})
    client.post(BOX + "do/bill/")
    assert account_of(job).owed == 7350 - 10000
    assert "$26.50 more than is owed was taken" in client.get(BOX).content.decode()
    assert "up to what was received" in _pay(client, "back", "100.01")
    _pay(client, "back", "26.50")
    page = client.get(MONEY).content.decode()
    assert "All paid" in page and "Void the bill" in page
    deposit = job.money.get(kind="deposit")
    client.post(MONEY + "mistyped/", {"entry": deposit.pk, "why": "another reel's"})
    assert account_of(job).owed == 7350 + 2650
    assert (
        "taken back already"
        in client.post(MONEY + "mistyped/", {"entry": deposit.pk, "why": "x"}, follow=True).content.decode()
    )
    bill = job.bills.get()
    assert "Say in a sentence" in client.post(f"{MONEY}void/{bill.number}/", {"why": ""}, follow=True).content.decode()
    client.post(f"{MONEY}void/{bill.number}/", {"why": "wrong rate"})
    assert "void" in client.get(BOX).content.decode() and "Reduced 5 %" in client.get(BOX).content.decode()
    assert client.get(f"/bills/{bill.number}.pdf").content[:5] == b"%PDF-"
    assert client.post(MONEY + "mistyped/", {"entry": "99 or 1"}).status_code == 404


def test_one_bill_over_several_jobs_and_a_line_of_none(client: Client, job: Job) -> None:
    other = a_job("26-0002", owner=job.owner, parcel=job.parcel, stage=Stage.BOXED)
    bill_draft_save(job=other, lines=[DraftLine("part", "Gear", 3000)])
    address = f"/counter/owners/{job.owner_id}/"
    asked = client.get(address + "bill/")
    assert "26-0002" in asked.content.decode() and "$77.00" in asked.content.decode()
    typed = typed_into(asked) | {"line-0-text": "A spare spool", "line-0-amount_minor": "20", "line-0-rate": "0"}
    client.post(address + "bill/", typed | {"job": ["26-0001", "26-0002"]})
    bill = Bill.objects.get()
    assert (bill.owner, bill.job, sum(row.amount_minor for row in bill.entries.all())) == (job.owner, None, 13000)
    assert client.get(f"/bills/{bill.number}.pdf").content[:5] == b"%PDF-"
    assert "Paid of $130.00" in client.get(address).content.decode()
    assert "more than 0" in client.post(f"{address}paid/{bill.number}/", {"amount": "0"}, follow=True).content.decode()
    client.post(f"{address}paid/{bill.number}/", {"amount": "100"})
    assert (account_of(job).owed, account_of(other).owed) == (0, 1000)
    client.post(f"{address}paid/{bill.number}/", {"amount": "30"})
    assert "Paid of" not in client.get(address).content.decode()
    again = client.post(address + "bill/", typed_into(client.get(address + "bill/")), follow=True)
    assert "choose a job, or add a line" in again.content.decode()


@pytest.mark.parametrize(("typed", "kept"), [("Reduced 2.5\nFood 0.5 %", [["Reduced", "2.5"], ["Food", "0.5"]])])
def test_the_shop_sets_its_rates(client: Client, job: Job, typed: str, kept: list[list[str]]) -> None:
    shop = "/counter/shop/"
    client.post(shop, typed_into(client.get(shop)) | {"other_rates": typed, "tax_included": "on"})
    assert (Shop.objects.get().other_rates, Shop.objects.get().tax_included) == (kept, True)
    answer = client.post(shop, typed_into(client.get(shop)) | {"other_rates": "a lot"})
    assert "allowed is a name and a percent" in answer.content.decode()
