"""Who did what to an owner, a part, a pattern or a bill, and when."""

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.urls import path
from django.views.decorators.http import require_safe

from levelwind.shop.history import deeds_of
from levelwind.shop.models import Deed
from levelwind.web.pages import page
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class HistoryContext:
    what: str
    back: str
    deeds: tuple[Deed, ...]


@require_safe
def history_page(request: Request, kind: str, ref: int) -> HttpResponse:
    if kind not in dict(Deed.KINDS):
        raise Http404(kind)
    context = HistoryContext(kind, request.META.get("HTTP_REFERER", ""), tuple(deeds_of(kind, ref)))
    return page(request, "bench/history.html", context)


urlpatterns = [path("history/<str:kind>/<int:ref>/", history_page, name="history")]
