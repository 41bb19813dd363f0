"""Readings without a file: the stop-watch, two numbers off a scale, and what is typed on the overview."""

from dataclasses import dataclass
from math import hypot

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRedirect

from levelwind.core.errors import LevelwindError
from levelwind.core.notes import Note
from levelwind.core.spin.typed import CREEP_S, REACTION_S
from levelwind.shop.models import Reading
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.services.readings import reading_type
from levelwind.web.pages import page
from levelwind.web.readings.forms import TYPED, NumbersForm, WatchForm
from levelwind.web.readings.overview import overview
from levelwind.web.readings.spot import Spot, spot_paths, taken_by
from levelwind.web.requests import Request

PAGES = {"pull": "readings/numbers.html", "spin": "readings/watch.html"}
"""Kinds with a page of their own; the others are typed on the overview."""


@dataclass(frozen=True, slots=True)
class TypedContext:
    """``width_s``: how far a time by hand may be out."""

    spot: Spot
    form: forms.Form
    save: str
    width_s: float = hypot(REACTION_S, REACTION_S, CREEP_S)


def _page(request: Request, spot: Spot, kind: str, form: forms.Form) -> HttpResponse:
    context = TypedContext(spot, form, spot.url("reading_type", kind))
    return page(request, PAGES[kind], context, status=422 if form.errors else 200)


@require_safe
def watch_page(request: Request, spot: Spot) -> HttpResponse:
    return _page(request, spot, "spin", WatchForm(prefix="spin"))


@require_safe
def numbers_page(request: Request, spot: Spot) -> HttpResponse:
    return _page(request, spot, "pull", NumbersForm(prefix="pull"))


@require_POST
def reading_type_save(request: Request, spot: Spot, kind: str) -> HttpResponse:
    """Keep what was typed; a refusal is drawn on the page it came from, with the numbers as they were typed."""
    if kind not in TYPED:
        raise Http404(kind)
    form = TYPED[kind](request.POST, prefix=kind)
    if form.is_valid():
        try:
            typed, by = form.cleaned_data, spot.by(request)
            reading = reading_type(job=spot.job, kind=kind, moment=spot.moment, typed=typed, by=by)
            return _kept(request, spot, reading)
        except LevelwindError as refusal:
            form.add_error(None, f"{Note.from_error(refusal).words(shop_get().force_unit)}.")
    if request.htmx:
        return render(request, "readings/refused.html", {"form": form}, status=422)
    return _page(request, spot, kind, form) if kind in PAGES else overview(request, spot, form)


def _kept(request: Request, spot: Spot, reading: Reading) -> HttpResponse:
    """To the reading itself; what is typed on the overview is shown there."""
    taken_by(request, spot, reading)
    there = spot.url("reading", reading.pk)
    if request.htmx:
        return HttpResponseClientRedirect(there)
    if reading.kind in PAGES:
        return redirect(there)
    messages.success(request, f"{reading.name.capitalize()} kept.")
    return redirect(spot.home)


urlpatterns = [
    *spot_paths("stop-watch/", watch_page, "reading_watch"),
    *spot_paths("numbers/", numbers_page, "reading_numbers"),
    *spot_paths("type/<str:kind>/", reading_type_save, "reading_type"),
]
