"""The first takedown: a piece a press, with its picture, and the way it came out becomes the pattern's way in."""

from collections.abc import Callable
from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.views.decorators.http import require_http_methods

from levelwind.core.errors import LevelwindError
from levelwind.reference.cautions import Caution, named
from levelwind.shop.jobs.services.photos import photo_add
from levelwind.shop.models import Job
from levelwind.shop.patterns.selectors.layouts import under
from levelwind.shop.takedown.selectors.first import PieceOut, first_takedown, may_be_recorded, pieces_out
from levelwind.shop.takedown.services.first import (
    first_piece_back,
    first_piece_record,
    first_takedown_begin,
    first_takedown_end,
)
from levelwind.web.jobs.takedown.acts import see_other
from levelwind.web.jobs.takedown.apart_rows import KIND_CHOICES
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request

MIND = ("springs", "clips", "old_friction")
"""What a piece nobody has seen yet may do: these cautions stand ahead of every press."""


class PieceForm(forms.Form):
    """The next piece, as it lies in the hand."""

    name = forms.CharField(
        max_length=120, label="what came out", widget=forms.TextInput(attrs={"list": "known-pieces"})
    )
    with_last = forms.BooleanField(required=False, label="it came out together with the last one")
    count = forms.IntegerField(min_value=1, max_value=200, initial=1, label="how many")
    kind = forms.ChoiceField(required=False, choices=[("", "as its name says"), *KIND_CHOICES], label="kind of piece")
    do = forms.CharField(max_length=300, required=False, label="what you did")
    tool = forms.CharField(max_length=120, required=False)
    behind = forms.IntegerField(min_value=0, required=False, widget=forms.HiddenInput)
    photo = forms.FileField(
        required=False,
        label="its picture",
        widget=forms.FileInput(attrs={"accept": "image/*,.heic", "capture": "environment"}),
    )


@dataclass(frozen=True, slots=True)
class FirstContext:
    head: JobHead
    recording: bool
    form: PieceForm
    out: tuple[PieceOut, ...]
    known: tuple[str, ...]
    cautions: tuple[Caution, ...]


@require_http_methods(["GET", "HEAD", "POST"])
def first_page(request: Request, tag: str) -> HttpResponse:
    """The page; a POST names in ``act`` what is to be done."""
    job = job_or_404(tag)
    if job.pattern is None:
        return redirect("naming", tag)
    if first_takedown(job) is None and not may_be_recorded(job):
        return redirect("apart", tag)
    if request.method != "POST":
        return draw(request, job)
    act = ACTS.get(request.POST.get("act", ""))
    if act is None:
        return refused(request, "This button is not known here. Load the page again.")
    try:
        return act(request, job)
    except LevelwindError as refusal:
        return refused(request, refusal)


def draw(request: Request, job: Job, form: PieceForm | None = None) -> HttpResponse:
    assert job.pattern is not None
    out = pieces_out(job)
    met = {one.piece.place for one in out}
    context = FirstContext(
        head=job_head(job, "apart"),
        recording=first_takedown(job) is not None,
        form=form or PieceForm(initial={"behind": len(out)}),
        out=out,
        known=tuple(place.name for place in under(job.pattern).laid_out({}).places if place.key not in met),
        cautions=named(MIND),
    )
    return page(request, "jobs/first_takedown.html", context, status=422 if form else 200)


def _begin(request: Request, job: Job) -> HttpResponse:
    first_takedown_begin(job=job, by=request.user.get_username())
    return see_other(request.path)


def _out(request: Request, job: Job) -> HttpResponse:
    form = PieceForm(request.POST, request.FILES)
    if not form.is_valid():
        return draw(request, job, form)
    said = form.cleaned_data
    photo = said.pop("photo")
    try:
        piece = first_piece_record(job=job, by=request.user.get_username(), **said)
    except LevelwindError as refusal:
        form.add_error("name", spoken(refusal))
        return draw(request, job, form)
    if photo:
        try:
            photo_add(file=photo, job=job, moment="piece", place=piece.place)
        except LevelwindError as refusal:
            messages.error(request, f"The {piece.name} is written down, its picture is not: {refusal}.")
    return see_other(f"{request.path}#next")


def _back(request: Request, job: Job) -> HttpResponse:
    first_piece_back(job=job)
    return see_other(f"{request.path}#next")


def _end(request: Request, job: Job) -> HttpResponse:
    pattern = first_takedown_end(job=job, by=request.user.get_username())
    messages.success(request, f"The {pattern} is in the book as it came apart. It can be changed there.")
    return see_other(f"/jobs/{job.tag}/apart/")


ACTS: dict[str, Callable[[Request, Job], HttpResponse]] = {"begin": _begin, "out": _out, "back": _back, "end": _end}
"""What a button of the page may ask for."""

urlpatterns = [path("jobs/<str:tag>/first-takedown/", first_page, name="first_takedown")]
