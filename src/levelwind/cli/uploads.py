"""What the server does with uploads that are too large, and with those a stopped server left half way."""

from pathlib import Path

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.utilities import RequestEntityTooLarge


class SparingParser(HTTPRequestParser):  # type: ignore[misc]
    """Lets a body over the limit run past without keeping a byte, and hands the request on without it.

    Answered before its end, a browser would show that the connection broke; so the app gets to say why in words.
    """

    expect_continue: bool
    _to_pass = 0

    def received(self, data: bytes) -> int:
        if self._to_pass:
            taken = min(len(data), self._to_pass)
            self._to_pass -= taken
            self.completed = not self._to_pass
            return taken
        consumed: int = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge) and not self.chunked:
            self._let_pass()
        return consumed

    def _let_pass(self) -> None:
        self.error, self.body_rcv = None, None
        # Who asks before sending is told at once, and sends nothing.
        self._to_pass = 0 if self.expect_continue else self.content_length
        self.completed = self.expect_continue
        if self.expect_continue:
            self.expect_continue = False
            self.headers["CONNECTION"] = "close"


class SparingChannel(HTTPChannel):  # type: ignore[misc]
    parser_class = SparingParser


def clear_uploads(folder: Path) -> None:
    """Remove what was half sent when the server last stopped; what was sent whole has been moved out."""
    for left in folder.glob("*.upload*"):
        left.unlink()
