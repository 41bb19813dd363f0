"""Letters through a real mail server on this machine: taken, refused, down and up, killed midway, hostile heads."""

import email
import email.policy
import socket
import stat
from collections.abc import Iterator
from datetime import timedelta
from email.message import EmailMessage
from uuid import uuid4

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, Envelope, LoginPassword, Session
from django.conf import settings as built
from django.db import DatabaseError, transaction
from django.test import Client
from django.utils import timezone
from django_tasks_db.management.commands import db_worker
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.jobs import job_get
from levelwind.shop.letters import mail
from levelwind.shop.letters.mail import LEASE, WAITS, letter_mail, letter_try_now, letters_sweep
from levelwind.shop.letters.mail_server import Mail, NotSentError, hand_over, password_file, password_keep
from levelwind.shop.letters.services import letter_gone, letter_hold_back, letter_not_gone, letter_write
from levelwind.shop.models import Enclosure, Job, Letter, LetterKind, LetterWay, MailServer, Price, Shop, Stage
from levelwind.shop.money.selectors import DraftLine
from levelwind.shop.money.services.bills import bill_draft_save, bill_make, bill_void
from levelwind.shop.money.services.prices import price_line_add
from levelwind.shop.queue import work_off
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


class Postbox:
    """Takes what it is given, but for those it knows not; can be busy."""

    def __init__(self) -> None:
        self.taken: list[EmailMessage] = []
        self.to: list[str] = []
        self.busy = False

    async def handle_RCPT(self, server: SMTP, session: Session, envelope: Envelope, to: str, options: list[str]) -> str:
        if to.startswith("nobody"):
            return "550 5.1.1 No such person here"
        envelope.rcpt_tos.append(to)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        if self.busy:
            return "451 4.3.0 Busy, come again"
        self.to += envelope.rcpt_tos
        assert isinstance(envelope.content, bytes)
        self.taken.append(email.message_from_bytes(envelope.content, policy=email.policy.default))  # type: ignore[arg-type]
        return "250 2.0.0 Taken"


def _only_ines(server: SMTP, session: Session, envelope: Envelope, way: str, said: LoginPassword) -> AuthResult:
    return AuthResult(success=said == LoginPassword(b"ines", b"brass & line"), handled=False)


@pytest.fixture(autouse=True)
def one_connection(monkeypatch: pytest.MonkeyPatch) -> None:
    """A test lives within one transaction: the worker must not lay down its connection between two tasks."""
    monkeypatch.setattr(db_worker, "close_old_connections", lambda: None)


def served(port: int, postbox: Postbox) -> Controller:
    server = Controller(
        postbox, hostname="127.0.0.1", port=port, authenticator=_only_ines, auth_require_tls=False, auth_required=False
    )
    server.start()
    return server


@pytest.fixture
def postbox() -> Iterator[Controller]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = served(port, Postbox())
    MailServer.objects.create(pk=1, host="127.0.0.1", port=port, security="none", sender="bench@example.org")
    yield server
    if server.loop.is_running():
        server.stop()


@pytest.fixture
def letter(tmp_path: object, settings: Settings) -> Letter:
    settings.SHARED = tmp_path
    Shop.objects.create(pk=1, name="Bench, Søn & Co", email="bench@example.org")
    job = a_job(stage=Stage.LOOKED_OVER)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="work", text="Service", low_minor=4000, likely_minor=4000, high_minor=4000)
    return a_letter(job)


def a_letter(job: Job, kind: LetterKind = LetterKind.PRICE, **said: str) -> Letter:
    given = {"to_email": "ansa+reel@example.org", "subject": "What it costs", "body": "Zürich\n.\nlast"} | said
    return letter_write(job=job_get(job.tag), kind=kind, once=uuid4(), **given)


def went(letter: Letter) -> LetterWay:
    return LetterWay.objects.get(letter=letter)


def test_a_letter_is_sent_once_beside_the_pages_and_moves_its_job(postbox: Controller, letter: Letter) -> None:
    for _ in range(2):
        letter_mail(letter=letter, by="ines")
    assert went(letter).state == "waiting" and not postbox.handler.taken
    with pytest.raises(LevelwindError, match="stop that first"):
        letter_gone(letter=letter, way="post")
    work_off()
    mail.letter_try.enqueue(went(letter).pk)  # a second task for the same letter finds nothing to do
    work_off()
    (taken,) = postbox.handler.taken
    assert (taken["To"], taken["Subject"]) == ("Ansa Vell <ansa+reel@example.org>", "What it costs")
    assert taken["From"].addresses[0].display_name == "Bench, Søn & Co"
    assert taken.get_content().splitlines() == ["Zürich", ".", "last"]
    row = went(letter)
    assert (row.state, row.tries, taken["Message-ID"]) == ("sent", 1, row.message_id)
    assert row.message_id == f"<{letter.once.hex}@example.org>"
    assert job_get("26-0001").stage == Stage.PRICE_SENT
    with pytest.raises(LevelwindError, match="has this letter: sent"):
        letter_not_gone(letter=letter)


def test_the_paper_a_letter_speaks_of_goes_with_it_and_is_kept_as_it_went(
    client: Client, postbox: Controller, letter: Letter
) -> None:
    """As PDF, which ISO 32000-1 7.5.2 begins with %PDF-; found in the mail by the standard library."""
    there = f"/jobs/26-0001/letters/{letter.pk}/"
    shown = client.get(there).content.decode()
    assert 'value="price" checked' in shown and "Look at Price 1" in shown
    assert "not in the book any more" in _went(client, there, paper="bill-1")
    _went(client, there, paper="price")
    kept = Enclosure.objects.get()
    assert bytes(kept.pdf).startswith(b"%PDF-")
    price_line_add(price=letter.price, kind="work", text="More", low_minor=100, likely_minor=100, high_minor=100)
    work_off()
    assert went(letter).said == "It is not true any more: the price is $41.00 now." and not postbox.handler.taken
    letter.price.lines.last().delete()
    assert 'value="price" checked' in client.get(there).content.decode()  # as it was to go
    _went(client, there, paper="price")
    work_off()
    (taken,) = postbox.handler.taken
    kept, (paper,) = Enclosure.objects.get(), taken.iter_attachments()
    assert (paper.get_content_type(), paper.get_filename()) == ("application/pdf", "price-26-0001-1.pdf")
    assert paper.get_content() == bytes(kept.pdf) == client.get(f"{there}with/{kept.pk}/").content
    assert taken.get_body().get_content().splitlines() == ["Zürich", ".", "last"]
    assert "With it went" in client.get(there).content.decode()
    with pytest.raises(DatabaseError, match="kept as it went"), transaction.atomic():
        Enclosure.objects.update(pdf=b"")

    bill_draft_save(job=letter.job, lines=[DraftLine("work", "Service", 4000)])
    bill = bill_make(job=letter.job)
    other = a_letter(letter.job, LetterKind.OTHER)
    there = f"/jobs/26-0001/letters/{other.pk}/"
    assert f"Bill {bill.number}" in client.get(there).content.decode() and " checked> <span>Bill" not in shown
    letter_mail(letter=other, papers=[f"bill-{bill.pk}"])
    bill_void(bill=bill, why="wrong")
    work_off()
    assert went(other).said == f"It is not true any more: bill {bill.number} is void."
    _went(client, there)  # the paper is left off
    work_off()
    assert went(other).state == "sent" and not list(postbox.handler.taken[-1].iter_attachments())


def _went(client: Client, there: str, **more: str) -> str:
    return client.post(f"{there}went/", {"does": "mail"} | more, follow=True).content.decode()


def test_a_refusal_stands_in_the_servers_own_words_and_is_tried_again_by_a_press(
    client: Client, postbox: Controller, letter: Letter
) -> None:
    wrong = a_letter(letter.job, to_email="nobody@example.org")
    there = f"/jobs/26-0001/letters/{wrong.pk}/"
    assert "Send it through the mail server" in client.get(there).content.decode()
    client.post(f"{there}went/", {"does": "mail"})
    assert "waits to be sent" in client.get(there).content.decode()
    work_off()
    assert (went(wrong).state, went(wrong).said) == ("refused", "550 5.1.1 No such person here")
    assert "550 5.1.1 No such person here" in client.get(there).content.decode()
    assert "was not sent" in client.get("/jobs/26-0001/price/").content.decode()  # in the job's head
    assert "550 5.1.1" in client.get("/counter/letters/").content.decode()
    client.post(f"{there}went/", {"does": "mail"})
    work_off()
    assert went(wrong).state == "refused" and job_get("26-0001").stage == Stage.LOOKED_OVER
    client.post(f"{there}went/", {"does": "hold"})
    client.post(f"{there}went/", {"does": "not_gone"})
    client.post(f"{there}went/", {"does": "gone", "way": "post"})
    assert (went(wrong).state, went(wrong).way) == ("sent", "post")


def test_a_server_that_is_down_or_busy_is_tried_again_with_growing_waits(postbox: Controller, letter: Letter) -> None:
    postbox.stop()
    letter_mail(letter=letter)
    work_off()
    row = went(letter)
    assert (row.state, row.tries) == ("waiting", 1) and "does not answer" in row.said
    assert row.next_try_at is not None and timedelta() < row.next_try_at - timezone.now() <= WAITS[0]
    work_off()  # not yet
    assert went(letter).tries == 1
    assert list(WAITS) == sorted(WAITS) and timedelta(days=4) < sum(WAITS, timedelta()) < timedelta(days=6)

    up_again = served(postbox.port, postbox.handler)
    postbox.handler.busy = True
    letter_try_now(letter=letter)
    work_off()
    assert (went(letter).state, went(letter).said) == ("waiting", "451 4.3.0 Busy, come again")
    letter_hold_back(letter=letter)
    letter_try_now(letter=letter)
    postbox.handler.busy = False
    work_off()
    assert went(letter).state == "stopped" and not postbox.handler.taken

    letter_not_gone(letter=letter)
    letter_mail(letter=letter)
    LetterWay.objects.update(tries=len(WAITS))
    postbox.handler.busy = True
    work_off()
    assert went(letter).state == "refused" and went(letter).said.startswith("Given up after 11 tries. 451")
    up_again.stop()


def test_what_a_killed_worker_had_is_taken_up_by_another_and_seen(postbox: Controller, letter: Letter) -> None:
    letter_mail(letter=letter)
    taken = mail._take(went(letter).pk)
    assert taken is not None
    DBTaskResult.objects.all().delete()  # its task ended with it
    letters_sweep()
    work_off()
    assert went(letter).state == "under_way"  # the worker may still be at it
    with pytest.raises(LevelwindError, match="at this moment"):
        letter_hold_back(letter=letter)

    hand_over(
        Mail("Ansa", letter.to_email, letter.subject, letter.body, taken.message_id)
    )  # killed before it was noted
    LetterWay.objects.update(taken_at=timezone.now() - LEASE - timedelta(seconds=1))
    letters_sweep()
    assert "comes again as <" in went(letter).said
    letter_try_now(letter=letter)
    work_off()
    assert (went(letter).state, went(letter).tries) == ("sent", 2)
    assert len({one["Message-ID"] for one in postbox.handler.taken}) == 1 and len(postbox.handler.taken) == 2
    mail._not_sent(taken, NotSentError("late", lasting=True))  # the first one, back from the dead, changes nothing
    assert went(letter).state == "sent"

    restored = a_letter(letter.job)
    letter_mail(letter=restored)
    DBTaskResult.objects.all().delete()
    LetterWay.objects.filter(letter=restored).update(next_try_at=timezone.now() - timedelta(hours=1))
    letters_sweep()
    work_off()
    assert went(restored).state == "sent"


def test_what_became_untrue_while_it_waited_is_not_sent(
    postbox: Controller, letter: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    letter_mail(letter=letter)
    Price.objects.create(job=letter.job, number=2)
    work_off()
    assert went(letter).said == "It is not true any more: there is a newer price." and not postbox.handler.taken
    with pytest.raises(LevelwindError, match="newer price"):
        letter_mail(letter=letter)
    monkeypatch.setattr(mail, "hand_over", lambda said: 1 / 0)
    other = a_letter(letter.job, LetterKind.OTHER)
    letter_mail(letter=other)
    work_off()
    assert (went(other).state, went(other).said) == ("refused", mail.BROKEN)
    with pytest.raises(LevelwindError, match="no e-mail address"):
        letter_mail(letter=Letter(to_email=""))


def test_no_line_end_gets_into_a_head_and_odd_addresses_arrive(postbox: Controller, letter: Letter) -> None:
    """RFC 5322 heads end at a line end; RFC 5891 names a domain of other letters by its xn-- form."""
    evil = "x\r\nBcc: all@example.org\n\nbody"
    hand_over(Mail(evil, "ansa@example.org", evil, "text", "<1@example.org>\r\nX-Evil: 1"))
    hand_over(Mail('Vell, Ansa "A" <b>', "o'vell@bücher.example", "Fish 日本", "…", "<2@example.org>"))
    first, second = postbox.handler.taken
    assert first["Bcc"] is None and first["X-Evil"] is None and first["Subject"] == "x Bcc: all@example.org body"
    assert postbox.handler.to == ["ansa@example.org", "o'vell@xn--bcher-kva.example"]
    assert second["To"].addresses[0].display_name == 'Vell, Ansa "A" <b>' and second["Subject"] == "Fish 日本"
    with pytest.raises(NotSentError, match="cannot be made into a mail"):
        hand_over(Mail("x", "a@example.org\r\nRCPT TO:<b@example.org>", "s", "b", "<3@example.org>"))
    assert len(postbox.handler.to) == 2


def test_the_password_lies_beside_the_book_and_nowhere_else(
    client: Client, postbox: Controller, letter: Letter
) -> None:
    there, secret = "/counter/mail/", "brass & line"
    said = {"host": "127.0.0.1", "port": postbox.port, "security": "none", "account": "ines"}
    said |= {"sender": "bench@example.org", "password": secret}
    assert client.post(there, said).status_code == 302
    assert stat.S_IMODE(password_file().stat().st_mode) == 0o600
    assert client.post(there, said | {"password": ""}).status_code == 302  # the one that is kept stays
    assert "127.0.0.1 took it" in client.post("/counter/mail/try/", follow=True).content.decode()
    assert postbox.handler.to == ["bench@example.org"]
    assert "brass" not in client.get(there).content.decode()
    assert not any("brass" in str(value) for value in MailServer.objects.values().get().values())
    password_keep("wrong")
    answer = client.post("/counter/mail/try/", follow=True).content.decode()
    assert "535 5.7.8 Authentication credentials invalid" in answer and "wrong" not in answer

    assert "would cross the network" in client.post(there, said | {"host": "mail.example.org"}).content.decode()
    assert client.post(there, said | {"port": "99999"}).status_code == 422
    MailServer.objects.update(security="starttls")  # which this server does not speak
    letter_mail(letter=letter)
    work_off()
    assert went(letter).state == "refused" and "STARTTLS" in went(letter).said
    client.post("/counter/mail/away/")
    assert not password_file().exists() and not MailServer.objects.exists()
    log = built.DATA / "levelwind.log"
    assert not log.exists() or secret not in log.read_text()
