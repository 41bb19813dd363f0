"""A piece that will not come, from the step at the bench to the owner's word; and a reel that is left as it is."""

import re

import pytest
from django.urls import reverse

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.stuck import stuck_now
from levelwind.shop.models import Job, PatternPlace, Price, Stuck
from levelwind.shop.money.services.prices import price_draft, price_send, word_record
from levelwind.shop.money.services.stuck import stuck_ask
from levelwind.shop.papers.selectors.sheets import price_sheet, proof_sheet
from levelwind.shop.patterns.selectors.layouts import job_layout
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import takedown_step_done
from levelwind.shop.takedown.services.pieces import piece_judge
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return a_job(a_pattern(), reach=("pinion",))


def lines(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def test_from_the_step_to_the_price_to_the_owners_word_and_on(client, job):
    apart = reverse("apart", args=[job.tag])
    address = reverse("stuck", args=[job.tag, "undo_handle_screw", "seized_screw"])
    assert f'href="{address}"' in client.get(apart).content.decode()
    client.post(address, {"act": "note", "material": ["celluloid", "plating"]})
    said = lines(client.get(address))
    assert "Celluloid burns like a match" in said and "Never on celluloid." in said
    assert "Ask the owner first. The owner is not asked yet." in said and "It came" not in said.replace(
        "It came by", ""
    )
    sent = price_send(price=price_draft(job=job))
    word_record(price=sent, said="yes", how="phone")
    answer = client.post(address, {"act": "price", "material": ["celluloid"]})
    assert answer["Location"] == reverse("price", args=[job.tag]) + "#lines"
    price = Price.objects.get(number=2)
    assert price.sent_at is None and price.lines.count() == sent.lines.count() + 2
    work = price.lines.get(text="Free a seized screw")
    assert work.low_minor < work.likely_minor < work.high_minor and work.minutes == 20
    client.post(address, {"act": "price"})
    assert Price.objects.count() == 2, "pressed twice, it stands there once"
    assert "On price 2, not sent yet." in lines(client.get(apart))
    price_send(price=price)
    assert "On price 2, sent: no word yet." in lines(client.get(apart))
    word_record(price=price, said="no", how="phone")
    assert not stuck_now(job)[0].may_go_on and "said no: leave it as it is" in lines(client.get(apart))
    third = stuck_ask(job=job, step="undo_handle_nut", what="salt", materials=(), corrosion="crust")
    assert not third.lines.filter(text="Free a seized screw").exists(), "begun from what was agreed, not refused"
    assert third.lines.get(text="Take out salt and corrosion").minutes == 90, "twice as long under a crust"
    word_record(price=price, said="yes", how="mail")
    assert client.post(address, {"act": "came"})["Location"] == f"{apart}#now"
    assert Stuck.objects.get(what="seized_screw").came_at and "The screw does not turn." not in lines(client.get(apart))


def test_a_step_is_held_until_the_owner_agrees_or_it_came_by_itself(client, job):
    step = job_work(job).plan.steps[0].key
    stuck_ask(job=job, step=step, what="seized_screw", materials=())
    with pytest.raises(LevelwindError, match="does not turn: On price 1, not sent yet"):
        takedown_step_done(job=job, step=step)
    assert not job.steps_done.exists()
    address = reverse("stuck", args=[job.tag, step, "seized_screw"])
    assert "Go on: it came by itself" in lines(client.get(address))
    client.post(address, {"act": "came"})
    takedown_step_done(job=job, step=step)
    assert job.steps_done.get().step == step


def test_a_step_that_is_held_holds_none_of_those_before_it(client, job):
    apart = reverse("apart", args=[job.tag])
    (first, second, third) = [step.key for step in job_work(job).plan.steps[:3]]
    together = f'name="step" value="{first},{second},{third}'
    assert together in client.get(apart).content.decode()
    stuck_ask(job=job, step=third, what="seized_screw", materials=())
    page = client.get(apart).content.decode()
    assert f'name="step" value="{first},{second}"' in page and "The owner is not asked" not in lines(client.get(apart))
    assert client.post(apart, {"act": "done", "step": f"{first},{second}"}).status_code == 303
    text = lines(client.get(apart))
    assert f'name="step" value="{third}"' in client.get(apart).content.decode() and "not sent yet" in text


def test_corrosion_is_graded_at_look_over_and_stands_in_the_salt_procedure(client, job):
    look_over = reverse("look_over", args=[job.tag])
    assert "How far is it corroded?" in lines(client.get(look_over))
    client.post(reverse("corrosion", args=[job.tag]), {"corrosion": "crust"})
    assert Job.objects.get().corrosion == "crust"
    assert client.get(reverse("stuck", args=[job.tag, "undo_handle_screw", "salt"])).context["page"].grade == "crust"
    assert not client.get(reverse("stuck", args=[job.tag, "undo_handle_screw", "seized_screw"])).context["page"].grade
    answer = client.post(reverse("corrosion", args=[job.tag]), {"corrosion": "gold"})
    assert "it was &#x27;gold&#x27;" in lines(answer).lower() and Job.objects.get().corrosion == "crust"
    client.post(reverse("corrosion", args=[job.tag]), {"corrosion": ""})
    assert Job.objects.get().corrosion == ""


def test_a_price_counts_the_steps_of_this_reels_own_layout(job):
    whole = price_draft(job=job).lines.get(text__startswith="Take apart").minutes
    for place in job_layout(job).places:
        if place.group == "level_wind":
            PatternPlace.objects.create(pattern=job.pattern, key=place.key, absent=True)
    assert price_draft(job=job).lines.get(text__startswith="Take apart").minutes < whole


@pytest.mark.parametrize(
    ("step", "what", "data"),
    [
        ("undo_handle_screw", "no_such", {}),
        ("no_such", "salt", {}),
        ("undo_handle_screw", "salt", {"material": "gold"}),
        ("undo_handle_screw", "salt", {"corrosion": "x" * 3000}),
    ],
)
def test_what_the_book_does_not_know_is_refused_in_a_sentence(client, job, step, what, data):
    answer = client.post(reverse("stuck", args=[job.tag, step, what]), {"act": "note", **data})
    assert answer.status_code == 422 and "can be" in lines(answer) and not Stuck.objects.exists()


def test_left_as_it_is_stands_ahead_of_its_steps_and_on_price_and_proof_sheet(client, job):
    job.leave, job.leave_note = "polish,paint", "as it was fished"
    job.save()
    apart = client.get(reverse("apart", args=[job.tag])).content.decode()
    now = apart[apart.index('id="now"') :]
    assert now.index("do not polish it") < now.index("Take out the handle") and "as it was fished" in now.lower()
    assert price_sheet(price_draft(job=job)).included[-1].startswith("Left as it is: no polish, no paint")
    assert proof_sheet(job).bear_in_mind[0].startswith("Left as it is: no polish")
    Job.objects.update(leave="cleaning,polish,paint")
    take_apart(job)
    piece_judge(piece=job.pieces.get(place="pinion"), state="clean")
    job.refresh_from_db()
    together = lines(client.get(reverse("together", args=[job.tag])))
    assert "do not clean it" in together and "Clean it first" not in together
    whole = price_draft(job=job).lines.get(kind="work", place="")
    assert "uncleaned" in whole.text and "cleaning 0 min" in whole.because
