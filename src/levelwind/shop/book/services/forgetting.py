"""An owner who asks to be forgotten: who they are goes, the books stay.

Reels, work, readings, bills and the ledger stay under a number in the name's place. Letters, notes, calls and links go,
and so do the rows that are kept of a list that named them.
"""

from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.packed import unpacked
from levelwind.shop.models import (
    OPEN,
    Deed,
    Draft,
    Findable,
    FindableWord,
    Import,
    Job,
    JobEvent,
    JobNote,
    Letter,
    Owner,
    OwnerLink,
    Parcel,
    Sending,
)
from levelwind.shop.people.selectors import owner_owes

SHORTEST = 4
"""Letters of a name or number from which it is looked for in other texts. Our choice: "Al" stands in every word."""


def _why_not(owner: Owner) -> str:
    """Why the owner cannot be forgotten yet; empty where they can."""
    if owner.kind:
        return "it is nobody in particular"
    if owner.merged_into_id:
        return f"it is the same as {owner.merged_into}: forget that one"
    if owner.jobs.filter(stage__in=OPEN).exists():
        return "a reel of theirs is still here"
    if owner_owes(owner):
        return "money is still owed, by them or to them"
    return ""


@transaction.atomic
def owner_forget(*, owner: Owner) -> Owner:
    """Nothing in the book says any more who this owner was. Asked again, nothing is done. There is no way back.

    Raises LevelwindError while a reel is here or money is owed.
    """
    owner = Owner.objects.select_for_update().get(pk=owner.pk)
    if owner.forgotten_on:
        return owner
    if why_not := _why_not(owner):
        raise LevelwindError(f"{owner} cannot be forgotten yet: {why_not}.")
    every = [owner, *owner.merged_from.all()]
    _out_of_the_lists(every)
    jobs = Job.objects.filter(owner=owner)
    _out_of_the_texts(every, jobs)
    Letter.objects.filter(job__in=jobs).delete()
    JobNote.objects.filter(job__in=jobs).delete()
    OwnerLink.objects.filter(job__in=jobs).delete()
    Parcel.objects.filter(owner__in=every).update(tracking="", note="")
    Sending.objects.filter(job__in=jobs).update(tracking="", follow_up_note="")
    Deed.objects.filter(kind="owner", ref__in=[one.pk for one in every]).delete()
    for draft in Draft.objects.filter(data__owner__in=[one.pk for one in every]):
        draft.delete()
    words = {word for one in every for word in one.name.casefold().split()}
    for one in every:
        # not saved row by row: a history of what stood there would keep it
        Owner.objects.filter(pk=one.pk).update(
            name=_nobody(one), email="", phone="", address="", note="", went_over={}, forgotten_on=timezone.localdate()
        )
    for word in words:
        if not Findable.objects.filter(name__icontains=word).exists():
            FindableWord.objects.filter(word=word).delete()
    owner.refresh_from_db()
    return owner


def _nobody(owner: Owner) -> str:
    return f"Forgotten owner {owner.pk}"


def _out_of_the_lists(every: Sequence[Owner]) -> None:
    """Raises LevelwindError for a list that names them and is not in the book yet: somebody is at work on it."""
    told = {each.casefold() for one in every for each in (one.name, one.email, one.phone) if each}
    for kept in Import.objects.exclude(rows=b"", refused_rows=b""):
        rows = f"{unpacked(kept.rows)} {unpacked(kept.refused_rows)}".casefold()
        if not any(words in rows for words in told):
            continue
        if kept.state in ("open", "under_way"):
            raise LevelwindError(f"The list {kept} names {every[0]} and is not in the book yet: put it aside first.")
        Import.objects.filter(pk=kept.pk).update(data=b"", rows=b"", refused_rows=b"")


def _out_of_the_texts(every: Sequence[Owner], jobs: QuerySet[Job]) -> None:
    """Names, telephones, e-mails and addresses out of the jobs' histories and the proof sheets kept as they went."""
    instead: dict[str, str] = {}
    for one in every:
        told = [one.email, one.phone, *(line.strip() for line in one.address.splitlines())]
        instead |= {one.name: _nobody(one)} | {each: "" for each in told if len(each) >= SHORTEST}
    for event in JobEvent.objects.filter(job__in=jobs):
        if (text := _without(event.text, instead)) != event.text:
            JobEvent.objects.filter(pk=event.pk).update(text=text[:300])
    for sending in Sending.objects.filter(job__in=jobs).exclude(proof={}):
        Sending.objects.filter(pk=sending.pk).update(proof=_without(sending.proof, instead))
    for job in jobs.all():
        texts = {name: _without(getattr(job, name), instead) for name in ("complaint", "came_with", "done_note")}
        Job.objects.filter(pk=job.pk).update(**texts)


def _without(kept: Any, instead: dict[str, str]) -> Any:
    """The same, however deep, with each of these texts replaced by the other."""
    if isinstance(kept, dict):
        return {key: _without(value, instead) for key, value in kept.items()}
    if isinstance(kept, list):
        return [_without(value, instead) for value in kept]
    if isinstance(kept, str):
        for gone, there in instead.items():
            kept = kept.replace(gone, there)
    return kept
