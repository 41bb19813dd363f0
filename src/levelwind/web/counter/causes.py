"""What comebacks cost, and which fault, part or hurry they come from; each figure opens to its reels."""

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from levelwind.shop.models import Job
from levelwind.shop.money.causes import KINDS, Cause, Causes, causes
from levelwind.shop.money.sunday import Comeback, Home, jobs_by_key, the_year
from levelwind.web.counter.sunday import asked_year
from levelwind.web.pages import page
from levelwind.web.requests import Request

MOST_REELS = 60
"""Of one cause, those that came back first; our choice."""


@dataclass(frozen=True, slots=True)
class CausesContext:
    found: Causes
    year: int | None
    tables: tuple[tuple[str, str, tuple[Cause, ...]], ...]


TITLES = {"fault": "By the fault that was mended", "part": "By the part that was fitted", "hurry": "By hurry"}


@require_safe
def causes_page(request: Request) -> HttpResponse:
    year = asked_year(request.GET)
    found = causes(the_year(timezone.localdate(), year))
    tables = tuple((kind, TITLES[kind], found.rows.get(kind, ())) for kind in KINDS)
    return page(request, "counter/causes.html", CausesContext(found, year, tables))


@dataclass(frozen=True, slots=True)
class CauseContext:
    cause: Cause
    year: int | None
    rows: tuple[tuple[Job, Home, Comeback | None], ...]


@require_safe
def cause_page(request: Request, kind: str, key: str) -> HttpResponse:
    """The reels of one cause, those that came back first."""
    year = asked_year(request.GET)
    found = causes(the_year(timezone.localdate(), year))
    cause = found.row(kind, key)
    if cause is None:
        raise Http404(kind)
    back = set(cause.back)
    shown = sorted(cause.homes, key=lambda pk: (pk not in back, -found.homes[pk].day.toordinal()))[:MOST_REELS]
    jobs = jobs_by_key(shown)
    rows = tuple((jobs[pk], found.homes[pk], found.comebacks.get(pk)) for pk in shown)
    return page(request, "counter/cause.html", CauseContext(cause, year, rows))


urlpatterns = [
    path("sunday/comebacks/", causes_page, name="causes"),
    path("sunday/comebacks/<slug:kind>/<slug:key>/", cause_page, name="cause"),
]
