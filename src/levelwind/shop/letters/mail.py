"""Letters through the mail server: in the background, tried again with growing waits, never lost, never twice unseen.

The letter's row says where it stands; a task only brings it to a worker. Whoever moves the row from waiting to under
way sends it. What a killed worker had is put back after a while and sent again under the same Message-ID: it may then
arrive twice, which is the lesser harm, and can be seen.
"""

import logging
from collections.abc import Iterable
from datetime import timedelta

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django_tasks import task

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.jobs import job_hold, job_note
from levelwind.shop.jobs.services.notes import note_add
from levelwind.shop.letters.enclosures import enclose, enclosure_untrue
from levelwind.shop.letters.mail_server import TIMEOUT_S, Mail, NotSentError, hand_over, mail_server, message_id
from levelwind.shop.letters.selectors import letter_untrue
from levelwind.shop.letters.services import letter_follow
from levelwind.shop.models import Letter, LetterWay
from levelwind.shop.people.selectors import shop_read_once

log = logging.getLogger(__name__)

WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 720, 1440, 1440, 1440, 1440))
"""Before each further try: quick at first, then days, some five in all, as RFC 5321 4.5.4.1 advises (from memory)."""
LEASE = timedelta(seconds=10 * TIMEOUT_S)
"""A worker that had a letter longer than this was killed: a try has at most some eight answers to wait for."""
BROKEN = "Levelwind itself failed on this letter. It is kept, and the fault is in Levelwind's log."
MISSED = timedelta(minutes=1)
"""A letter due for longer than this has lost its task, as after a restore."""


@transaction.atomic
def letter_mail(*, letter: Letter, papers: Iterable[str] = (), by: str = "") -> LetterWay:
    """Have the mail server send it, beside the pages; pressed twice, once. One that was refused is tried again.

    The ``papers`` that go with it, by their keys, are put in as they are now, and kept so.
    Raises LevelwindError where there is no server, no address, a paper is not there, or it went another way.
    """
    server = mail_server()
    if server is None:
        raise LevelwindError("No mail server is set up: Counter, Letters, The mail server.")
    if not letter.to_email:
        raise LevelwindError("This letter has no e-mail address: write it again with one.")
    job_hold(letter.job)
    went = LetterWay.objects.filter(letter=letter).first() or LetterWay(letter=letter)
    if went.state in ("waiting", "under_way"):
        return went
    if went.state in ("sent", "stopped"):
        raise LevelwindError(f"This letter is {went.get_state_display()}.")
    if untrue := letter_untrue(letter):
        raise LevelwindError(f"This letter is not true any more: {untrue}. Write another one.")
    went.way, went.state, went.by, went.tries, went.said = "server", "waiting", by, 0, ""
    went.message_id = went.message_id or message_id(letter.once, server.sender)
    went.next_try_at = timezone.now()
    went.full_clean()
    went.save()
    along = enclose(went, papers)
    words = f"{letter.subject}; with it {', '.join(along)}" if along else letter.subject
    job_note(job=letter.job, text=f"Letter given to the mail server: {words}", by=by)
    letter_try.enqueue(went.pk)
    return went


@transaction.atomic
def letter_try_now(*, letter: Letter) -> None:
    """Do not wait for the next try."""
    if LetterWay.objects.filter(letter=letter, state="waiting").update(next_try_at=timezone.now()):
        letter_try.enqueue(letter.went.pk)


@task()
def letter_try(pk: int) -> str:
    """One try, by whoever takes it first."""
    went = _take(pk)
    if went is None:
        return "nothing to do"
    try:
        with shop_read_once():
            _hand_over(went)
    except NotSentError as refusal:
        _not_sent(went, refusal)
        return "not sent"
    _sent(went)
    return "sent"


def _hand_over(went: LetterWay) -> None:
    letter = went.letter
    try:
        if untrue := letter_untrue(letter) or enclosure_untrue(went):
            raise NotSentError(f"It is not true any more: {untrue}.", lasting=True)
        papers = tuple((one.file_name, bytes(one.pdf)) for one in went.enclosures.all())
        hand_over(Mail(letter.to_name, letter.to_email, letter.subject, letter.body, went.message_id, papers))
    except NotSentError:
        raise
    except Exception as error:
        log.exception("Levelwind itself failed on letter %s", letter.pk)
        raise NotSentError(BROKEN, lasting=True) from error


def _take(pk: int) -> LetterWay | None:
    now = timezone.now()
    due = LetterWay.objects.filter(pk=pk, state="waiting", next_try_at__lte=now)
    if not due.update(state="under_way", taken_at=now, tries=F("tries") + 1):
        return None
    return LetterWay.objects.select_related("letter__job", "letter__price").get(pk=pk)


def _written(went: LetterWay, **facts: object) -> bool:
    """Write what came of it, as long as it is still this worker's."""
    mine = LetterWay.objects.filter(pk=went.pk, state="under_way", taken_at=went.taken_at)
    return bool(mine.update(taken_at=None, **facts))


def _sent(went: LetterWay) -> None:
    letter = went.letter
    if not _written(went, state="sent", sent_at=timezone.now(), next_try_at=None, said=""):
        log.warning("Letter %s was sent by a worker that had been given up; Message-ID %s", letter.pk, went.message_id)
        return
    job_note(job=letter.job, text=f"Letter sent through the mail server: {letter.subject}", by=went.by)
    try:
        with transaction.atomic():
            job_hold(letter.job)
            letter_follow(letter=letter, by=went.by)
    except LevelwindError as refusal:
        job_note(job=letter.job, text=f"The letter is sent, but its job stays as it was: {refusal}")


@transaction.atomic
def _not_sent(went: LetterWay, refusal: NotSentError) -> None:
    words, given_up = str(refusal), went.tries > len(WAITS)
    if not refusal.lasting and not given_up:
        at = timezone.now() + WAITS[went.tries - 1]
        if _written(went, state="waiting", next_try_at=at, said=words):
            letter_try.using(run_after=at).enqueue(went.pk)
        return
    words = f"Given up after {went.tries} tries. {words}"[:500] if given_up else words
    if _written(went, state="refused", next_try_at=None, said=words):
        note_add(job=went.letter.job, kind="note", text=f"The letter “{went.letter.subject}” was not sent: {words}")


def letters_sweep() -> None:
    """Put back what a killed worker had, and bring a task to what is due without one."""
    now = timezone.now()
    for went in LetterWay.objects.filter(state="under_way", taken_at__lt=now - LEASE).select_related("letter__job"):
        words = f"A worker ended in try {went.tries}: if it was sent already, it comes again as {went.message_id}."
        _not_sent(went, NotSentError(words, lasting=False))
    for pk in LetterWay.objects.filter(state="waiting", next_try_at__lt=now - MISSED).values_list("pk", flat=True):
        letter_try.enqueue(pk)
