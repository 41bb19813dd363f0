"""Money on its pages: deposit, payment mistyped, given back, a bill voided, one bill over several jobs."""

import pytest
from django.test import Client

from levelwind.shop.models import Bill, Job, Price, Shop, Stage
from levelwind.shop.money.selectors import DraftLine, account_of, bill_draft_lines
from levelwind.shop.money.services.bills import bill_draft_save, owner_bill_make
from levelwind.shop.money.services.ledger import payment_reverse
from levelwind.shop.money.services.prices import no_answered, price_line_add, word_record
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
    twice = typed_into(client.get(BOX)) | {"what": "payment", "amount_minor": "1", "text": "card"}
    for _ in range(2):
        answer = client.post(BOX + "money/", twice)
    assert "since this page was loaded" in answer.content.decode() and account_of(job).owed == 7350 - 10100
    payment_reverse(entry=job.money.last(), why="to see it")
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
    assert (
        "Enter in a sentence" in client.post(f"{MONEY}void/{bill.number}/", {"why": ""}, follow=True).content.decode()
    )
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
    there = f"/counter/bills/{bill.number}/"
    assert there in client.get(address).content.decode() and typed_into(client.get(there))["amount"] == "130.00"
    assert "more than 0" in client.post(f"{there}paid/", {"amount": "0"}, follow=True).content.decode()
    client.post(f"{there}paid/", {"amount": "100"})
    assert (account_of(job).owed, account_of(other).owed) == (0, 1000)
    client.post(f"{there}paid/", {"amount": "30"})
    assert "Take a payment" not in client.get(there).content.decode()
    again = client.post(address + "bill/", typed_into(client.get(address + "bill/")), follow=True)
    assert "choose a job, or add a line" in again.content.decode()


@pytest.mark.parametrize(("typed", "kept"), [("Reduced 2.5\nFood 0.5 %", [["Reduced", "2.5"], ["Food", "0.5"]])])
def test_the_shop_sets_its_rates(client: Client, job: Job, typed: str, kept: list[list[str]]) -> None:
    shop = "/counter/shop/"
    client.post(shop, typed_into(client.get(shop)) | {"other_rates": typed, "tax_included": "on"})
    assert (Shop.objects.get().other_rates, Shop.objects.get().tax_included) == (kept, True)
    answer = client.post(shop, typed_into(client.get(shop)) | {"other_rates": "a lot"})
    assert "A rate is a name and a percent" in answer.content.decode()


def test_a_bill_over_several_jobs_is_voided_from_its_page_once(client: Client, job: Job) -> None:
    other = a_job("26-0002", owner=job.owner, parcel=job.parcel, stage=Stage.BOXED)
    bill_draft_save(job=other, lines=[DraftLine("part", "Gear", 3000)])
    bill = owner_bill_make(owner=job.owner, jobs=[job, other])
    address = f"/counter/bills/{bill.number}/"
    assert "The bill is wrong" in client.get(address).content.decode()
    void = f"{address}void/"
    assert "Enter in a sentence" in client.post(void, {"why": " "}, follow=True).content.decode()
    client.post(void, {"why": "wrong owner"})
    assert "void already" in client.post(void, {"why": "again"}, follow=True).content.decode()
    assert (account_of(job).owed, account_of(other).owed) == (0, 0)
    assert "does not hold" not in client.get(address).content.decode()


def test_the_fee_for_the_way_back_stays_as_it_was_typed(job: Job) -> None:
    Shop.objects.update(no_fee_minor=1500)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", likely_minor=7000, high_minor=7000)
    for fee in (1500, 900):
        word_record(price=price, said="no", how="phone")
        no_answered(job=job, way="back")
        assert [(line.text, line.amount_minor) for line in bill_draft_lines(job)] == [
            ("Looking it over and the price", fee)
        ]
        bill_draft_save(job=job, lines=[DraftLine("work", "Looking it over and the price", 900)])
