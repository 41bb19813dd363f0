"""A request as the app's middleware hands it to a view, and what is read from its words."""

from django.http import HttpRequest, QueryDict
from django_htmx.middleware import HtmxDetails

LONGEST_KEY = 12
"""Figures in a row's key that a page may send; our choice, far more rows than a shop will ever have."""


class Request(HttpRequest):
    """``htmx`` is true where a page asks for a part of itself, false where a browser asks for the whole."""

    htmx: HtmxDetails


def key_in(text: str | None) -> int:
    """A row's key as a page sends it; 0, which no row has, for anything else.

    >>> key_in("17"), key_in("17 or 1"), key_in(None)
    (17, 0, 0)
    """
    return int(text) if text and text.isdecimal() and len(text) <= LONGEST_KEY else 0


def seen(typed: QueryDict, name: str) -> int | None:
    """A number that stood on the page that was pressed, so that two presses do not count twice; None of one without."""
    return key_in(typed.get(name)) if name in typed else None


def sent(request: Request) -> QueryDict | None:
    """What a form's page sent, even where that is nothing at all; None where the page is only looked at."""
    return request.POST if request.method == "POST" else None
