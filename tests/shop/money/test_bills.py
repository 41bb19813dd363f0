"""Bills, payments and what is owed."""

import pytest

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import Job, Shop, Stage, StepDone
from levelwind.shop.money.selectors import DraftLine, account_of, bill_draft_lines, over_the_word
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.money.services.ledger import credit_give, payment_take
from levelwind.shop.money.services.prices import price_copy, price_draft, price_line_add, word_record
from tests.jobs import a_job

pytestmark = pytest.mark.django_db

LINES = (DraftLine("work", "Service", 6000), DraftLine("part", "Drag set", 1000))


def a_billed_job() -> Job:
    job = a_job()
    bill_draft_save(job=job, lines=LINES)
    bill_make(job=job)
    return job


def test_a_bill_begins_from_the_likely_price() -> None:
    job = a_job()
    price = price_draft(job=job)
    likely = [line.likely_minor for line in price.lines.all() if line.likely_minor]
    assert [line.amount_minor for line in bill_draft_lines(job)] == likely


def test_charges_and_tax_are_written_once_and_owed() -> None:
    Shop.objects.create(pk=1, name="Bench", tax_label="Tax", tax_percent=10)
    account = account_of(a_billed_job())
    assert [(entry.kind, entry.amount_minor) for entry in account.entries] == [
        ("charge", 6000),
        ("charge", 1000),
        ("tax", 700),
    ]
    assert account.owed == 7700


def test_payments_and_credits_bring_down_what_is_owed() -> None:
    job = a_billed_job()
    credit_give(job=job, amount_minor=500, text="goodwill")
    payment_take(job=job, amount_minor=6500, text="card")
    account = account_of(job)
    assert (account.charged, account.paid, account.owed) == (7000, 7000, 0)


def test_a_made_bill_leaves_no_lines_to_bill_twice() -> None:
    job = a_billed_job()
    assert bill_draft_lines(job) == ()
    with pytest.raises(LevelwindError, match="without a line"):
        bill_make(job=job)


def test_bill_numbers_run_on() -> None:
    first = a_billed_job().bills.get().number
    job = a_job("26-0002")
    bill_draft_save(job=job, lines=LINES)
    assert int(bill_make(job=job).number[-4:]) == int(first[-4:]) + 1


@pytest.mark.parametrize("amount", [0, -5, None])
def test_no_payment_of_nothing(amount: int | None) -> None:
    with pytest.raises(InputError, match="more than 0"):
        payment_take(job=a_billed_job(), amount_minor=amount, text="card")


def test_no_credit_over_what_was_charged() -> None:
    with pytest.raises(InputError, match="up to what was charged"):
        credit_give(job=a_billed_job(), amount_minor=7001, text="goodwill")


def test_a_bill_over_the_owners_word_says_by_how_much() -> None:
    job, shop = a_job(), Shop(pk=1)
    word_record(price=price_draft(job=job), said="up_to", how="phone", up_to_minor=5000)
    assert over_the_word(job, LINES, shop) == 2000
    assert over_the_word(job, LINES[1:], shop) == 0


def test_a_refused_price_is_not_billed_without_asking_again() -> None:
    job = a_job()
    first = price_draft(job=job)
    word_record(price=first, said="no", how="phone")
    with pytest.raises(LevelwindError, match="said no to price 1: ask again"):
        bill_make(job=job)
    again = price_copy(price=first)
    with pytest.raises(LevelwindError, match="said no to price 1: ask again"):
        bill_make(job=job)
    word_record(price=again, said="yes", how="phone")
    assert bill_make(job=job).entries.exists()


def test_after_a_no_to_more_only_what_was_agreed_before_is_billed() -> None:
    job = a_job()
    first = price_draft(job=job)
    word_record(price=first, said="up_to", up_to_minor=9000, how="phone")
    more = price_copy(price=first)
    price_line_add(price=more, kind="part", text="Main gear", low_minor=4000, likely_minor=4000, high_minor=4000)
    word_record(price=more, said="no", how="phone")
    assert job.stage == Stage.AGREED
    assert "Main gear" not in [line.text for line in bill_draft_lines(job)]
    bill_draft_save(job=job, lines=(DraftLine("work", "Service and gear", 9001),))
    with pytest.raises(LevelwindError, match="said no to price 2, and this is more than was agreed before"):
        bill_make(job=job)
    bill_draft_save(job=job, lines=(DraftLine("work", "Service", 9000),))
    bill_make(job=job)
    bill_draft_save(job=job, lines=(DraftLine("post", "Post", 1),))
    with pytest.raises(LevelwindError, match="more than was agreed before"):
        bill_make(job=job)


def test_a_no_while_the_reel_is_apart_leaves_it_apart() -> None:
    job = a_job(stage=Stage.APART)
    StepDone.objects.create(job=job, phase="apart", step="undo_handle_screw")
    word_record(price=price_draft(job=job), said="no", how="phone")
    assert (job.stage, job.turn) == (Stage.APART, "mine")
