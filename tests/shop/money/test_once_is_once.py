"""What happens once happens once, also when eight press at the same moment."""

from functools import partial

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.last_step import last_step
from levelwind.shop.jobs.services.comebacks import job_comes_back
from levelwind.shop.models import Bill, Job, MoneyEntry, Price, Sending, Stage, Word
from levelwind.shop.money.selectors import DraftLine, account_of, owed_on
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.money.services.ledger import bill_give_back, credit_give, payment_give_back, payment_take
from levelwind.shop.money.services.prices import price_line_add, word_record
from levelwind.shop.money.services.sales import Sold, counter_sell, sale_void
from levelwind.shop.papers.services.last_step import last_step_take_back
from levelwind.shop.papers.services.sendings import reel_send_home
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.services.shelf import part_add
from tests.emptied import emptied_afterwards, triggers_back
from tests.jobs import a_job
from tests.shop.at_once import at_once
from tests.shop.jobs.test_stays import at_home

__all__ = ["emptied_afterwards", "triggers_back"]

LINES = (DraftLine("work", "Service", 6000), DraftLine("part", "Drag set", 1000))
EIGHT = 8


@pytest.fixture
def job(emptied_afterwards: None) -> Job:
    return bill_draft_save(job=a_job(stage=Stage.BOXED), lines=LINES)


def test_one_bill_made_by_eight(job: Job) -> None:
    refused = at_once(job, lambda own: bill_make(job=own), EIGHT)
    assert (Bill.objects.count(), account_of(job).charged, len(refused)) == (1, 7000, EIGHT - 1)
    assert all(isinstance(one, LevelwindError) and "is made, and another without a line" in str(one) for one in refused)


def test_eight_bills_of_eight_jobs_have_numbers_without_a_gap(job: Job) -> None:
    jobs = [job] + [
        bill_draft_save(job=a_job(f"26-010{n}", owner=job.owner, parcel=job.parcel), lines=LINES)
        for n in range(1, EIGHT)
    ]
    left = list(jobs)
    assert at_once(job, lambda _: bill_make(job=left.pop()), EIGHT) == []
    numbers = sorted(int(number[-4:]) for number in Bill.objects.values_list("number", flat=True))
    assert numbers == list(range(1, EIGHT + 1))


def test_credits_of_eight_never_pass_what_was_charged(job: Job) -> None:
    bill_make(job=job)
    refused = at_once(job, lambda own: credit_give(job=own, amount_minor=3000, text="goodwill"), EIGHT)
    assert len(refused) == EIGHT - 2
    assert all("not yet taken off, 1000" in str(one) for one in refused)
    assert account_of(job).owed == 1000


def test_what_eight_press_on_one_page_is_entered_once_and_taken_back_once(job: Job) -> None:
    bill_make(job=job)
    for take, sum_minor in ((payment_take, 5000), (payment_give_back, 1000)):
        press = partial(take, amount_minor=sum_minor, text="cash", after=account_of(job).newest)
        refused = at_once(job, lambda own, press=press: press(job=own), EIGHT)
        assert len(refused) == EIGHT - 1 and all("since this page was loaded" in str(one) for one in refused)
    assert account_of(job).owed == 7000 - 5000 + 1000
    pressed = last_step(job).press
    refused = at_once(job, lambda own: last_step_take_back(job=own, press=pressed), EIGHT)
    assert len(refused) == EIGHT - 1 and Job.objects.get().stage == Stage.TOGETHER


def test_a_word_taken_down_by_eight_stands_once(job: Job) -> None:
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=7000, likely_minor=7000, high_minor=7000)
    assert at_once(job, lambda own: word_record(price=own.prices.get(), said="yes", how="phone"), EIGHT) == []
    assert Word.objects.count() == job.events.filter(text__startswith="The owner said").count() == 1
    assert job.events.filter(text="Price 1 sent.").count() == 1


def test_home_by_eight_is_written_once(job: Job) -> None:
    assert at_once(job, lambda own: reel_send_home(job=own), EIGHT) == []
    assert job.events.filter(text__startswith="Sent home").count() == 1
    assert job.events.filter(text="Now home.").count() == 1
    sent = Sending.objects.get().sent_at
    reel_send_home(job=Job.objects.get())
    assert (Sending.objects.get().sent_at, job.events.count()) == (sent, 2)


def test_a_sale_pressed_by_eight_is_one_and_eight_sales_never_empty_a_shelf_twice(job: Job) -> None:
    gear = part_add(number="G-1", name="Main gear", price_minor=3800, count=4)
    assert at_once(job, lambda _: counter_sell(sold=[Sold(gear)], how="cash", press="one"), EIGHT) == []
    assert (Bill.objects.count(), stock_of(gear).new) == (1, 3)
    refused = at_once(job, lambda _: counter_sell(sold=[Sold(gear)], how="cash"), EIGHT)
    assert len(refused) == EIGHT - 3 and all("No new G-1" in str(one) for one in refused)
    assert (Bill.objects.count(), stock_of(gear).new) == (4, 0)
    bill = Bill.objects.earliest("pk")
    refused = at_once(job, lambda _: sale_void(bill=bill, why="twice", back=True), EIGHT)
    assert len(refused) == EIGHT - 1 and stock_of(gear).new == 1
    refused = at_once(job, lambda _: bill_give_back(bill=bill, amount_minor=3800, text="cash"), EIGHT)
    assert len(refused) == EIGHT - 1 and owed_on(bill) == 0


@pytest.mark.django_db
def test_a_credit_again_and_again_stops_at_what_was_charged() -> None:
    job = bill_draft_save(job=a_job(), lines=LINES)
    bill_make(job=job)
    credit_give(job=job, amount_minor=7000, text="goodwill")
    with pytest.raises(LevelwindError, match="up to what was charged and not yet taken off, 0"):
        credit_give(job=job, amount_minor=1, text="goodwill")
    assert MoneyEntry.objects.filter(kind="credit").count() == 1


def test_eight_who_press_at_once_book_it_in_again_once(emptied_afterwards: None) -> None:
    first = at_home()
    assert at_once(first, lambda job: job_comes_back(job=job), EIGHT) == []
    assert Job.objects.filter(comeback_of=first).count() == 1
    assert Job.objects.count() == 2
