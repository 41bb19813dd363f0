"""Notes and calls: kept with who, when and what came of it; the latest in the job's head; a wrong one struck."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import JobNote
from tests.jobs import a_job

pytestmark = pytest.mark.django_db
NOTES = "/jobs/26-0001/notes/"


def test_a_call_is_kept_with_what_came_of_it_and_struck_but_not_deleted(signed_in: Client) -> None:
    a_job()
    assert "Notes, calls, letters" in signed_in.get("/jobs/26-0001/").content.decode()
    called = {"kind": "called", "outcome": "nobody", "text": "about the <ratchet>"}
    for _ in range(2):  # pressed twice
        assert signed_in.post(NOTES, called).status_code == 302
    note = JobNote.objects.get()
    assert (note.by, note.head) == ("ines", "I called the owner: nobody answered")
    head = signed_in.get("/jobs/26-0001/price/").content.decode()
    assert "I called the owner: nobody answered" in head and "about the &lt;ratchet&gt;" in head

    strike = f"{NOTES}{note.pk}/strike/"
    signed_in.post(strike, {"why": "it was another job"})
    first_struck = JobNote.objects.get().struck_at
    signed_in.post(strike, {"why": "twice"})
    note = JobNote.objects.get()
    assert (note.struck_why, note.struck_by, note.struck_at) == ("it was another job", "ines", first_struck)
    assert "nobody answered" not in signed_in.get("/jobs/26-0001/price/").content.decode()
    kept = signed_in.get(NOTES).content.decode()
    assert "it was another job" in kept and "nobody answered" in kept
    signed_in.post(strike, {"stands": "yes"})
    assert "nobody answered" in signed_in.get("/jobs/26-0001/price/").content.decode()


def test_what_cannot_be_noted_is_said_beside_its_field_and_stays_typed(client: Client) -> None:
    job = a_job()
    earlier = timezone.localtime() - timedelta(days=2)
    assert client.post(NOTES, {"kind": "note", "text": "old", "at": f"{earlier:%Y-%m-%dT%H:%M}"}).status_code == 302
    assert client.post(NOTES, {"kind": "rang", "text": "wants it by May"}).status_code == 302
    assert [note.text for note in job.notes.all()] == ["wants it by May", "old"]

    answer = client.post(NOTES, {"kind": "called", "text": "to say when"})
    assert answer.status_code == 422
    assert "Choose what came of the call" in answer.content.decode() and "to say when" in answer.content.decode()
    assert "Write what is to be noted" in client.post(NOTES, {"kind": "note", "text": " "}).content.decode()
    ahead = timezone.localtime() + timedelta(days=1)
    answer = client.post(NOTES, {"kind": "note", "text": "x", "at": f"{ahead:%Y-%m-%dT%H:%M}"})
    assert "now or earlier" in answer.content.decode()
    assert job.notes.count() == 2
    assert client.post(f"{NOTES}999/strike/").status_code == 404
    for wrong in ({"kind": "note", "outcome": "spoke", "text": "x"}, {"kind": "note", "text": ""}, {"kind": "called"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            JobNote.objects.create(job=job, **wrong)
