"""What the server does with uploads that are too large, and with those a stopped server left half way."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.utilities import RequestEntityTooLarge

MOST_FROM_ANYBODY = 1_000_000
"""Bytes that are taken in before it is known who sends them: any form's own fields. Our choice."""


class SparingParser(HTTPRequestParser):  # type: ignore[misc]
    """Lets a body over the limit run past without keeping a byte, and hands the request on without it.

    So too a body of more than a form's fields from somebody who is not signed in and has no code. Answered before its
    end, a browser would show that the connection broke; so the app gets to say why in words.
    """

    expect_continue: bool
    error: Any
    _to_pass = 0
    _judged = False

    def received(self, data: bytes) -> int:
        if self._to_pass:
            taken = min(len(data), self._to_pass)
            self._to_pass -= taken
            self.completed = not self._to_pass
            return taken
        consumed: int = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge) and not self.chunked:
            self._let_pass()
        elif self.headers_finished and not self._judged:
            self._judge()
        return consumed

    def _judge(self) -> None:
        self._judged = True
        large = self.chunked or self.content_length > MOST_FROM_ANYBODY
        if self.error or not large or _may_send(self.path, self.headers.get("COOKIE", "")):
            return
        if self.chunked:
            self.error = RequestEntityTooLarge("sign in first")
            self.completed = True
        else:
            self._let_pass()

    def _let_pass(self) -> None:
        self.error, self.body_rcv = None, None
        # Who asks before sending is told at once, and sends nothing.
        self._to_pass = 0 if self.expect_continue else self.content_length
        self.completed = self.expect_continue
        if self.expect_continue:
            self.expect_continue = False
            self.headers["CONNECTION"] = "close"


def _may_send(path: str, cookies: str) -> bool:
    judge: Callable[[str, str], bool] = import_string(settings.UPLOADS_JUDGED_BY)
    return judge(path, cookies)


class SparingChannel(HTTPChannel):  # type: ignore[misc]
    parser_class = SparingParser


def clear_uploads(folder: Path) -> None:
    """Remove what was half sent when the server last stopped; what was sent whole has been moved out."""
    for left in folder.glob("*.upload*"):
        left.unlink()
