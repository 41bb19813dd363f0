"""Drawing a page: one template, one frozen context."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from levelwind.core.errors import LevelwindError
from levelwind.shop.selectors.shops import shop_get


def page(request: HttpRequest, template: str, context: Any, *, status: int = 200) -> HttpResponse:
    """The page, with its context as ``page`` and the shop as ``shop``."""
    return render(request, template, {"page": context, "shop": shop_get()}, status=status)


def refused(request: HttpRequest, refusal: LevelwindError | str, *, status: int = 422) -> HttpResponse:
    """A page of its own that says what was refused and why, with the way back."""
    return page(request, "refused.html", str(refusal), status=status)
