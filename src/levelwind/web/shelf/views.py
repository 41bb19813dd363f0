"""The shelf: parts, how many, where they lie, what they cost."""

from dataclasses import dataclass

from django.core.paginator import Page
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Part
from levelwind.shop.parts.selectors.bones import bone_list
from levelwind.shop.parts.selectors.shelf import VIEWS, part_orders_open, parts_found, parts_with_stock
from levelwind.shop.parts.services.shelf import part_add
from levelwind.web.pages import leaf, page, spoken
from levelwind.web.requests import Request
from levelwind.web.shelf.forms import NewPartForm

PARTS_A_PAGE = 50


@dataclass(frozen=True, slots=True)
class ShelfContext:
    parts: Page[Part]
    words: str
    view: str
    views: list[tuple[str, str]]
    query: str
    orders: int
    bones: int
    new: NewPartForm


def shelf_context(request: Request, new: NewPartForm | None = None) -> ShelfContext:
    words, view = request.GET.get("q_part", "").strip()[:80], request.GET.get("view", "")
    query = request.GET.copy()
    query.pop("page", None)
    return ShelfContext(
        parts=leaf(parts_found(words=words, view=view), PARTS_A_PAGE, request.GET.get("page"), parts_with_stock()),
        words=words,
        view=view,
        views=VIEWS,
        query=query.urlencode(),
        orders=part_orders_open().count(),
        bones=bone_list().count(),
        new=new or NewPartForm(),
    )


def shelf_page(request: Request) -> HttpResponse:
    return page(request, "shelf/shelf.html", shelf_context(request))


@require_POST
def part_add_act(request: Request) -> HttpResponse:
    form = NewPartForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            part = part_add(
                number=given["number"],
                name=given["name"],
                kind=given["kind"],
                spot=given["spot"],
                price_minor=given["price_minor"] or 0,
                count=given["count"],
                by=request.user.get_username(),
            )
            return redirect("part", part.pk)
        except LevelwindError as refusal:
            form.add_error("number", spoken(refusal))
    return page(request, "shelf/shelf.html", shelf_context(request, form), status=422)
