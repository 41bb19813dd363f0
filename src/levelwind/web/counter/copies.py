"""Safe copies of the book: where they go each day, how old the last is, and one now. And a clock that has gone back."""

from dataclasses import dataclass
from datetime import datetime

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.writing import moment_in_words, written
from levelwind.shop.book.services.schedule import DAYS, MONTHS, OLD, WEEKS, copy_now, folder_choose
from levelwind.shop.models import Safekeeping
from levelwind.shop.people.clock import clock_behind, clock_is_right, safekeeping_with_newest
from levelwind.web.counter.people import ONLY_WHO_RUNS_IT, may_manage
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request, sent


class FolderForm(forms.Form):
    folder = forms.CharField(
        label="folder for a copy each day",
        required=False,
        max_length=300,
        help_text="On this machine, best on another disk or a stick: /media/stick. Empty: no copies by themselves.",
    )


@dataclass(frozen=True, slots=True)
class Safe:
    """What the counter says of the book's safety, in one sentence."""

    kept: Safekeeping
    behind: datetime | None
    """The book's last entry, where the clock is behind it."""

    @property
    def heed(self) -> bool:
        last = self.kept.proved_at
        return bool(self.kept.said) or last is None or timezone.now() - last > OLD


def safe() -> Safe:
    kept = safekeeping_with_newest()
    return Safe(kept, clock_behind(kept))


@dataclass(frozen=True, slots=True)
class CopiesContext:
    safe: Safe
    form: FolderForm
    may_manage: bool
    days: int = DAYS
    weeks: int = WEEKS
    months: int = MONTHS


@require_http_methods(["GET", "HEAD", "POST"])
def copies_page(request: Request) -> HttpResponse:
    told = safe()
    form = FolderForm(sent(request), initial={"folder": told.kept.folder})
    if request.method == "POST":
        if not may_manage(request):
            return refused(request, ONLY_WHO_RUNS_IT, status=403)
        if form.is_valid():
            try:
                folder_choose(folder=form.cleaned_data["folder"].strip())
                messages.success(request, "Kept. The first copy is made within a minute while the shop is open.")
                return redirect("copies")
            except LevelwindError as refusal:
                form.add_error("folder", f"{refusal}.")
    context = CopiesContext(told, form, may_manage(request))
    return page(request, "counter/copies.html", context, status=422 if form.errors else 200)


@require_POST
def copy_act(request: Request) -> HttpResponse:
    try:
        proof = copy_now()
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    else:
        size = f"{written(proof.size_bytes / 1e6, '.1f')} MB"
        messages.success(request, f"Copied and proved: {proof.jobs} jobs, {proof.files} files, {size}.")
    return redirect("copies")


@require_POST
def clock_right_act(request: Request) -> HttpResponse:
    clock_is_right()
    messages.success(request, f"The clock is taken as right: {moment_in_words(timezone.localtime(), long=True)}.")
    return redirect("counter")


urlpatterns = [
    path("copies/", copies_page, name="copies"),
    path("copies/now/", copy_act, name="copy_now"),
    path("clock/right/", clock_right_act, name="clock_right"),
]
