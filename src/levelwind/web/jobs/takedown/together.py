"""Together: the way back with its gates, until the tray is empty and the reel can be called together."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path, reverse

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.life import reached
from levelwind.shop.models import Job, Stage
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.pieces import piece_go_without
from levelwind.shop.takedown.services.together import (
    gate_open,
    gate_pass,
    job_call_together,
    rebuild_go_done,
    rebuild_last_undone,
    rebuild_step_done,
    rebuild_step_undone,
)
from levelwind.web.jobs.jump import jump_asked
from levelwind.web.jobs.takedown.acts import Act, acted, keys_in, see_other
from levelwind.web.jobs.takedown.apart import not_there, piece_of
from levelwind.web.jobs.takedown.apart_rows import Refusal
from levelwind.web.jobs.takedown.together_rows import TogetherContext, TogetherUnknown, together_context
from levelwind.web.jobs.way import job_head, job_or_404
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request


def context_of(job: Job, refusal: Refusal | None = None) -> TogetherContext | TogetherUnknown:
    head = job_head(job, "together")
    if job.pattern is None:
        return TogetherUnknown(head, refusal)
    is_together = reached(job.stage, Stage.TOGETHER)
    return together_context(head, job_work(job), is_together=is_together, refusal=refusal)


def whole(request: Request, context: TogetherContext | TogetherUnknown, *, status: int = 200) -> HttpResponse:
    template = "jobs/together_unknown.html" if isinstance(context, TogetherUnknown) else "jobs/together.html"
    return page(request, template, context, status=status)


def together_page(request: Request, tag: str) -> HttpResponse:
    """The page. A POST names in ``act`` what is to be done; refused, it is said beside the thing."""
    job = job_or_404(tag)
    try:
        if request.method == "POST":
            if request.POST.get("act") != "finish":
                return acted(request, job, ACTS, drawn)
            return jump_asked(request, job, "call_together") or finished(request, job)
        return whole(request, context_of(job))
    except LevelwindError as refusal:
        return refused(request, refusal)


def drawn(request: Request, job: Job, refusal: Refusal | None = None) -> HttpResponse:
    """The page as it stands now, or with htmx the part of it that ticks change."""
    context = context_of(job_or_404(job.tag), refusal)
    status = 422 if refusal else 200
    if request.htmx:
        return render(request, "jobs/together_work.html", {"page": context}, status=status)
    return whole(request, context, status=status)


def finished(request: Request, job: Job) -> HttpResponse:
    try:
        job_call_together(job=job, gates=keys_in(request, "gate"), by=request.user.get_username())
    except LevelwindError as refusal:
        return drawn(request, job, Refusal("finish", spoken(refusal)))
    messages.success(request, "Together, with nothing left over. Next: prove it.")
    return see_other(reverse("prove", args=[job.tag]))


def put_in(request: Request, job: Job) -> str:
    steps, gates = keys_in(request, "step"), keys_in(request, "gate")
    if len(steps) > 1 or gates:
        rebuild_go_done(job=job, steps=steps, gates=gates, by=request.user.get_username())
        return "now"
    rebuild_step_done(
        job=job,
        step=request.POST.get("step", ""),
        all_the_same="all_the_same" in request.POST,
        note=request.POST.get("note", ""),
        by=request.user.get_username(),
    )
    return "now"


def take_out(request: Request, job: Job) -> str:
    rebuild_step_undone(job=job, step=request.POST.get("step", ""), by=request.user.get_username())
    return "now"


def last_out(request: Request, job: Job) -> str:
    rebuild_last_undone(job=job, by=request.user.get_username())
    return "now"


def answer_yes(request: Request, job: Job) -> str:
    gates = keys_in(request, "gate")
    if len(gates) > 1:
        rebuild_go_done(job=job, steps=(), gates=gates, by=request.user.get_username())
    else:
        gate_pass(job=job, gate=request.POST.get("gate", ""))
    return "now"


def ask_again(request: Request, job: Job) -> str:
    gate_open(job=job, gate=request.POST.get("gate", ""), by=request.user.get_username())
    return "now"


def go_without(request: Request, job: Job) -> str:
    note = request.POST.get("note", "")
    piece_go_without(piece=piece_of(request, job), note=note, by=request.user.get_username())
    return "now"


ACTS: dict[str, Act] = {
    "done": put_in,
    "undo": take_out,
    "last_off": last_out,
    "not_there": not_there,
    "yes": answer_yes,
    "ask": ask_again,
    "go_without": go_without,
}

urlpatterns = [path("jobs/<str:tag>/together/", together_page, name="together")]
