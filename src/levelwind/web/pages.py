"""Drawing a page: one template, one frozen context."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from levelwind.core.errors import LevelwindError
from levelwind.shop.people.selectors import shop_get

PHONES = ("/m/", "/p/")
"""Under these lie the pages that a code on the screen opens, without signing in: they show no way into the shop."""


def page(request: HttpRequest, template: str, context: Any, *, status: int = 200) -> HttpResponse:
    """The page, with its context as ``page`` and the shop as ``shop``."""
    return render(request, template, {"page": context, "shop": shop_get()}, status=status)


def refused(request: HttpRequest, refusal: LevelwindError | str, *, status: int = 422) -> HttpResponse:
    """A page of its own that says what was refused and why, with the way back."""
    phone = request.path_info.startswith(PHONES)
    came_from = request.path if phone and request.method == "POST" else "" if phone else "/"
    context = {
        "page": str(refusal),
        "shop": shop_get(),
        "frame": "phone_frame.html" if phone else "base.html",
        "back": request.META.get("HTTP_REFERER") or came_from,
    }
    return render(request, "refused.html", context, status=status)
