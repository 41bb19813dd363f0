"""When the bench is worked at: hours of each weekday, days off; and what was promised against what happened."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Axis, Figure, Line, Marker
from levelwind.core.quantities import percent
from levelwind.core.writing import written
from levelwind.shop.models import DayOff
from levelwind.shop.money.promises import PromiseRecord, promise_record
from levelwind.shop.people.selectors import days_off, shop_get
from levelwind.shop.people.services import day_off_add, day_off_remove, hours_keep
from levelwind.web.forms import NumberField
from levelwind.web.pages import page, spoken
from levelwind.web.requests import Request, key_in

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class HoursForm(forms.Form):
    def __init__(self, *args: Any, hours: list[float], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, day in enumerate(WEEKDAYS):
            self.fields[day.lower()] = NumberField(
                label=day,
                min_value=0,
                max_value=24,
                required=False,
                initial=written(hours[number]) if hours else None,
                widget=forms.NumberInput(attrs={"step": "0.25", "min": 0, "max": 24, "class": "number"}),
            )

    def hours(self) -> list[float]:
        return [self.cleaned_data[day.lower()] or 0.0 for day in WEEKDAYS]


class DayOffForm(forms.Form):
    first = forms.DateField(label="from", widget=forms.DateInput(attrs={"type": "date"}))
    last = forms.DateField(label="to", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    what = forms.CharField(label="why", required=False, max_length=80)


@dataclass(frozen=True, slots=True)
class HoursContext:
    form: HoursForm
    off: tuple[DayOff, ...]
    new: DayOffForm
    known: bool


def _context(hours: HoursForm | None = None, new: DayOffForm | None = None) -> HoursContext:
    kept = shop_get().hours
    off = tuple(days_off(timezone.localdate()))
    return HoursContext(hours or HoursForm(hours=kept), off, new or DayOffForm(), any(kept))


@require_http_methods(["GET", "HEAD", "POST"])
def hours_page(request: Request) -> HttpResponse:
    if request.method != "POST":
        return page(request, "counter/hours.html", _context())
    form = HoursForm(request.POST, hours=[])
    if not form.is_valid():
        return page(request, "counter/hours.html", _context(hours=form), status=422)
    known = any(hours_keep(hours=form.hours()).hours)
    messages.success(request, "Saved." if known else "Saved: without hours no date is worked out.")
    return redirect("hours")


@require_POST
def day_off(request: Request) -> HttpResponse:
    """Another day off; or one of the list taken out."""
    if gone := key_in(request.POST.get("remove")):
        day_off_remove(pk=gone)
        return redirect("hours")
    form = DayOffForm(request.POST)
    if form.is_valid():
        try:
            day_off_add(**form.cleaned_data)
            return redirect("hours")
        except LevelwindError as refusal:
            form.add_error("last", spoken(refusal))
    return page(request, "counter/hours.html", _context(new=form), status=422)


@dataclass(frozen=True, slots=True)
class PromisesContext:
    record: PromiseRecord
    figure: Figure | None


@require_safe
def promises_page(request: Request) -> HttpResponse:
    record = promise_record()
    return page(request, "counter/promises.html", PromisesContext(record, told_and_kept(record)))


def told_and_kept(record: PromiseRecord) -> Figure | None:
    """The share kept over the chance told, in percent, beside the line on which both are the same."""
    if not record.enough:
        return None
    markers = []
    for band in record.bands:
        low, high = (100 * end for end in band.range)
        words = f"told {percent(band.told)}, kept {band.kept} of {band.of}"
        markers.append(Marker("pull", 100 * band.told, 100 * band.share, words, label=words, range_=(low, high)))
    return Figure(
        "Promises: " + "; ".join(marker.words for marker in markers) + ".",
        Axis("chance told, %", 0.0, 104.0),
        Axis("kept, %", 0.0, 118.0),
        (Line("supposed", ((0.0, 0.0), (100.0, 100.0)), "kept as told"),),
        markers=tuple(markers),
        title="Promises told and kept, with the range of nine times in ten",
    )


urlpatterns = [
    path("hours/", hours_page, name="hours"),
    path("hours/off/", day_off, name="day_off"),
    path("promises/", promises_page, name="promises"),
]
