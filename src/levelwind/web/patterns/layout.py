"""A pattern's own places and steps, checked while they are typed."""

from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Step
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import Family, FamilyPlace
from levelwind.reference.layer_changes import own_key, own_row, row_gone
from levelwind.reference.layer_edits import (
    gate_added,
    gate_gone,
    gate_key,
    place_added,
    place_said,
    place_twice,
    step_added,
    step_moved,
    step_said,
)
from levelwind.reference.layers import Layer
from levelwind.shop.models import Pattern
from levelwind.shop.patterns.selectors.findings import pattern_findings
from levelwind.shop.patterns.selectors.layouts import pattern_family
from levelwind.shop.patterns.services.layouts import Change, keys_taken, pattern_change, pattern_level_wind
from levelwind.web.pages import page, refused
from levelwind.web.patterns.layout_forms import NewPlaceForm, StepForm, WhatForm
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class StepCard:
    step: Step
    frees: tuple[str, ...]
    cautions: tuple[Caution, ...]
    own: bool
    above: str


@dataclass(frozen=True, slots=True)
class TakedownContext:
    pattern: Pattern
    steps: tuple[StepCard, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EditContext:
    """A place's or a step's form. ``own`` says that the pattern alone has it."""

    pattern: Pattern
    title: str
    form: WhatForm | StepForm
    key: str
    own: bool
    back: str


def takedown_page(request: Request, pk: int) -> HttpResponse:
    """Every step in the order of a practised hand."""
    pattern = get_object_or_404(Pattern, pk=pk)
    kin, steps = pattern_family(pattern), pattern_family(pattern).rules.steps
    cards = tuple(
        StepCard(
            step=step,
            frees=kin.rules.names(step.frees),
            cautions=named(step.cautions),
            own=own_row(pattern.says, "takedown", step.key) is not None,
            above=steps[number - 1].key if number else "",
        )
        for number, step in enumerate(steps)
    )
    return page(
        request,
        "patterns/takedown.html",
        TakedownContext(pattern, cards, pattern_findings(pattern, pattern.says).remarks),
    )


def answer(request: Request, pattern: Pattern, change: Change, context: EditContext) -> HttpResponse:
    """The change kept, or what stands in its way; with ``check`` only what would be found."""
    if "check" in request.GET:
        return render(request, "patterns/findings.html", {"findings": pattern_findings(pattern, change(pattern.says))})
    try:
        pattern_change(pattern=pattern, change=change)
        return redirect(context.back)
    except LevelwindError as refusal:
        context.form.add_error(None, str(refusal))
        return edit_page(request, context)


def edit_page(request: Request, context: EditContext) -> HttpResponse:
    template = "patterns/step.html" if isinstance(context.form, StepForm) else "patterns/what.html"
    return page(request, template, context, status=422 if context.form.errors else 200)


def step_page(request: Request, pk: int, key: str) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    kin = pattern_family(pattern)
    step = next((step for step in kin.rules.steps if step.key == key), None)
    if step is None:
        raise Http404(key)
    form = StepForm(request.POST or None, kin=kin, step=step)
    own = own_row(pattern.says, "takedown", key) is not None
    back = reverse("pattern_takedown", args=[pk]) + f"#{key}"
    context = EditContext(pattern, step.do, form, key, own, back)
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    return answer(request, pattern, lambda says: _step(pattern.family, says, key, form, kin), context)


def step_add_page(request: Request, pk: int) -> HttpResponse:
    """A step of the pattern's own: it frees places that another step freed so far."""
    pattern = get_object_or_404(Pattern, pk=pk)
    kin = pattern_family(pattern)
    form = StepForm(request.POST or None, kin=kin)
    back = reverse("pattern_takedown", args=[pk])
    context = EditContext(pattern, "A step of its own", form, "", True, back)
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    key = own_key(form.cleaned_data["do"], {step.key for step in kin.rules.steps})

    def change(says: Layer) -> Layer:
        bare = step_added(says, {"key": key, "do": form.cleaned_data["do"], "frees": [], "minutes": 0})
        return _step(pattern.family, bare, key, form, kin)

    return answer(request, pattern, change, context)


def _step(family: str, says: Layer, key: str, form: StepForm, kin: Family) -> Layer:
    given = form.cleaned_data
    says = step_said(family, says, key, given)
    for gate in given["gates_out"]:
        says = gate_gone(says, key, gate)
    if given["gate_ask"]:
        gate = {"key": gate_key(given["gate_ask"], kin), "ask": given["gate_ask"], "why": given["gate_why"]}
        says = gate_added(says, key, {**gate, "ahead": given["gate_ahead"]})
    return says


@require_POST
def step_act(request: Request, pk: int, key: str) -> HttpResponse:
    """A step up one place, or out."""
    pattern = get_object_or_404(Pattern, pk=pk)
    family, above = pattern.family, request.POST.get("above", "")
    known = {step.key for step in pattern_family(pattern).rules.steps}
    if key not in known or (above and above not in known):
        raise Http404(key)
    try:
        if request.POST.get("act") == "drop":
            pattern_change(pattern=pattern, change=lambda says: row_gone(says, "takedown", key))
        elif above:
            pattern_change(pattern=pattern, change=lambda says: step_moved(family, says, key, above))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(reverse("pattern_takedown", args=[pk]) + f"#{key}")


def _place(pattern: Pattern, key: str) -> FamilyPlace:
    place = next((place for place in pattern_family(pattern).places if place.key == key), None)
    if place is None:
        raise Http404(key)
    return place


def what_page(request: Request, pk: int, key: str) -> HttpResponse:
    """What one place is: its name, its kind, its danger, what it can be mistaken for."""
    pattern = get_object_or_404(Pattern, pk=pk)
    place = _place(pattern, key)
    form = WhatForm(request.POST or None, kin=pattern_family(pattern), place=place)
    own = own_row(pattern.says, "places", key) is not None
    context = EditContext(pattern, place.name, form, key, own, reverse("pattern", args=[pk]) + f"#{key}")
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    return answer(request, pattern, lambda says: place_said(pattern.family, says, key, form.said()), context)


def place_add_page(request: Request, pk: int) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    kin = pattern_family(pattern)
    form = NewPlaceForm(request.POST or None, kin=kin)
    key = own_key(request.POST.get("name", ""), keys_taken(pattern, kin.places))
    context = EditContext(pattern, "A place of its own", form, "", True, reverse("pattern", args=[pk]) + f"#{key}")
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    return answer(request, pattern, lambda says: _with_place(pattern.family, says, key, form, kin), context)


def _with_place(family: str, says: Layer, key: str, form: NewPlaceForm, kin: Family) -> Layer:
    given = form.said()
    words = ("name", "group", "kind", "count", "hazard", "renew", "clean", "measure")
    place = {"key": key, **{word: given[word] for word in words}}
    step: str = given["step"]
    if given["do"]:
        before = next(list(one.frees) for one in kin.rules.steps if one.key == step)
        own: dict[str, Any] = {"key": own_key(given["do"], {one.key for one in kin.rules.steps}), "behind": step}
        own |= {
            "frees": [],
            "do": given["do"],
            "tool": given["tool"],
            "minutes": given["minutes"] or 0,
            "after": before,
        }
        says, step = step_added(says, own), own["key"]
    added = place_added(family, says, place, step)
    return place_said(family, added, key, {"look_alikes": given["look_alikes"]}) if given["look_alikes"] else added


@require_POST
def place_act(request: Request, pk: int, key: str) -> HttpResponse:
    """One more like it, or a place of the pattern's own out again."""
    pattern = get_object_or_404(Pattern, pk=pk)
    place, anchor = _place(pattern, key), key
    try:
        if request.POST.get("act") == "twice":
            name = f"{place.name}, another"[:120]
            anchor = own_key(place.name, keys_taken(pattern, pattern_family(pattern).places))
            pattern_change(pattern=pattern, change=lambda says: place_twice(pattern.family, says, key, anchor, name))
        elif own_row(pattern.says, "places", key):
            pattern_change(pattern=pattern, change=lambda says: row_gone(says, "places", key))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(reverse("pattern", args=[pk]) + f"#{anchor}")


@require_POST
def level_wind_act(request: Request, pk: int) -> HttpResponse:
    """“No level wind” in one press."""
    pattern_level_wind(pattern=get_object_or_404(Pattern, pk=pk), has=request.POST.get("has") == "yes")
    return redirect(reverse("pattern", args=[pk]) + "#places")


urlpatterns = [
    path("<int:pk>/level-wind/", level_wind_act, name="pattern_level_wind"),
    path("<int:pk>/place/<str:key>/what/", what_page, name="pattern_what"),
    path("<int:pk>/place/<str:key>/act/", place_act, name="pattern_place_act"),
    path("<int:pk>/one-more-place/", place_add_page, name="pattern_place_add"),
    path("<int:pk>/takedown/", takedown_page, name="pattern_takedown"),
    path("<int:pk>/takedown/one-more/", step_add_page, name="pattern_step_add"),
    path("<int:pk>/takedown/<str:key>/", step_page, name="pattern_step"),
    path("<int:pk>/takedown/<str:key>/act/", step_act, name="pattern_step_act"),
]
