"""Filming the spin and pulling the line: how it is done, in drawings, and the way in for the file."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods
from django_htmx.http import HttpResponseClientRedirect

from levelwind.core.errors import LevelwindError
from levelwind.recordings.force_log import LARGEST_BYTES as LARGEST_LOG
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.people.services import scale_keep
from levelwind.shop.readings.services.readings import LARGEST_BYTES, recording_upload
from levelwind.web.pages import page
from levelwind.web.readings.forms import RECORDINGS, TABLES, PullForm, RecordingForm, SpinForm
from levelwind.web.readings.spot import Spot, spot_paths, taken_by
from levelwind.web.requests import Request


@dataclass(frozen=True, slots=True)
class RecordingContext:
    """``most_bytes`` is the largest file that is taken, ``accept`` what the file chooser offers."""

    spot: Spot
    form: RecordingForm
    accept: str
    most_bytes: int
    instead: str
    """The address of the same reading without a file."""
    code: str
    """The address of the code for the phone; empty where this is the phone."""


def _page(request: Request, spot: Spot, kind: str, form: RecordingForm) -> HttpResponse:
    spin = kind == "spin"
    context = RecordingContext(
        spot=spot,
        form=form,
        accept=RECORDINGS if spin else TABLES,
        most_bytes=LARGEST_BYTES if spin else LARGEST_LOG,
        instead=spot.url("reading_watch" if spin else "reading_numbers"),
        code="" if spot.token else spot.url("readings_code"),
    )
    return page(request, f"readings/{'film' if spin else 'pull'}.html", context, status=422 if form.errors else 200)


def _taken_in(request: Request, spot: Spot, kind: str, form: RecordingForm) -> HttpResponse:
    """Keep the file and go to its reading; what was refused is answered to the script, or drawn on the page."""
    htmx = bool(request.htmx)
    if form.is_valid():
        try:
            reading = recording_upload(
                job=spot.job,
                kind=kind,
                moment=spot.moment,
                file=form.cleaned_data["recording"],
                options=form.said(),
                by=spot.by(request),
            )
        except LevelwindError as refusal:
            form.add_error("recording", f"{refusal}.")
        else:
            taken_by(request, spot, reading)
            there = spot.url("reading", reading.pk)
            return HttpResponseClientRedirect(there) if htmx else redirect(there)
    if htmx:
        return render(request, "readings/refused.html", {"form": form}, status=422)
    return _page(request, spot, kind, form)


@require_http_methods(["GET", "HEAD", "POST"])
def spin_page(request: Request, spot: Spot) -> HttpResponse:
    known = SpinForm.known(spot.job.pattern)
    if request.method == "POST":
        return _taken_in(request, spot, "spin", SpinForm(request.POST, request.FILES, initial=known))
    return _page(request, spot, "spin", SpinForm(initial=known))


@require_http_methods(["GET", "HEAD", "POST"])
def pull_page(request: Request, spot: Spot) -> HttpResponse:
    """What the scale can read at most is kept for the shop, so that it is typed once; a phone changes nothing of it."""
    if request.method != "POST":
        return _page(request, spot, "pull", PullForm(initial={"capacity_N": shop_get().scale_most_N}))
    form = PullForm(request.POST, request.FILES)
    most = form.cleaned_data.get("capacity_N") if form.is_valid() else None
    if most and not spot.token:
        scale_keep(most_N=most)
    return _taken_in(request, spot, "pull", form)


urlpatterns = [
    *spot_paths("spin/", spin_page, "reading_spin"),
    *spot_paths("pull/", pull_page, "reading_pull"),
]
