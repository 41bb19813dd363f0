"""A reel's stays, one after another: readings, what was done, what came back; linked and taken apart here."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.jobs import job_find
from levelwind.shop.jobs.selectors.stays import Earlier, is_free, may_come_back, maybe_earlier, stay_before, stays_of
from levelwind.shop.jobs.services.comebacks import job_comes_back, job_delete
from levelwind.shop.jobs.services.drafts import draft_begin
from levelwind.shop.jobs.services.stays import comeback_charge, comeback_say, comeback_take_back, stay_link, stay_unlink
from levelwind.shop.models import Job
from levelwind.shop.papers.selectors.done import what_was_done
from levelwind.shop.people.selectors import lines, shop_get
from levelwind.shop.readings.selectors.readings import Readings, readings_of
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request, key_in


@dataclass(frozen=True, slots=True)
class Stay:
    """One of them, with what was measured and done."""

    job: Job
    readings: Readings
    done: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StaysContext:
    head: JobHead
    stays: tuple[Stay, ...]
    asked: tuple[Earlier, ...]
    newest: Job
    comes_back: bool
    would_be_free: bool
    before: Job | None


@require_safe
def stays_page(request: Request, tag: str) -> HttpResponse:
    job, unit = job_or_404(tag), shop_get().force_unit
    every = list(stays_of(job))
    stays = tuple(Stay(one, readings_of(one, unit), lines(one.done_note) or what_was_done(one)) for one in every)
    newest, before = every[0], stay_before(job)
    context = StaysContext(
        head=job_head(job, ""),
        stays=stays,
        asked=maybe_earlier(job),
        newest=newest,
        comes_back=may_come_back(newest),
        would_be_free=is_free(newest, timezone.localdate()),
        before=before if before and not job.comeback_of and may_come_back(before) else None,
    )
    return page(request, "jobs/stays.html", context)


@require_POST
def stays_act(request: Request, tag: str, what: str) -> HttpResponse:
    """The presses: it came back, it is here again, it is that one, it is not; and what undoes them."""
    job, by = job_or_404(tag), request.user.get_username()
    try:
        if what == "back":
            return redirect("job", job_comes_back(job=job, by=by).tag)
        if what == "again":
            return redirect("draft", draft_begin(owner=job.owner, earlier=job).pk)
        if what == "delete":
            job_delete(job=job, by=by)
            messages.success(request, f"{tag} is taken away: it was never booked in.")
            return redirect("bench")
        if what == "same":
            stay_link(job=job, earlier=_chosen(request), by=by)
        elif what == "other":
            stay_unlink(job=job_or_404(request.POST.get("stay", tag)), by=by)
        elif what == "comeback":
            comeback_say(job=job, by=by)
        elif what == "no-comeback":
            comeback_take_back(job=job, by=by)
        elif what in ("free", "charged"):
            comeback_charge(job=job, free=what == "free", by=by)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("stays", tag)


def _chosen(request: Request) -> Job:
    job = job_find(key_in(request.POST.get("earlier")))
    if job is None:
        raise LevelwindError("That stay is not in the book.")
    return job


urlpatterns = [
    path("jobs/<str:tag>/stays/", stays_page, name="stays"),
    path("jobs/<str:tag>/stays/<str:what>/", stays_act, name="stays_act"),
]
