"""The shop's own mail server: where its settings and its password lie, and handing one letter to it.

What speaks to it is imported as it is needed: the app opens sooner.
"""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

from django.conf import settings

from levelwind.core.errors import LevelwindError
from levelwind.shop.letters.selectors import one_line
from levelwind.shop.models import MailServer
from levelwind.shop.people.selectors import shop_get

if TYPE_CHECKING:
    from django.core.mail import EmailMessage
    from django.core.mail.backends.smtp import EmailBackend

TIMEOUT_S = 30.0
"""Without an answer for so long, a try has failed. RFC 5321 4.5.3.2 allows minutes (from memory)."""
LASTING = range(500, 600)
"""A reply of these numbers will not change by waiting (RFC 5321 4.2.1, from memory)."""


class NotSentError(LevelwindError):
    """The mail server did not take it, in its own words; ``lasting`` where waiting alone will not help."""

    def __init__(self, words: str, *, lasting: bool) -> None:
        super().__init__(one_line(words)[:500])
        self.lasting = lasting


@dataclass(frozen=True, slots=True)
class Mail:
    """One mail to one person; ``message_id`` tells the same letter from another wherever it arrives."""

    to_name: str
    to_email: str
    subject: str
    body: str
    message_id: str
    papers: tuple[tuple[str, bytes], ...] = ()
    """Each with its file's name, as PDF."""


def mail_server() -> MailServer | None:
    return MailServer.objects.first()


def password_file() -> Path:
    """Beside the book and not in it: neither a backup nor an export holds it."""
    return Path(settings.SHARED) / "mail-password"


def password_kept() -> str:
    if said := os.environ.get("LEVELWIND_MAIL_PASSWORD"):
        return said
    file = password_file()
    return file.read_text(encoding="utf-8") if file.exists() else ""


def password_keep(password: str) -> None:
    """Keep it for this account of the machine alone; none takes it away."""
    file = password_file()
    file.unlink(missing_ok=True)
    if password:
        file.touch(mode=0o600)
        file.write_text(password, encoding="utf-8")


def message_id(once: UUID, sender: str) -> str:
    """By RFC 5322 3.6.4: unique to the letter, and the same at each try.

    >>> message_id(UUID(int=17), "bench@example.org")
    '<00000000000000000000000000000011@example.org>'
    """
    return f"<{once.hex}@{_in_ascii(sender).rpartition('@')[2]}>"


def _in_ascii(address: str) -> str:
    """An address whose domain is written in ASCII, as RFC 5891 has it; what stands before the @ is the server's own."""
    name, _, domain = address.rpartition("@")
    return f"{name}@{domain.encode('idna').decode()}"


def mail_server_forget() -> None:
    """No mail server from now on, and no password kept."""
    MailServer.objects.all().delete()
    password_keep("")


def hand_over(mail: Mail) -> None:
    """Give one mail to the server; it is sent once this returns. Raises NotSentError in the server's words."""
    from django.core.mail.backends.smtp import EmailBackend

    server = mail_server()
    if server is None:
        raise NotSentError("No mail server is set up.", lasting=True)
    password = password_kept()
    if server.account and not password:
        raise NotSentError("This machine does not have the mail account’s password.", lasting=True)
    post = EmailBackend(
        host=server.host,
        port=server.port,
        username=server.account,
        password=password if server.account else "",
        use_tls=server.security == "starttls",
        use_ssl=server.security == "tls",
        timeout=TIMEOUT_S,
        fail_silently=False,
    )
    try:
        post.open()
        post.send_messages([_message(mail, server)])
    except Exception as error:
        raise _in_words(error) from error
    finally:
        _hang_up(post)


def _hang_up(post: "EmailBackend") -> None:
    """A goodbye that fails takes nothing back: the server has answered already."""
    import smtplib

    connection, post.connection = post.connection, None
    if connection is not None:
        try:
            connection.quit()
        except (smtplib.SMTPException, OSError):
            connection.close()


def _message(mail: Mail, server: MailServer) -> "EmailMessage":
    """No line end gets into a head of the mail, wherever it came from."""
    from email.utils import formataddr

    from django.core.mail import EmailMessage

    message = EmailMessage(
        subject=one_line(mail.subject),
        body=mail.body,
        from_email=formataddr((one_line(shop_get().name), _in_ascii(server.sender))),
        to=[formataddr((one_line(mail.to_name), _in_ascii(mail.to_email)))],
        headers={"Message-ID": one_line(mail.message_id)},
    )
    for name, pdf in mail.papers:
        message.attach(one_line(name), pdf, "application/pdf")
    return message


def _in_words(error: Exception) -> NotSentError:
    import smtplib
    import ssl

    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, words = next(iter(error.recipients.values()))
        return _reply(code, words)
    if isinstance(error, smtplib.SMTPResponseException):
        return _reply(error.smtp_code, error.smtp_error)
    if isinstance(error, smtplib.SMTPNotSupportedError):
        return NotSentError(f"The server cannot do this: {error}", lasting=True)
    if isinstance(error, ssl.SSLCertVerificationError):
        return NotSentError(f"The server does not prove that it is itself: {error.verify_message}", lasting=True)
    if isinstance(error, (OSError, smtplib.SMTPException)):
        return NotSentError(f"The server does not answer: {error}", lasting=False)
    return NotSentError(f"This letter cannot be made into a mail: {error}", lasting=True)


def _reply(code: int, words: bytes | str) -> NotSentError:
    said = words.decode("utf-8", "replace") if isinstance(words, bytes) else words
    return NotSentError(f"{code} {said}", lasting=code in LASTING)
