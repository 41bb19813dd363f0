"""The pages of letters: written from the job, kept, taken along, said to have gone; the shop's text with a real job."""

import pytest
from django.test import Client

from levelwind.shop.models import Job, Letter, LetterText, LetterWay, Price, Shop, Stage
from levelwind.shop.money.services.prices import price_line_add
from tests.jobs import a_job
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
NEW = "/jobs/26-0001/letters/new/price/"


@pytest.fixture
def job() -> Job:
    Shop.objects.create(pk=1, name="Bench <1>")
    job = a_job(stage=Stage.LOOKED_OVER)
    price_line_add(
        price=Price.objects.create(job=job),
        kind="work",
        text="Service",
        low_minor=4000,
        likely_minor=4000,
        high_minor=4000,
    )
    return job


def test_a_letter_is_written_kept_taken_along_and_said_to_have_gone(signed_in: Client, job: Job) -> None:
    notes = signed_in.get("/jobs/26-0001/notes/").content.decode()
    assert NEW in notes and "it is ready: it is looked over" in notes.lower()
    typed = typed_into(signed_in.get(NEW), to_email="ansa@example.org")
    assert typed["subject"] == "What your Skerry 50 will cost (26-0001)"
    assert "Enter a valid email" in signed_in.post(NEW, typed | {"to_email": "ansa@x\nBcc: b@x.org"}).content.decode()
    for _ in range(2):
        answer = signed_in.post(NEW, typed)
    letter = Letter.objects.get()
    there = f"/jobs/26-0001/letters/{letter.pk}/"
    assert answer["Location"] == there and letter.by == "ines"
    kept = signed_in.get(there).content.decode()
    assert "mailto:ansa@example.org?subject=What%20your" in kept and "not sent yet" in kept
    assert "counts as sent" in kept
    pdf = signed_in.get(f"{there}letter.pdf")
    assert pdf.content[:5] == b"%PDF-" and pdf["Content-Disposition"].startswith("inline")

    assert "How it went can be" in signed_in.post(f"{there}went/", {"does": "gone"}, follow=True).content.decode()
    signed_in.post(f"{there}went/", {"does": "gone", "way": "post"})
    assert "sent on paper, by post on" in signed_in.get("/jobs/26-0001/notes/").content.decode()
    assert Job.objects.get().stage == Stage.PRICE_SENT
    signed_in.post(f"{there}went/", {"does": "not_gone"})
    again = signed_in.get(there).content.decode()
    assert "Mark it sent" in again and "counts as sent" not in again, "its price is sent already"
    Job.objects.update(stage=Stage.SENT_BACK)
    assert "is not now: it is sent back unmended" in signed_in.get(there).content.decode()
    signed_in.post(f"{there}went/", {"does": "hold"})
    assert LetterWay.objects.get().state == "stopped"
    assert signed_in.get(NEW).status_code == 422
    late = signed_in.post(NEW, typed_into(signed_in.get(NEW.replace("price", "other")), body="mine"))
    assert late.status_code == 422 and "mine" in late.content.decode() and Letter.objects.count() == 1


def test_the_shops_text_is_checked_seen_with_a_real_job_and_put_back(client: Client, job: Job) -> None:
    there = "/counter/letters/price/"
    assert "What your {reel} will cost" in client.get("/counter/letters/").content.decode()
    assert "It is for: Service." in client.get(there).content.decode()
    wrong = client.post(there, {"subject": "x", "body": "It goes with {trakking}"})
    assert wrong.status_code == 422 and "has no field {trakking}" in wrong.content.decode()
    own = {"subject": "Your {reel}", "body": "It costs {price}.", "tag": "26-0001"}
    assert "It costs $40.00." in client.post(there, own | {"see": "yes"}).content.decode()
    assert not LetterText.objects.exists()
    assert client.post(there, own).status_code == 302
    assert LetterText.objects.get().body == "It costs {price}."
    assert "It costs $40.00." in client.get(f"{there}?tag=26-0001").content.decode()
    assert "No job has the tag 9" in client.get(f"{there}?tag=9").content.decode()
    client.post(f"{there}shipped/")
    assert not LetterText.objects.exists()
    assert (
        client.get("/counter/letters/nothing/").status_code
        == client.post("/counter/letters/x/shipped/").status_code
        == 404
    )
