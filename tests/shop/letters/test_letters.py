"""Letters: offered only while true, in the shop's words, kept as written; what their going means for the job."""

from datetime import timedelta
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.jobs import job_get
from levelwind.shop.letters.selectors import (
    letter_filled,
    letter_offer,
    letter_text,
    letters_offered,
    mail_link,
)
from levelwind.shop.letters.services import (
    letter_gone,
    letter_hold_back,
    letter_not_gone,
    letter_text_save,
    letter_text_shipped,
    letter_write,
)
from levelwind.shop.letters.texts import SHIPPED, fields_of, text_check
from levelwind.shop.models import Job, Letter, LetterKind, LetterWay, Price, Sending, Shop, Stage, StepDone, Turn
from levelwind.shop.money.services.prices import price_line_add, price_send, word_record
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    Shop.objects.create(pk=1, name="Bench", ask_again_days=5, service_months=12, phone="555 0100")
    job = a_job(stage=Stage.LOOKED_OVER)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=4000, likely_minor=4000, high_minor=4000)
    return job_get(job.tag)


def written(job: Job, kind: LetterKind, **said: str) -> Letter:
    text = letter_filled(job, letter_text(kind))
    given = {"to_email": "ansa@example.org", "subject": text.subject, "body": text.body} | said
    return letter_write(job=job, kind=kind, once=uuid4(), **given)


def true_of(job: Job) -> set[str]:
    return {offer.kind.value for offer in letters_offered(job_get(job.tag)) if not offer.why_not}


def test_each_letter_is_offered_only_while_it_is_true(job: Job) -> None:
    price = Price.objects.get()
    assert true_of(job) == {"price", "other"}
    price_send(price=price)
    assert "5 to go" in letter_offer(job_get(job.tag), LetterKind.ASK_AGAIN).why_not
    Job.objects.update(waiting_since=timezone.now() - timedelta(days=6))
    assert true_of(job) == {"price", "ask_again", "other"}
    word_record(price=price, said="yes", how="phone")
    assert true_of(job) == {"other"}

    Job.objects.update(stage=Stage.BOXED)
    assert true_of(job) == {"ready", "other"}
    step = StepDone.objects.create(job=job, phase="apart", step="star")
    assert letter_offer(job_get(job.tag), LetterKind.READY).why_not == "the reel is apart"
    step.delete()
    Job.objects.update(after_no="back")
    assert "ready" not in true_of(job)

    Job.objects.update(stage=Stage.SENT_BACK, stage_since=timezone.now())
    assert true_of(job) == {"sent_back", "other"} and letter_offer(job_get(job.tag), LetterKind.SENT_BACK).due
    sent = Sending.objects.create(job=job, sent_at=timezone.now(), tracking="X 1")
    Job.objects.update(stage=Stage.HOME, after_no="")
    assert true_of(job) == {"sent", "thanks", "other"}
    Sending.objects.update(sent_at=timezone.now() - timedelta(days=400), tracking="", came_back=True)
    assert true_of(job) == {"sent", "service", "other"}
    job.parcel.came_by = "counter"
    job.parcel.save()
    a_job("26-0002", owner=job.owner)
    assert true_of(job) == {"other"}
    assert sent.job == job


def test_what_is_shipped_knows_its_fields_and_a_wrong_one_is_told_by_name(job: Job) -> None:
    for kind, text in SHIPPED.items():
        text_check(kind, text.subject + text.body)
        assert set(fields_of(kind)) >= {"owner", "tag"}
    with pytest.raises(LevelwindError, match=r"“the price” has no field \{trakking\}.*\{owner\}"):
        letter_text_save(kind=LetterKind.PRICE, subject="x", body="Dear {owner}, {trakking}")
    with pytest.raises(LevelwindError, match="brace stands alone"):
        letter_text_save(kind=LetterKind.PRICE, subject="{{owner}", body="x")

    letter_text_save(
        kind=LetterKind.PRICE, subject="About {reel}\nBcc: all", body="{owner}: {price}.\nHolds {good_until}."
    )
    seen = letter_filled(job, letter_text(LetterKind.PRICE))
    assert (seen.subject, seen.body) == ("About Skerry 50 Bcc: all", "Ansa Vell: $40.00.")
    letter_text_shipped(kind=LetterKind.PRICE)
    shipped = letter_filled(job, letter_text(LetterKind.PRICE))
    assert "Here is the price for your Skerry 50: $40.00.\nIt is for: Service." in shipped.body
    assert shipped.body.endswith("Bench\n555 0100")  # without an empty line for the mail the shop has not
    job.owner.name = "{tag} Vell\r\nBcc: x"
    assert letter_filled(job, letter_text(LetterKind.PRICE)).body.startswith("Dear {tag} Vell Bcc: x,")


def test_a_letter_is_kept_as_written_once_and_its_going_moves_the_job(job: Job) -> None:
    letter = written(job, LetterKind.PRICE)
    again = letter_write(job=job, kind=LetterKind.PRICE, to_email="", subject="other", body="other", once=letter.once)
    assert again == letter and Letter.objects.get().subject == letter.subject
    with pytest.raises(DatabaseError, match="kept as it was written"), transaction.atomic():
        Letter.objects.update(body="changed")
    with pytest.raises(LevelwindError, match="would not be true: it is looked over"):
        written(job, LetterKind.READY)

    for _ in range(2):
        letter_gone(letter=letter, way="mail")
    fresh = job_get(job.tag)
    assert (fresh.stage, fresh.turn) == (Stage.PRICE_SENT, Turn.OWNER)
    assert fresh.events.filter(text__startswith="Letter sent by e-mail").count() == 1
    with pytest.raises(LevelwindError, match="is sent"):
        letter_hold_back(letter=letter)
    letter_not_gone(letter=letter)
    letter_hold_back(letter=letter)
    assert LetterWay.objects.get().state == "stopped"
    letter_gone(letter=letter, way="hand")
    assert LetterWay.objects.get().state == "sent"

    Job.objects.update(waiting_since=timezone.now() - timedelta(days=6))
    asked = written(job_get(job.tag), LetterKind.ASK_AGAIN)
    letter_gone(letter=asked, way="message")
    assert not letter_offer(job_get(job.tag), LetterKind.ASK_AGAIN).due


def test_the_mail_program_gets_the_letter_as_it_stands() -> None:
    """RFC 6068: fields percent-encoded in UTF-8, line ends as %0D%0A. Read back by the standard library."""
    letter = Letter(to_email="o'x+reel@example.org", subject="Søster & co? 100 %", body="Zürich\n\n#1 = {x}; 日本")
    link = urlsplit(mail_link(letter))
    fields = parse_qs(link.query, strict_parsing=True)
    assert link.scheme == "mailto" and link.path == "o%27x%2Breel@example.org"
    assert fields == {"subject": ["Søster & co? 100 %"], "body": ["Zürich\r\n\r\n#1 = {x}; 日本"]}
    assert "\n" not in mail_link(letter) and " " not in mail_link(letter)
