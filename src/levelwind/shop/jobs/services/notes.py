"""Notes and calls on a job: written down, and struck out where they were wrong."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.writing import moment_in_words
from levelwind.shop.jobs.services.jobs import job_hold
from levelwind.shop.models import Job, JobNote

PRESSED_TWICE = timedelta(minutes=1)
"""The same words by the same person within this are one note; our choice, longer than a slow page."""


@transaction.atomic
def note_add(
    *, job: Job, kind: str, outcome: str = "", text: str = "", at: datetime | None = None, by: str = ""
) -> JobNote:
    """Write a note or a call down, now or as of an earlier hour; pressed twice it is one.

    Raises LevelwindError for a note without words, a call without what came of it, or an hour that is still to come.
    """
    now, text, outcome = timezone.now(), text.strip(), outcome if kind == "called" else ""
    if kind == "called" and not outcome:
        raise LevelwindError("Choose what came of the call: you spoke, left a message, or nobody answered.")
    if not text and kind != "called":
        raise LevelwindError("Write what is to be noted.")
    if at and at > now:
        raise InputError("when", f"{moment_in_words(timezone.localtime(at))}", "now or earlier")
    job_hold(job)
    lately = job.notes.filter(kind=kind, outcome=outcome, text=text, by=by, struck_at=None)
    same = lately.filter(at=at) if at else lately.filter(at__gt=now - PRESSED_TWICE)
    if written := same.first():
        return written
    note = JobNote(job=job, kind=kind, outcome=outcome, text=text, at=at or now, by=by)
    note.full_clean()
    note.save(force_insert=True)
    return note


@transaction.atomic
def note_strike(*, note: JobNote, why: str = "", by: str = "") -> JobNote:
    """Strike a note out. It stays, with who struck it and why; said again, nothing changes."""
    if note.struck_at is None:
        note.struck_at, note.struck_by, note.struck_why = timezone.now(), by, why.strip()
        note.full_clean()
        note.save(update_fields=["struck_at", "struck_by", "struck_why"])
    return note


@transaction.atomic
def note_let_stand(*, note: JobNote) -> JobNote:
    """It was right after all."""
    note.struck_at, note.struck_by, note.struck_why = None, "", ""
    note.save(update_fields=["struck_at", "struck_by", "struck_why"])
    return note
