"""The readings of a job as found or as left: what is taken, and what may be measured next."""

from dataclasses import dataclass

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from levelwind.shop.models import Pattern
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.limits import Limit, limits_of
from levelwind.web.pages import page
from levelwind.web.phone_codes import STOP_POLLING
from levelwind.web.readings.forms import TYPED
from levelwind.web.readings.rows import ReadingLine, rows_of
from levelwind.web.readings.spot import Spot, spot_paths
from levelwind.web.requests import Request

STEP = {"found": "look_over", "left": "prove"}
"""To which step of the way a reading as found or as left belongs."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may be measured next."""

    address: str
    drawing: str
    title: str
    line: str


@dataclass(frozen=True, slots=True)
class TypedBlock:
    """A number that is typed on the overview itself, with what the pattern allows."""

    kind: str
    title: str
    note: str
    form: forms.Form
    limit: Limit | None
    save: str


@dataclass(frozen=True, slots=True)
class OverviewContext:
    spot: Spot
    back: str
    code: str
    rows: tuple[ReadingLine, ...]
    rows_at: str
    at_work: bool
    choices: tuple[Choice, ...]
    typed: tuple[TypedBlock, ...]
    pattern: Pattern | None


def choices(spot: Spot) -> tuple[Choice, ...]:
    film = "Tape, a flick and the phone: how long it runs, and what stops it."
    log = "The log of a hanging scale: breakaway, running drag, wobble, stick-slip."
    return (
        Choice(spot.url("reading_spin"), "spin", "Film the spin", film),
        Choice(spot.url("reading_pull"), "pull", "Pull the line", log),
        Choice(spot.url("reading_watch"), "watch", "Stop-watch", "No film: tap at the flick, tap at rest."),
        Choice(spot.url("reading_numbers"), "numbers", "Two numbers", "No log: breakaway and running, off the scale."),
        Choice("#end_float", "end_float", "End float", "How far the spool slides along its axle."),
        Choice("#turn", "turn", "Handle torque", "How hard the handle turns, by a scale on its knob."),
    )


def _typed(spot: Spot, tried: forms.Form | None) -> tuple[TypedBlock, ...]:
    limits = limits_of(spot.job.pattern)
    slide = "Push the spool to one side, pull it to the other, read the way between: dial or feeler gauge."
    unit = shop_get().get_force_unit_display()
    knob = f"Hook the scale on the knob, pull square to the handle until it turns. In {unit}, or write the unit."
    return tuple(
        TypedBlock(
            kind=kind,
            title=title,
            note=note,
            form=tried if isinstance(tried, TYPED[kind]) else TYPED[kind](prefix=kind),
            limit=limits.get(kind),
            save=spot.url("reading_type", kind),
        )
        for kind, title, note in (("end_float", "End float", slide), ("turn", "Handle torque", knob))
    )


def overview(request: Request, spot: Spot, tried: forms.Form | None = None) -> HttpResponse:
    """The page; ``tried`` is a form that was refused, drawn again as it was typed."""
    rows = rows_of(spot, shop_get().force_unit)
    context = OverviewContext(
        spot=spot,
        back="" if spot.token else reverse(STEP[spot.moment], args=[spot.job.tag]),
        code="" if spot.token else spot.url("readings_code"),
        rows=rows,
        rows_at=spot.url("readings_rows"),
        at_work=any(row.reading.at_work for row in rows),
        choices=choices(spot),
        typed=_typed(spot, tried),
        pattern=None if spot.token else spot.job.pattern,
    )
    return page(request, "readings/readings.html", context, status=422 if tried else 200)


@require_safe
def readings_page(request: Request, spot: Spot) -> HttpResponse:
    return overview(request, spot)


@require_safe
def rows_fragment(request: Request, spot: Spot) -> HttpResponse:
    """The rows for a page that asks again: while something is being read, or ``until`` its code has run out."""
    rows = rows_of(spot, shop_get().force_unit)
    until = request.GET.get("until", "")
    timed = until.isdecimal() and len(until) < 16
    over = timezone.now().timestamp() > int(until) if timed else not any(row.reading.at_work for row in rows)
    context = {"rows": rows, "run_out": timed and over}
    return render(request, "readings/rows.html", context, status=STOP_POLLING if over else 200)


urlpatterns = [
    *spot_paths("", readings_page, "readings"),
    *spot_paths("rows/", rows_fragment, "readings_rows"),
]
