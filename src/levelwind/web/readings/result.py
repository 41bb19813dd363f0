"""The page of one reading: the picture, its numbers, what it asks, and how it is put right."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRefresh

from levelwind import __version__
from levelwind.core.codec import as_shown
from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.writing import written_plainly
from levelwind.shop.models import Reading
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.figures import figure_of
from levelwind.shop.readings.selectors.limits import limits_of
from levelwind.shop.readings.selectors.stored import (
    LAWS,
    bearing_heard,
    cautions_of,
    law_of,
    pull_result,
    read_by_an_earlier_law,
    refusal_of,
    spin_result,
)
from levelwind.shop.readings.services.readings import (
    reading_correct,
    reading_go_on,
    reading_read_again,
    reading_stop,
    reading_strike_out,
    reading_take_instead,
)
from levelwind.shop.readings.services.work import work_wait
from levelwind.web.pages import page, spoken
from levelwind.web.readings.beside import Beside, beside
from levelwind.web.readings.corrections import options_by
from levelwind.web.readings.found import Found, found_in
from levelwind.web.readings.questions import Ask, Corrections, asked, corrections
from levelwind.web.readings.rows import row
from levelwind.web.readings.spot import (
    Spot,
    at_spot,
    may_change,
    reading_or_404,
    reading_to_change_or_404,
    spot_paths,
    taken_by,
)
from levelwind.web.readings.versions import Version, versions_of
from levelwind.web.requests import Request

QUICK_S = 1.0
"""So long a page waits for a result before it shows how far the work has come."""


@dataclass(frozen=True, slots=True)
class Addresses:
    """Where this page's forms go."""

    progress: str
    tell: str
    stop: str
    go_on: str
    strike: str
    restore: str
    afresh: str
    still: str
    back: str
    another: str
    """Where the same kind is recorded once more; empty for what was typed."""


@dataclass(frozen=True, slots=True)
class ResultContext:
    spot: Spot
    reading: Reading
    to: Addresses
    plot: Figure | None
    found: tuple[Found, ...]
    asks: tuple[Ask, ...]
    corrections: Corrections
    beside: Beside | None
    versions: tuple[Version, ...]
    limit: str = ""
    """How it stands to what the pattern allows, in words."""
    refusal: str = ""
    may_change: bool = True
    """Whether whoever looks at it may put it right: a phone only what it took itself."""

    @property
    def title(self) -> str:
        return str(self.reading).capitalize()

    @property
    def cautions(self) -> tuple[str, ...]:
        unit = shop_get().force_unit
        return tuple(note.words(unit) for note in cautions_of(self.reading))

    @property
    def refused(self) -> str:
        """Why it gave no number, as a sentence; one that begins with a file's name keeps it as it is."""
        said = refusal_of(self.reading).words(shop_get().force_unit).rstrip(".") + "."
        return said[:1].upper() + said[1:] if said.split()[0].isalpha() else said

    @property
    def law(self) -> int | None:
        """The version of the law that read it."""
        return law_of(self.reading)

    @property
    def law_today(self) -> int:
        return LAWS[self.reading.kind]

    @property
    def read_by_an_earlier_law(self) -> bool:
        return read_by_an_earlier_law(self.reading)

    @property
    def can_be_read_again(self) -> bool:
        """By this version, and its recording is kept."""
        older = self.read_by_an_earlier_law or self.reading.core_version != __version__
        return bool(self.reading.file) and not self.reading.at_work and older

    @property
    def capacity_label(self) -> str:
        return f"The most it can read, {shop_get().force_unit}"


def _to(spot: Spot, reading: Reading) -> Addresses:
    pk = reading.pk
    return Addresses(
        progress=spot.url("reading_progress", pk),
        tell=spot.url("reading_tell", pk),
        stop=spot.url("reading_stop", pk),
        go_on=spot.url("reading_act", pk, "go-on"),
        strike=spot.url("reading_act", pk, "strike"),
        restore=spot.url("reading_act", pk, "restore"),
        afresh=spot.url("reading_act", pk, "afresh"),
        still=spot.url("reading_still", pk) if reading.still else "",
        back=spot.url("readings"),
        another=spot.url(f"reading_{reading.kind}") if reading.file else "",
    )


def _result(request: Request, spot: Spot, reading: Reading, refusal: str = "") -> HttpResponse:
    unit = shop_get().force_unit
    typed = request.POST if refusal else {}
    context = ResultContext(
        spot=spot,
        reading=reading,
        to=_to(spot, reading),
        plot=figure_of(reading, unit),
        found=found_in(reading, unit),
        asks=asked(reading, unit),
        corrections=corrections(reading, unit, typed),
        beside=beside(reading, unit),
        versions=versions_of(spot, reading, unit),
        limit=row(spot, reading, unit, limits_of(spot.job.pattern)).verdict,
        refusal=refusal,
        may_change=may_change(request, spot, reading),
    )
    return page(request, "readings/result.html", context, status=422 if refusal else 200)


@require_safe
def reading_page(request: Request, spot: Spot, pk: int) -> HttpResponse:
    reading = reading_or_404(spot, pk)
    if reading.at_work:
        work_wait(reading.pk, QUICK_S)
        reading = reading_or_404(spot, pk)
    return _result(request, spot, reading)


@require_safe
def progress_fragment(request: Request, spot: Spot, pk: int) -> HttpResponse:
    """How far the work has come, asked for every second; once it is over the whole page is drawn again."""
    reading = reading_or_404(spot, pk)
    if not request.htmx:
        return redirect(spot.url("reading", pk))
    if not reading.at_work:
        return HttpResponseClientRefresh()
    return render(request, "readings/result_progress.html", {"reading": reading, "to": _to(spot, reading)})


@require_POST
def tell(request: Request, spot: Spot, pk: int) -> HttpResponse:
    """A correction or an answer: a new reading of the same file, to whose page it leads."""
    reading, by = reading_to_change_or_404(request, spot, pk), spot.by(request)
    try:
        options = options_by(reading, request.POST, shop_get().force_unit)
        again = reading_correct(reading=reading, options=options, by=by)
    except LevelwindError as refusal:
        return _result(request, spot, reading, spoken(refusal))
    taken_by(request, spot, again)
    return redirect(spot.url("reading", again.pk))


@require_POST
def stop(request: Request, spot: Spot, pk: int) -> HttpResponse:
    reading_stop(reading=reading_to_change_or_404(request, spot, pk), by=spot.by(request))
    return redirect(spot.url("reading", pk))


@require_POST
def act(request: Request, spot: Spot, pk: int, what: str) -> HttpResponse:
    """Read a stopped one after all, or one again as before; strike one out, or take it instead of the others."""
    reading, by = reading_to_change_or_404(request, spot, pk), spot.by(request)
    if what not in ("go-on", "afresh", "strike", "restore"):
        raise Http404(what)
    try:
        if what == "go-on":
            reading_go_on(reading=reading, by=by)
        elif what == "afresh":
            reading = reading_read_again(reading=reading, by=by)
            taken_by(request, spot, reading)
        elif what == "strike":
            reading_strike_out(reading=reading, by=by)
        else:
            reading_take_instead(reading=reading, by=by)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    return redirect(spot.url("reading", reading.pk))


@require_safe
def still(request: Request, spot: Spot, pk: int) -> HttpResponseBase:
    """The picture out of a film."""
    return _sent(reading_or_404(spot, pk).still, "image/jpeg")


@require_safe
def original(request: Request, spot: Spot, pk: int) -> HttpResponseBase:
    """The recording as it came."""
    reading = reading_or_404(spot, pk)
    answer = _sent(reading.file, "application/octet-stream", reading.file_name)
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _sent(stored: Any, content_type: str, name: str = "") -> FileResponse:
    if not stored:
        raise Http404("no file")
    try:
        return FileResponse(stored.open("rb"), content_type=content_type, as_attachment=bool(name), filename=name)
    except FileNotFoundError as gone:
        raise Http404("the file is gone") from gone


@require_safe
def as_json(request: Request, spot: Spot, pk: int) -> HttpResponse:
    """The analysis, in the shape of `levelwind pull --json` and `levelwind spin --json`."""
    reading = reading_or_404(spot, pk)
    with written_plainly():
        shape = shape_of(reading)
    answer = JsonResponse(shape, json_dumps_params={"indent": 1})
    name = f"{spot.job.tag}-{reading.kind}-{reading.moment}-{pk}.json"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def shape_of(reading: Reading) -> dict[str, object]:
    """Without what only this page needs: the figure, the disc in the still."""
    if not reading.gives_number:
        return {"status": "refused", "reason": reading.refused or f"not read yet: {reading.get_work_display()}"}
    if reading.kind == "pull":
        return dict(as_shown(pull_result(reading)))
    if reading.kind == "spin":
        heard = bearing_heard(reading)
        return dict(as_shown(spin_result(reading))) | ({"bearing": as_shown(heard)} if heard else {})
    return dict(reading.analysis)


AT_THE_BENCH = "jobs/<str:tag>/readings/<str:moment>/reading/<int:pk>/"

urlpatterns = [
    *spot_paths("reading/<int:pk>/", reading_page, "reading"),
    *spot_paths("reading/<int:pk>/progress/", progress_fragment, "reading_progress"),
    *spot_paths("reading/<int:pk>/still/", still, "reading_still"),
    *spot_paths("reading/<int:pk>/tell/", tell, "reading_tell"),
    *spot_paths("reading/<int:pk>/stop/", stop, "reading_stop"),
    *spot_paths("reading/<int:pk>/act/<str:what>/", act, "reading_act"),
    path(AT_THE_BENCH + "file/", at_spot(original), name="reading_file"),
    path(AT_THE_BENCH + "json/", at_spot(as_json), name="reading_json"),
]
