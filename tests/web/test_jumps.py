"""A jump forward is asked and recorded; the last call can be taken back; after a no the page says what can follow."""

import pytest
from django.contrib.auth.models import User
from django.test import Client

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.shop.jobs.selectors.jobs import next_move
from levelwind.shop.jobs.services.sendings import job_hand_over
from levelwind.shop.models import Job, Parcel, Price, Shop, Stage, Word
from levelwind.shop.money.selectors import DraftLine
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.money.services.prices import price_copy, price_line_add, price_send, word_record
from levelwind.shop.papers.selectors.sheets import price_sheet
from levelwind.shop.papers.services.sendings import reel_box, reel_send_home
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_step_done
from tests.jobs import a_job as a_bare_job
from tests.pages import last_press, typed_into
from tests.shop.readings.reading_rows import a_row
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_together, take_apart

pytestmark = pytest.mark.django_db
JOB = "/jobs/26-0001/"
HTMX = {"hx-request": "true"}


@pytest.fixture(autouse=True)
def merle(client: Client) -> None:
    client.force_login(User.objects.create(username="merle"))


def _now(job: Job) -> Job:
    return Job.objects.get(pk=job.pk)


def _history(job: Job) -> list[str]:
    return [f"{event.text} {event.by}" for event in job.events.order_by("pk")]


def test_a_first_step_before_the_owners_word_is_asked_and_recorded(client: Client) -> None:
    job = a_job(a_pattern(), reach=("pinion",), stage=Stage.LOOKED_OVER)
    plan = job_work(job).plan
    assert plan is not None
    press = {"act": "done", "step": plan.steps[0].key}
    asked = client.post(JOB + "apart/", press, headers=HTMX)
    page = asked.content.decode()
    assert (asked["HX-Retarget"], _now(job).stage) == ("#page", Stage.LOOKED_OVER)
    assert "Take the first piece off?" in page and "<strong>price sent, agreed</strong>" in page
    client.post(JOB + "apart/", typed_into(asked))
    assert _now(job).stage == Stage.APART
    assert "Now apart, straight from looked over: passed over price sent, agreed. merle" in _history(job)
    client.post(JOB + "apart/", {"act": "undo", "step": plan.steps[0].key})
    assert _now(job).stage == Stage.LOOKED_OVER


@pytest.mark.parametrize(
    ("stage", "address", "over"),
    [
        (Stage.BOOKED_IN, "price/send/", "looked over"),
        (Stage.AGREED, "prove/done/", "apart, together"),
        (Stage.AGREED, "together/", "apart"),
        (Stage.AGREED, "box/do/boxed/", "apart, together, proved"),
        (Stage.TOGETHER, "box/do/home/", "proved, boxed"),
    ],
)
def test_every_press_ahead_of_its_stage_is_asked(client: Client, stage: Stage, address: str, over: str) -> None:
    job = a_bare_job(stage=stage)
    price_line_add(price=Price.objects.create(job=job), kind="work", text="Service")
    page = client.post(JOB + address, {"act": "finish"}, follow=True).content.decode()
    assert f"<strong>{over}</strong>" in page and _now(job).stage == stage


def test_what_is_apart_or_read_before_it_was_opened_is_not_proved(client: Client) -> None:
    job = a_job(a_pattern(), reach=("pinion",), stage=Stage.AGREED)
    a_row(job, "spin", "left", as_stored(spin.typed(11.0)))
    take_apart(job)
    assert "The reel is apart" in client.post(JOB + "prove/done/", {"jump": "1"}, follow=True).content.decode()
    put_together(job)
    client.post(JOB + "together/", {"act": "finish"})
    assert "Nothing is measured as left yet" in client.post(JOB + "prove/done/", follow=True).content.decode()
    a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
    client.post(JOB + "prove/done/")
    assert _now(job).stage == Stage.PROVED
    client.post(JOB + "together/", {"act": "undo", "step": job_work(job).way_back.steps[-1].step.key})
    assert _now(job).stage == Stage.APART


@pytest.mark.parametrize(
    ("stage", "words", "before"),
    [
        (Stage.LOOKED_OVER, "Take back: called looked over", Stage.BOOKED_IN),
        (Stage.TOGETHER, "Take back: called together", Stage.APART),
        (Stage.PROVED, "Take back: called proved", Stage.TOGETHER),
        (Stage.BOXED, "Take back: called boxed", Stage.TOGETHER),
        (Stage.SENT_BACK, "Take it up again", Stage.LOOKED_OVER),
    ],
)
def test_the_last_call_is_taken_back_by_one_press(client: Client, stage: Stage, words: str, before: Stage) -> None:
    """And pressed twice, once: the second press is of a page that is no longer so."""
    job = a_bare_job(stage=stage)
    page = client.get(JOB).content.decode()
    assert words in page
    for _ in range(2):
        answer = client.post(JOB + "take-back/", {"press": last_press(page)}, follow=True).content.decode()
        assert _now(job).stage == before
    assert "Something was done with this reel since" in answer


def test_whatever_was_done_last_is_taken_back_or_the_page_says_why_not(client: Client) -> None:
    job = a_job(a_pattern(), reach=("pinion",), stage=Stage.LOOKED_OVER)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=6000, likely_minor=6000, high_minor=6000)
    price_send(price=price)
    _taken_back(client, job, "the price called sent", Stage.LOOKED_OVER)
    word_record(price=Price.objects.get(), said="yes", how="phone")
    assert _now(job).ceiling_minor is not None
    _taken_back(client, job, "a yes taken down", Stage.PRICE_SENT)
    assert (_now(job).turn, _now(job).ceiling_minor, Word.objects.count()) == ("owner", None, 0)
    assert "The owner did not say yes by phone after all. merle" in _history(job)
    word_record(price=Price.objects.get(), said="yes", how="phone")
    word_record(price=Price.objects.get(), said="no", how="phone")
    _taken_back(client, job, "a no taken down", Stage.AGREED)
    assert _now(job).after_no == ""
    bill_draft_save(job=_now(job), lines=[DraftLine("work", "Service", 6000)])
    bill = bill_make(job=_now(job))
    assert f"Bill {bill.number} rests on that word: void it first" in client.get(JOB).content.decode()
    steps = [step.key for step in job_work(job).plan.steps[:3]]
    takedown_step_done(job=_now(job), step=steps[0])
    takedown_step_done(job=_now(job), step=steps[2], with_before=True)
    _taken_back(client, job, "ticks on Apart or Together", Stage.APART)
    assert set(job_work(job).taken) == {steps[0]}
    _taken_back(client, job, "ticks on Apart or Together", Stage.AGREED)
    reel_box(job=_now(job))
    reel_send_home(job=_now(job))
    assert "Enter in a sentence why" in _taken_back(client, job, "called on its way home", Stage.HOME)
    _taken_back(client, job, "called on its way home", Stage.BOXED, why="wrong box")
    reel_send_home(job=_now(job))
    job_hand_over(job=_now(job))
    page = client.get(JOB).content.decode()
    assert "Done last: handed over" in page and "it is booked in again" in page and "Take back" not in page


def _taken_back(client: Client, job: Job, done: str, stage: Stage, **more: str) -> str:
    page = client.get(JOB).content.decode()
    assert f"Take back: {done}" in page
    answer = client.post(JOB + "take-back/", {"press": last_press(page)} | more, follow=True).content.decode()
    assert _now(job).stage == stage
    return answer


def test_a_price_is_called_back_until_it_is_answered(client: Client) -> None:
    job = a_bare_job(stage=Stage.LOOKED_OVER)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service")
    price_send(price=price)
    assert "Undo: it was not sent" in client.get(JOB + "price/").content.decode()
    client.post(JOB + "price/back/")
    assert (_now(job).stage, _now(job).turn, Price.objects.get().sent_at) == (Stage.LOOKED_OVER, "mine", None)
    word_record(price=Price.objects.get(), said="yes", how="phone")
    assert "has answered this price" in client.post(JOB + "price/back/", follow=True).content.decode()


def _said_no(job: Job, before: bool) -> None:
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=6000, likely_minor=6000, high_minor=6000)
    if before:
        word_record(price=price, said="yes", how="phone")
        price = price_copy(price=price)
    word_record(price=price, said="no", how="phone")


def test_a_no_to_more_keeps_the_first_yes_and_is_finished_as_agreed(client: Client) -> None:
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    _said_no(job, before=True)
    assert (_now(job).stage, next_move(_now(job)).words) == (Stage.APART, "Decide what follows the no")
    assert "Finish what was agreed to price 1" in client.get(JOB + "price/").content.decode()
    client.post(JOB + "price/no/", {"way": "agreed"})
    assert next_move(_now(job)).words == "Renew and put together"
    assert "After the no: finish what was agreed before. merle" in _history(job)


def test_a_no_midway_is_put_together_sent_back_and_billed_as_the_shop_sets(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", no_fee_minor=2000, no_post_minor=1150, tax_label="Tax", tax_percent=10)
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    _said_no(job, before=False)
    assert "Finish what was agreed" not in client.get(JOB + "price/").content.decode()
    assert "come to $34.65" in price_sheet(job.prices.get()).say_yes
    client.post(JOB + "price/no/", {"way": "back"})
    assert (next_move(_now(job)).words, _now(job).stage) == ("Put it together and send it back", Stage.APART)
    put_together(job)
    client.post(JOB + "together/", {"act": "finish"})
    assert next_move(_now(job)).words == "Send it back"
    bill = bill_make(job=_now(job))
    assert [(entry.text, entry.amount_minor) for entry in bill.entries.all()] == [
        ("Looking it over and the price", 2000),
        ("Return post", 1150),
        ("Tax 10 %", 315),
    ]
    client.post(JOB + "ends/sent_back/", {})
    assert _now(job).stage == Stage.SENT_BACK
    client.post(JOB + "take-back/", {"press": last_press(client.get(JOB).content.decode())})
    assert _now(job).stage == Stage.TOGETHER


def test_over_the_counter_there_is_no_way_back_to_pay(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", no_fee_minor=2000, no_post_minor=1150)
    job = a_bare_job(stage=Stage.LOOKED_OVER)
    Parcel.objects.update(came_by="counter")
    _said_no(_now(job), before=False)
    client.post(JOB + "price/no/", {"way": "back"})
    assert [line["amount_minor"] for line in _now(job).bill_draft] == [2000]
    refused = client.post(JOB + "price/no/", {"way": "agreed"}, follow=True).content.decode()
    assert "Nothing was agreed before" in refused
