"""A pattern's or a build's own places and steps, checked while they are typed."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.takedown import Step
from levelwind.reference.cautions import Caution, named
from levelwind.reference.families import FamilyPlace
from levelwind.reference.layer_changes import own_key, own_row, row_back, row_gone
from levelwind.reference.layer_edits import (
    gate_added,
    gate_gone,
    gate_key,
    piece_moved,
    place_added,
    place_said,
    place_twice,
    step_added,
    step_back,
    step_moved,
    step_said,
    steps_out,
)
from levelwind.reference.layers import Layer
from levelwind.shop.models import Pattern, PatternPicture
from levelwind.shop.patterns.selectors.findings import findings
from levelwind.shop.patterns.selectors.pictures import step_pictures
from levelwind.shop.patterns.services.layouts import Change, keys_taken, layout_change, own_row_back, pattern_level_wind
from levelwind.shop.patterns.services.patterns import pattern_place_back
from levelwind.web.pages import page, refused, spoken
from levelwind.web.patterns.layout_forms import NewPlaceForm, StepForm, WhatForm
from levelwind.web.patterns.subject import Subject, subject_or_404
from levelwind.web.requests import Request, sent


@dataclass(frozen=True, slots=True)
class StepCard:
    step: Step
    frees: tuple[str, ...]
    cautions: tuple[Caution, ...]
    own: bool
    above: str
    address: str
    act: str


@dataclass(frozen=True, slots=True)
class TakedownContext:
    subject: Subject
    steps: tuple[StepCard, ...]
    out: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EditContext:
    """A place's or a step's form. ``own`` says that the subject alone has it; ``act`` is where its buttons lead."""

    subject: Subject
    title: str
    form: WhatForm | StepForm
    back: str
    own: bool = True
    act: str = ""
    pieces: tuple[FamilyPlace, ...] = ()
    pictures: tuple[PatternPicture, ...] = ()
    picture_add: str = ""


def takedown_page(request: Request, pk: int, build: int | None = None) -> HttpResponse:
    """Every step in the order of a practised hand."""
    subject = subject_or_404(pk, build)
    rules = subject.family.rules
    cards = tuple(
        StepCard(
            step=step,
            frees=rules.names(step.frees),
            cautions=named(step.cautions),
            own=own_row(subject.one.says, "takedown", step.key) is not None,
            above=rules.steps[number - 1].key if number else "",
            address=subject.address("step", step.key),
            act=subject.address("step_act", step.key),
        )
        for number, step in enumerate(rules.steps)
    )
    gone = (*steps_out(subject.under, subject.one.says), *subject.laid_by("takedown"))
    out = [(row["do"], subject.address("step_act", row["key"])) for row in gone]
    remarks = findings(subject.one, subject.one.says).remarks
    return page(request, "patterns/takedown.html", TakedownContext(subject, cards, tuple(out), remarks))


def answer(request: Request, change: Change, context: EditContext) -> HttpResponse:
    """The change kept, or what stands in its way; with ``check`` only what would be found."""
    one = context.subject.one
    if "check" in request.GET:
        return render(request, "patterns/findings.html", {"findings": findings(one, change(one.says))})
    try:
        layout_change(one=one, change=change)
        return redirect(context.back)
    except LevelwindError as refusal:
        context.form.add_error(None, spoken(refusal))
        return edit_page(request, context)


def edit_page(request: Request, context: EditContext) -> HttpResponse:
    template = "patterns/step.html" if isinstance(context.form, StepForm) else "patterns/what.html"
    return page(request, template, context, status=422 if context.form.errors else 200)


def step_page(request: Request, pk: int, key: str, build: int | None = None) -> HttpResponse:
    subject = subject_or_404(pk, build)
    step = next((step for step in subject.family.rules.steps if step.key == key), None)
    if step is None:
        raise Http404(key)
    form = StepForm(sent(request), kin=subject.family, step=step)
    own = own_row(subject.one.says, "takedown", key) is not None
    back, act = f"{subject.takedown}#{key}", subject.address("step_act", key)
    places = {place.key: place for place in subject.family.places}
    pictures = tuple(step_pictures(subject.pattern).get(key, ()))
    add = f"{reverse('pattern_picture_offer', args=[pk])}?{urlencode({'step': key})}" if build is None else ""
    pieces = tuple(places[piece] for piece in step.frees)
    context = EditContext(subject, step.do, form, back, own, act, pieces, pictures, add)
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    return answer(request, lambda says: _step(subject, says, key, form), context)


def step_add_page(request: Request, pk: int, build: int | None = None) -> HttpResponse:
    """A step of its own: it frees places that another step freed so far."""
    subject = subject_or_404(pk, build)
    form = StepForm(sent(request), kin=subject.family)
    context = EditContext(subject, "A step of its own", form, subject.takedown)
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    key = own_key(form.cleaned_data["do"], subject.step_keys)

    def change(says: Layer) -> Layer:
        bare = step_added(says, {"key": key, "do": form.cleaned_data["do"], "frees": [], "minutes": 0})
        return _step(subject, bare, key, form)

    return answer(request, change, context)


def _step(subject: Subject, says: Layer, key: str, form: StepForm) -> Layer:
    given = form.cleaned_data
    says = step_said(subject.under, says, key, given)
    for gate in given["gates_out"]:
        says = gate_gone(says, key, gate)
    if given["gate_ask"]:
        gate = {"key": gate_key(given["gate_ask"], subject.family), "ask": given["gate_ask"], "why": given["gate_why"]}
        says = gate_added(says, key, {**gate, "ahead": given["gate_ahead"]})
    return says


@require_POST
def step_act(request: Request, pk: int, key: str, build: int | None = None) -> HttpResponse:
    """A step up one place, out, or back again; or a piece earlier or later in it."""
    subject, above = subject_or_404(pk, build), request.POST.get("above", "")
    known = {step.key for step in subject.family.rules.steps}
    back = request.POST.get("act") == "back"
    if (key not in known and not back) or (above and above not in known):
        raise Http404(key)
    for word in ("earlier", "later"):
        if piece := request.POST.get(word):
            return _piece_act(request, subject, key, piece, word == "earlier")
    try:
        if back and subject.laid_by("takedown", key):
            own_row_back(one=subject.one, file="takedown", key=key)
        elif back:
            layout_change(one=subject.one, change=lambda says: step_back(subject.under, says, key))
        elif request.POST.get("act") == "drop":
            layout_change(one=subject.one, change=lambda says: row_gone(says, "takedown", key))
        elif above:
            layout_change(one=subject.one, change=lambda says: step_moved(says, key, above))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(f"{subject.takedown}#{key}")


def _piece_act(request: Request, subject: Subject, step: str, piece: str, ahead: bool) -> HttpResponse:
    try:
        layout_change(one=subject.one, change=lambda says: piece_moved(subject.under, says, step, piece, ahead))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(f"{subject.address('step', step)}#order")


def _place(subject: Subject, key: str) -> FamilyPlace:
    place = next((place for place in subject.family.places if place.key == key), None)
    if place is None:
        raise Http404(key)
    return place


def what_page(request: Request, pk: int, key: str, build: int | None = None) -> HttpResponse:
    """What one place is: its name, its kind, its danger, what it can be mistaken for."""
    subject = subject_or_404(pk, build)
    place = _place(subject, key)
    form = WhatForm(sent(request), kin=subject.family, place=place)
    own = own_row(subject.one.says, "places", key) is not None
    back, act = f"{subject.home}#{key}", subject.address("place_act", key)
    context = EditContext(subject, place.name, form, back, own, act)
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    return answer(request, lambda says: place_said(subject.under, says, key, form.said()), context)


def place_add_page(request: Request, pk: int, build: int | None = None) -> HttpResponse:
    subject = subject_or_404(pk, build)
    form = NewPlaceForm(sent(request), kin=subject.family)
    key = own_key(request.POST.get("name", ""), keys_taken(subject.pattern, subject.family.places))
    context = EditContext(subject, "A place of its own", form, f"{subject.home}#{key}")
    if request.method != "POST" or not form.is_valid():
        return edit_page(request, context)
    return answer(request, lambda says: _with_place(subject, says, key, form), context)


def _with_place(subject: Subject, says: Layer, key: str, form: NewPlaceForm) -> Layer:
    given = form.said()
    words = ("name", "group", "kind", "count", "hazard", "renew", "clean", "measure")
    place = {"key": key, **{word: given[word] for word in words}}
    steps = subject.family.rules.steps
    step: str = given["step"]
    if given["do"]:
        before = next(list(one.frees) for one in steps if one.key == step)
        own: dict[str, Any] = {"key": own_key(given["do"], subject.step_keys), "behind": step}
        own |= {
            "frees": [],
            "do": given["do"],
            "tool": given["tool"],
            "minutes": given["minutes"] or 0,
            "after": before,
        }
        says, step = step_added(says, own), own["key"]
    added = place_added(subject.under, says, place, step)
    alike = given["look_alikes"]
    return place_said(subject.under, added, key, {"look_alikes": alike}) if alike else added


@require_POST
def place_act(request: Request, pk: int, key: str, build: int | None = None) -> HttpResponse:
    """One more like it, none of it in this build or some after all, or a place of its own out again."""
    subject, anchor, act = subject_or_404(pk, build), key, request.POST.get("act")
    try:
        if act == "in" and subject.laid_by("places", key):
            own_row_back(one=subject.one, file="places", key=key)
            return redirect(f"{subject.home}#{anchor}")
        if act == "in":
            layout_change(one=subject.one, change=lambda says: row_back(says, "places", key))
            if isinstance(subject.one, Pattern):
                pattern_place_back(pattern=subject.one, key=key)
            return redirect(f"{subject.home}#{anchor}")
        place = _place(subject, key)
        if act == "twice":
            name = f"{place.name}, another"[:120]
            anchor = own_key(place.name, keys_taken(subject.pattern, subject.family.places))
            layout_change(one=subject.one, change=lambda says: place_twice(subject.under, says, key, anchor, name))
        elif act == "out" and (build is not None or own_row(subject.one.says, "places", key)):
            layout_change(one=subject.one, change=lambda says: row_gone(says, "places", key))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(f"{subject.home}#{anchor}")


@require_POST
def level_wind_act(request: Request, pk: int) -> HttpResponse:
    """“No level wind” in one press."""
    pattern = get_object_or_404(Pattern, pk=pk)
    pattern_level_wind(pattern=pattern, has=request.POST.get("has") == "yes")
    return redirect(f"{Subject(pattern).home}#places")


PAGES = (
    ("place/<str:key>/what/", what_page, "what"),
    ("place/<str:key>/act/", place_act, "place_act"),
    ("one-more-place/", place_add_page, "place_add"),
    ("takedown/", takedown_page, "takedown"),
    ("takedown/one-more/", step_add_page, "step_add"),
    ("takedown/<str:key>/", step_page, "step"),
    ("takedown/<str:key>/act/", step_act, "step_act"),
)

urlpatterns = [
    path("<int:pk>/level-wind/", level_wind_act, name="pattern_level_wind"),
    *(path(f"<int:pk>/{address}", view, name=f"pattern_{name}") for address, view, name in PAGES),
    *(path(f"<int:pk>/build/<int:build>/{address}", view, name=f"build_{name}") for address, view, name in PAGES),
]
