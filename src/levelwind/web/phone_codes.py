"""A code on the screen that opens a page on the phone, signed, for two hours and without signing in."""

from datetime import timedelta
from typing import Any

import segno
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe

GOOD_FOR = timedelta(hours=2)
RUN_OUT = "This code has run out or is not whole. Show a new one on the shop's machine and scan that."
STOP_POLLING = 286
"""htmx's own answer for "ask no more"."""


def sign(what: Any, *, salt: str) -> str:
    """What the code carries: where the phone's page leads, signed, with the time it was made."""
    return signing.dumps(what, salt=salt, compress=True)


def read_signed(token: str, *, salt: str) -> Any:
    """What was signed; None where the code has run out or is not whole."""
    try:
        return signing.loads(token, salt=salt, max_age=GOOD_FOR)
    except signing.BadSignature:
        return None


def closed(request: HttpRequest, why: str = RUN_OUT) -> HttpResponse:
    """The page a code opens that no longer opens anything."""
    return render(request, "phone_closed.html", {"why": why}, status=410)


def square_code(address: str) -> SafeString:
    """The code as a drawing (ISO/IEC 18004), dark on light in the dark too: many phones read nothing else."""
    code = segno.make(address, error="m", micro=False)
    return mark_safe(code.svg_inline(border=4, omitsize=True, light="#fff", title="The code to scan with the phone"))
