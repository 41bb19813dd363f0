"""An owner forgotten on request: nothing in the book says who it was, and the books stay as they were."""

from uuid import uuid4

import pytest
from django.apps import apps
from django.test import Client
from django.utils import timezone

from levelwind.shop.book.packed import packed
from levelwind.shop.finding.selectors import find
from levelwind.shop.jobs.services.jobs import job_note
from levelwind.shop.jobs.services.notes import note_add
from levelwind.shop.letters.services import letter_write
from levelwind.shop.models import (
    Deed,
    FindableWord,
    Import,
    Job,
    Letter,
    LetterKind,
    MoneyEntry,
    Owner,
    Sending,
    Shop,
    Stage,
)
from levelwind.shop.money.selectors import DraftLine
from levelwind.shop.money.services.bills import owner_bill_make
from levelwind.shop.money.services.ledger import bill_payment_take
from levelwind.shop.people.merging import owner_merge
from levelwind.shop.people.selectors import owner_owes
from tests.jobs import a_job

pytestmark = pytest.mark.django_db
TOLD = ("Vell", "555 0100", "ansa@example.org", "Quay Road")


def everything() -> str:
    """Every value of every table of the book."""
    models = [model for model in apps.get_models() if model._meta.app_label == "shop"]
    return "\n".join(str(list(model._default_manager.values())) for model in models)


def test_who_they_were_is_gone_and_the_books_stay(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench")
    details = {
        "phone": "555 0100",
        "email": "ansa@example.org",
        "address": "7 Quay Road\nSaltwick",
        "note": "Vell is deaf",
    }
    owner = Owner.objects.create(name="Ansa Vell", **details)
    also = Owner.objects.create(name="A. Vell", phone="555 0100")
    job = a_job(owner=owner, stage=Stage.PROVED, complaint="Ansa Vell says the drag slips")
    owner_merge(gone=also, into=owner)
    letter = {"to_email": owner.email, "subject": "Dear Ansa Vell", "body": "Quay Road"}
    letter_write(job=job, kind=LetterKind.OTHER, once=uuid4(), **letter)
    note_add(job=job, kind="note", text="Vell rang from 555 0100")
    job_note(job=job, text="It is Ansa Vell’s.")
    job_note(job=job, text="Rung at 555 0100: nobody was there.")
    rows = packed([[1, "Name", "Telephone"], [2, "Ansa Vell", "555 0100"]])
    kept = Import.objects.create(kind="owners", file_name="owners.csv", data=b"Ansa Vell", rows=rows, refused_rows=rows)
    Deed.objects.create(kind="owner", ref=owner.pk, text="The name was Vell")
    proof = {"sheet": {"job": {"owner": "Ansa Vell", "owner_address": ["7 Quay Road", "Saltwick"]}}}
    Sending.objects.create(job=job, proof=proof, follow_up_note="Ansa Vell is content", sent_at=timezone.now())
    bill = owner_bill_make(owner=owner, jobs=[], lines=[DraftLine("work", "A spool", 2000)])
    here = f"/counter/owners/{owner.pk}/"
    forget = f"{here}is/forget/"
    assert "a reel of theirs is still here" in client.post(forget, {"sure": "on"}).content.decode()
    Job.objects.update(stage=Stage.HOME)
    assert "cannot be forgotten yet: money is still owed" in client.post(forget, {"sure": "on"}).content.decode()
    bill_payment_take(bill=bill, amount_minor=2000, text="cash")
    ledger = list(MoneyEntry.objects.values())
    assert "The list owners.csv names Ansa Vell" in client.post(forget, {"sure": "on"}).content.decode()
    Import.objects.update(state="done")
    assert "Tick that you have read" in client.post(forget).content.decode()
    assert all(words in everything() for words in TOLD), "asked without a tick, nothing is gone"
    for _ in range(2):
        assert client.post(forget, {"sure": "on"})["Location"] == here
    left = everything()
    assert [left[at - 80 : at + 40] for words in TOLD if (at := left.casefold().find(words.casefold())) >= 0] == []
    kept.refresh_from_db()
    assert (kept.state, bytes(kept.data), bytes(kept.rows), bytes(kept.refused_rows)) == ("done", b"", b"", b"")
    owner.refresh_from_db()
    assert (owner.name, owner.forgotten_on) == (f"Forgotten owner {owner.pk}", timezone.localdate())
    assert Job.objects.get().complaint == f"Forgotten owner {owner.pk} says the drag slips"
    assert (list(MoneyEntry.objects.values()), owner_owes(owner), Letter.objects.count()) == (ledger, 0, 0)
    assert not find("Vell").answers and not FindableWord.objects.filter(word="vell").exists()
    shown = client.get(here).content.decode()
    assert "as they asked" in shown and "A spool" in client.get(f"/counter/bills/{bill.number}/").content.decode()
