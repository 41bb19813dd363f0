"""Readings of a job, as found or as left: typed, dropped as a file, struck out, read again with a unit named."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Reading
from levelwind.shop.selectors.readings import Readings, force_curves, readings_of
from levelwind.shop.selectors.shops import shop_get
from levelwind.shop.services.readings import reading_strike_out, reading_tell, reading_type, recording_upload
from levelwind.web.drawings import ForceDrawing, force_drawing
from levelwind.web.pages import page
from levelwind.web.readings.forms import TYPED, UNITS, LogForm

MOMENTS = dict(Reading.MOMENTS)
STEP = {"found": "look_over", "left": "prove"}
"""To which step of the way a reading as found or as left belongs."""


@dataclass(frozen=True, slots=True)
class ReadingsContext:
    job: Job
    moment: str
    moment_words: str
    back: str
    rows: tuple[Reading, ...]
    readings: Readings
    drawing: ForceDrawing | None
    forms: Mapping[str, forms.Form]
    log: LogForm
    units: list[tuple[str, str]]


def _job(tag: str, moment: str) -> Job:
    if moment not in MOMENTS:
        raise Http404(moment)
    return get_object_or_404(Job.objects.select_related("owner", "pattern"), tag=tag)


def _context(job: Job, moment: str, **given: forms.Form) -> ReadingsContext:
    unit = shop_get().force_unit
    readings = readings_of(job, unit)
    log = given.pop("log", None)
    return ReadingsContext(
        job=job,
        moment=moment,
        moment_words=MOMENTS[moment],
        back=reverse(STEP[moment], args=[job.tag]),
        rows=tuple(row for row in readings.every if row.moment == moment),
        readings=readings,
        drawing=force_drawing(force_curves(readings, unit)),
        forms={kind: given.get(kind) or form(prefix=kind) for kind, form in TYPED.items()},
        log=log if isinstance(log, LogForm) else LogForm(),
        units=UNITS[1:],
    )


def readings_page(request: HttpRequest, tag: str, moment: str) -> HttpResponse:
    return page(request, "readings/readings.html", _context(_job(tag, moment), moment))


def _again(request: HttpRequest, job: Job, moment: str, **given: Any) -> HttpResponse:
    return page(request, "readings/readings.html", _context(job, moment, **given), status=422)


@require_POST
def reading_type_save(request: HttpRequest, tag: str, moment: str, kind: str) -> HttpResponse:
    job = _job(tag, moment)
    if kind not in TYPED:
        raise Http404(kind)
    form = TYPED[kind](request.POST, prefix=kind)
    if form.is_valid():
        try:
            reading_type(job=job, kind=kind, moment=moment, typed=form.cleaned_data)
            return redirect("readings", tag, moment)
        except LevelwindError as refusal:
            form.add_error(None, str(refusal))
    return _again(request, job, moment, **{kind: form})


@require_POST
def log_save(request: HttpRequest, tag: str, moment: str) -> HttpResponse:
    """A log is kept even when it gives no number: the page then says why, and how to read it again."""
    job = _job(tag, moment)
    form = LogForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            unit = form.cleaned_data["unit"] or "auto"
            told = {} if unit == "auto" else {"unit": unit}
            reading = recording_upload(job=job, kind="pull", moment=moment, file=form.cleaned_data["log"], told=told)
        except LevelwindError as refusal:
            form.add_error("log", str(refusal))
        else:
            if reading.refused:
                messages.error(request, f"The file is kept, but it gives no number: {reading.refused}")
            return redirect("readings", tag, moment)
    return _again(request, job, moment, log=form)


@require_POST
def reading_act(request: HttpRequest, tag: str, pk: int, what: str) -> HttpResponse:
    reading = get_object_or_404(Reading, pk=pk, job__tag=tag)
    try:
        if what == "again":
            again = reading_tell(reading=reading, told={"unit": request.POST.get("unit", "")})
            if again.refused:
                messages.error(request, again.refused)
        elif what in ("strike", "restore"):
            reading_strike_out(reading=reading, struck_out=what == "strike")
        else:
            raise Http404(what)
    except LevelwindError as refusal:
        messages.error(request, str(refusal))
    return redirect("readings", tag, reading.moment)
