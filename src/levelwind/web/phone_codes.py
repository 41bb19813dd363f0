"""A code on the screen that opens a page on the phone, signed, for two hours and without signing in."""

from datetime import UTC, datetime, timedelta
from typing import Any

import segno
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from levelwind.shop.people.safekeeping import codes_closed_at

GOOD_FOR = timedelta(hours=2)
AHEAD = timedelta(minutes=1)
"""A code made later than now by more than this was made by a clock that has gone back since: it would never age."""
RUN_OUT = "This code has run out or is not whole. Show a new one on the shop's machine and scan that."
GONE = "This reel has left the bench, so its code is closed. Pictures and readings go in on the shop's machine."
STOP_POLLING = 286
"""htmx's own answer for "ask no more"."""


def sign(what: Any, *, salt: str) -> str:
    """What the code carries: where the phone's page leads, signed, with the time it was made."""
    return signing.dumps(what, salt=salt, compress=True)


def read_signed(token: str, *, salt: str) -> Any:
    """What was signed; None where the code has run out, is not whole, comes from the future, or was closed."""
    try:
        read = signing.loads(token, salt=salt, max_age=GOOD_FOR)
    except signing.BadSignature:
        return None
    made_at = datetime.fromtimestamp(signing.b62_decode(token.rsplit(":", 2)[1]), UTC)
    closed_at = codes_closed_at()
    if made_at > timezone.now() + AHEAD or (closed_at and made_at <= closed_at):
        return None
    return read


def closed(request: HttpRequest, why: str = RUN_OUT) -> HttpResponse:
    """The page a code opens that no longer opens anything."""
    return render(request, "phone_closed.html", {"why": why}, status=410)


def square_code(address: str) -> SafeString:
    """The code as a drawing (ISO/IEC 18004), dark on light in the dark too: many phones read nothing else."""
    code = segno.make(address, error="m", micro=False)
    return mark_safe(code.svg_inline(border=4, omitsize=True, light="#fff", title="The code to scan with the phone"))
