"""Writing a letter of a job, saying how it went, and the shop's own text for each kind."""

from uuid import UUID

from django.db import transaction
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.jobs import job_asked_again, job_hold, job_note
from levelwind.shop.letters.links import link_make
from levelwind.shop.letters.selectors import letter_offer, one_line, price_in_words
from levelwind.shop.letters.texts import text_check
from levelwind.shop.models import Job, Letter, LetterKind, LetterText, LetterWay, Turn
from levelwind.shop.money.selectors import price_latest
from levelwind.shop.money.services.prices import price_send

LINK_WORDS = "Pictures, readings, the price and a place for your answer are here, for you alone and for some weeks:"


@transaction.atomic
def letter_text_save(*, kind: LetterKind, subject: str, body: str) -> LetterText:
    """The shop's own text from now on. Raises LevelwindError that names a field no such letter has."""
    text_check(kind, subject)
    text_check(kind, body)
    text = LetterText.objects.filter(kind=kind).first() or LetterText(kind=kind)
    text.subject, text.body = one_line(subject), body.strip()
    text.full_clean()
    text.save()
    return text


def letter_text_shipped(*, kind: LetterKind) -> None:
    """Back to the text that comes with Levelwind. Letters already written stay as they are."""
    LetterText.objects.filter(kind=kind).delete()


@transaction.atomic
def letter_write(
    *,
    job: Job,
    kind: LetterKind,
    to_email: str,
    subject: str,
    body: str,
    once: UUID,
    link: bool = False,
    by: str = "",
) -> Letter:
    """Keep a letter as it stands, with a link for the owner below it where ``link`` is said. ``once`` is of the page it
    was written on: pressed twice, it is one letter.

    Raises LevelwindError where the letter would not be true of the job as it is now.
    """
    job_hold(job)
    if written := Letter.objects.filter(once=once).first():
        return written
    if why_not := letter_offer(job, kind).why_not:
        raise LevelwindError(f"The letter “{kind.label}” would not be true: {why_not}.")
    letter = Letter(job=job, kind=kind, once=once, to_name=one_line(job.owner.name), to_email=to_email, by=by)
    letter.subject, letter.body = one_line(subject), "\n".join(body.strip().splitlines())
    if link:
        letter.body += f"\n\n{LINK_WORDS}\n{link_make(job=job, by=by)}"
    letter.price = price_latest(job) if kind in (LetterKind.PRICE, LetterKind.ASK_AGAIN) else None
    letter.price_said = price_in_words(letter.price) if letter.price else ""
    letter.full_clean()
    letter.save(force_insert=True)
    job_note(job=job, text=f"Letter written: {letter.subject}", by=by)
    return letter


@transaction.atomic
def letter_gone(*, letter: Letter, way: str, by: str = "") -> LetterWay:
    """It went by the person's own hand. A price then counts as sent, and one asked again as asked; said twice, once."""
    if way not in dict(LetterWay.BY_HAND):
        raise InputError("how it went", repr(way[:40]), " or ".join(dict(LetterWay.BY_HAND).values()))
    job_hold(letter.job)
    went = LetterWay.objects.filter(letter=letter).first() or LetterWay(letter=letter)
    if went.state == "sent":
        return went
    if went.state in ("waiting", "under_way"):
        raise LevelwindError("The mail server is to send this letter: stop that first.")
    went.way, went.state, went.sent_at, went.by = way, "sent", timezone.now(), by
    went.full_clean()
    went.save()
    job_note(job=letter.job, text=f"Letter sent {went.get_way_display()}: {letter.subject}", by=by)
    letter_follow(letter=letter, by=by)
    return went


def letter_follow(*, letter: Letter, by: str) -> None:
    """What a letter's going means for its job, as far as it is still so."""
    job, price = letter.job, letter.price
    if job.is_over or price is None or price != price_latest(job) or price.words.exists():
        return
    if letter.kind == LetterKind.PRICE and price.sent_at is None:
        price_send(price=price, by=by)
    if letter.kind == LetterKind.ASK_AGAIN and job.turn == Turn.OWNER:
        job_asked_again(job=job, by=by)


@transaction.atomic
def letter_hold_back(*, letter: Letter, by: str = "") -> None:
    """It is not to be sent. It stays to be read, and may go after all."""
    job_hold(letter.job)
    went = LetterWay.objects.filter(letter=letter).first()
    if went is None:
        LetterWay.objects.create(letter=letter, state="stopped", by=by)
    elif went.state == "sent":
        raise LevelwindError("This letter is sent.")
    elif went.state != "stopped":
        waits = LetterWay.objects.filter(pk=went.pk, state__in=("waiting", "refused"))
        if not waits.update(state="stopped", next_try_at=None):
            raise LevelwindError("It is being handed to the mail server at this moment: look again in a minute.")
        job_note(job=letter.job, text=f"Letter held back: {letter.subject}", by=by)


@transaction.atomic
def letter_not_gone(*, letter: Letter, by: str = "") -> None:
    """It has not gone after all, or is to go after all: it lies here, written, as before."""
    job_hold(letter.job)
    went = LetterWay.objects.filter(letter=letter).first()
    if went is None:
        return
    if went.state in ("waiting", "under_way") or (went.way == "server" and went.state == "sent"):
        raise LevelwindError(f"The mail server has this letter: {went.get_state_display()}.")
    if went.state == "sent":
        job_note(job=letter.job, text=f"Letter not sent after all: {letter.subject}", by=by)
    went.delete()
