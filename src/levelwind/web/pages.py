"""Drawing a page: one template, one frozen context."""

from typing import Any, TypeVar

from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.people.selectors import shop_get

Row = TypeVar("Row", bound=Model)

PHONES = ("/m/", "/p/", "/o/")
"""Under these lie the pages that a code on the screen or an owner's link opens without signing in: they show no way
into the shop."""


def page(request: HttpRequest, template: str, context: Any, *, status: int = 200) -> HttpResponse:
    """The page, with its context as ``page`` and the shop as ``shop``."""
    return render(request, template, {"page": context, "shop": shop_get()}, status=status)


def leaf(rows: QuerySet[Row], most: int, asked: str | None, read: QuerySet[Row] | None = None) -> Page[Row]:
    """The page asked for, of so many rows at ``most``: found by their keys alone, and only then read.

    The pages before it are so counted off an index, and what is told of each row is asked of these alone: by ``read``,
    where that is another question.
    """
    shown: Page[Row] = Paginator(rows, most).get_page(asked)
    keys = (
        list(rows[shown.start_index() - 1 : shown.end_index()].values_list("pk", flat=True))
        if shown.paginator.count
        else []
    )
    found = (rows if read is None else read).in_bulk(keys)
    shown.object_list = [found[key] for key in keys if key in found]
    return shown


def spoken(refusal: LevelwindError) -> str:
    """The refusal as a person reads it on a page: what to enter, then what was there. A terminal says it otherwise.

    >>> spoken(InputError("count", "“x”", "a whole number, such as 2"))
    'Count can be a whole number, such as 2. It was “x”.'
    >>> spoken(InputError("sum", "empty", "more than 0"))
    'Enter the sum: more than 0.'
    >>> spoken(LevelwindError("the gear is on order, so it is not missing"))
    'The gear is on order, so it is not missing.'
    """
    words = str(refusal)
    if isinstance(refusal, InputError):
        allowed = str(refusal.allowed).rstrip(".")
        nothing = str(refusal.was) in ("", "empty", "nothing", "none", "None")
        words = (
            f"enter the {refusal.what.removeprefix('the ')}: {allowed}"
            if nothing
            else (f"{refusal.what} can be {allowed}. It was {refusal.was}")
        )
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def refused(request: HttpRequest, refusal: LevelwindError | str, *, status: int = 422) -> HttpResponse:
    """A page of its own that says what was refused and why, with the way back."""
    phone = request.path_info.startswith(PHONES)
    came_from = request.path if phone and request.method == "POST" else "" if phone else "/"
    context = {
        "page": spoken(refusal) if isinstance(refusal, LevelwindError) else refusal,
        "shop": shop_get(),
        "frame": "phone_frame.html" if phone else "base.html",
        "back": request.META.get("HTTP_REFERER") or came_from,
    }
    return render(request, "refused.html", context, status=status)
