"""Apart: the way in to what must be reached, step by step, with every piece in its tray cell."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path

from levelwind.core.errors import InputError, LevelwindError
from levelwind.documents import takedown as guide
from levelwind.shop.models import Job, Piece
from levelwind.shop.papers.selectors.takedown_guide import guide_to_hand_on, takedown_sheet
from levelwind.shop.patterns.selectors.builds import build_find
from levelwind.shop.patterns.selectors.layouts import job_places, priced_places
from levelwind.shop.takedown.selectors.pieces import job_work, piece_find
from levelwind.shop.takedown.services.apart import (
    reach_choose,
    takedown_go_done,
    takedown_last_undone,
    takedown_step_done,
    takedown_step_undone,
)
from levelwind.shop.takedown.services.layouts import (
    job_build_choose,
    job_lay_out_anew,
    job_layout_keep,
    piece_one_more,
)
from levelwind.shop.takedown.services.pieces import (
    job_pattern_choose,
    piece_go_without,
    piece_judge,
    piece_put_back,
    piece_renew,
    piece_renew_undo,
    piece_scrap,
    piece_unscrap,
    pieces_rest_clean,
)
from levelwind.web.jobs.jump import jump_asked
from levelwind.web.jobs.takedown.acts import Act, acted, keys_in, see_other
from levelwind.web.jobs.takedown.apart_rows import ApartContext, ApartUnknown, Refusal, apart_context
from levelwind.web.jobs.takedown.tray import PieceCard, piece_card, piece_save
from levelwind.web.jobs.way import job_head, job_or_404
from levelwind.web.pages import page, refused
from levelwind.web.papers import guide_alone, paper
from levelwind.web.pattern_pick import PickForm
from levelwind.web.requests import Request, key_in

LONGEST_COUNT = 4
"""Figures of a count that a page may send; the book allows three."""


def context_of(
    job: Job,
    refusal: Refusal | None = None,
    typed: PieceCard | None = None,
    also: str = "",
    pick: PickForm | None = None,
) -> ApartContext | ApartUnknown:
    head = job_head(job, "apart")
    if job.pattern is None:
        return ApartUnknown(head, pick or PickForm(families_told=True), refusal)
    return apart_context(head, job_work(job), priced=priced_places(job), refusal=refusal, typed=typed, also=also)


def apart_page(request: Request, tag: str) -> HttpResponse:
    """The page. A POST names in ``act`` what is to be done; refused, it is said beside the thing."""
    job = job_or_404(tag)
    try:
        if request.method == "POST":
            act = request.POST.get("act")
            asked = jump_asked(request, job, "open") if act == "done" else None
            return asked or (judged(request, job) if act == "judge" else acted(request, job, ACTS, drawn))
        return whole(request, context_of(job, also=request.GET.get("also", "")))
    except LevelwindError as refusal:
        return refused(request, refusal)


def whole(request: Request, context: ApartContext | ApartUnknown, *, status: int = 200) -> HttpResponse:
    template = "jobs/apart_unknown.html" if isinstance(context, ApartUnknown) else "jobs/apart.html"
    return page(request, template, context, status=status)


def drawn(request: Request, job: Job, refusal: Refusal | None = None, typed: PieceCard | None = None) -> HttpResponse:
    """The page as it stands now, or with htmx the part of it that ticks change."""
    fresh = job_or_404(job.tag)
    status = 422 if refusal or typed else 200
    if request.htmx:
        context = context_of(fresh, refusal, typed)
        return render(request, "jobs/apart_work.html", {"page": context, "swap": True}, status=status)
    pick = PickForm(request.POST, families_told=True) if request.POST.get("act") == "pattern" else None
    return whole(request, context_of(fresh, refusal, typed, pick=pick), status=status)


def choose_pattern(request: Request, job: Job) -> str:
    form = PickForm(request.POST)
    if form.chosen is None:
        raise LevelwindError(str(form.errors["pattern"][0]))
    job_pattern_choose(job=job, pattern=form.chosen, by=request.user.get_username())
    return "reach"


def choose_reach(request: Request, job: Job) -> str:
    places = request.POST.getlist("place")
    if "whole" in request.POST:
        places = [place.key for place in job_places(job)]
    reach_choose(job=job, places=places, was=filter(None, request.POST.get("was", "").split(",")))
    return "now"


def tick(request: Request, job: Job) -> str:
    steps = keys_in(request, "step")
    if len(steps) > 1:
        takedown_go_done(job=job, steps=steps, by=request.user.get_username())
        return "now"
    takedown_step_done(
        job=job,
        step=request.POST.get("step", ""),
        with_before="with_before" in request.POST,
        by=request.user.get_username(),
    )
    return "now"


def tick_off(request: Request, job: Job) -> str:
    takedown_step_undone(job=job, step=request.POST.get("step", ""), by=request.user.get_username())
    return "now"


def last_off(request: Request, job: Job) -> str:
    takedown_last_undone(job=job, by=request.user.get_username())
    return "now"


def not_there(request: Request, job: Job) -> str:
    piece_judge(piece=piece_of(request, job), state="missing", by=request.user.get_username())
    return "now"


def piece_of(request: Request, job: Job) -> Piece:
    piece = piece_find(job, key_in(request.POST.get("piece")))
    if piece is None:
        raise LevelwindError("This piece is no longer in the book: its renewal was taken back. Load the page again.")
    return piece


def move(service: Callable[..., object]) -> Act:
    """An act that is one service on one piece."""

    def act(request: Request, job: Job) -> str:
        piece = piece_of(request, job)
        service(piece=piece, by=request.user.get_username())
        return f"place-{piece.place}"

    return act


def rest_clean(request: Request, job: Job) -> str:
    pieces_rest_clean(job=job)
    return "pieces"


def go_without(request: Request, job: Job) -> str:
    piece = piece_of(request, job)
    piece_go_without(piece=piece, note=request.POST.get("note", ""), by=request.user.get_username())
    return f"place-{piece.place}"


def judged(request: Request, job: Job) -> HttpResponse:
    """A piece's form, saved field by field; with htmx only what the change altered comes back."""
    piece = piece_of(request, job)
    refusals = piece_save(job_work(job), piece, request.POST, request.user.get_username())
    work = job_work(job_or_404(job.tag))
    stored = next(one for one in work.pieces if one.pk == piece.pk)
    card = piece_card(work, stored, request.POST.dict(), refusals) if refusals else piece_card(work, stored)
    if request.htmx:
        context = context_of(work.job, typed=card if refusals else None)
        return render(request, "jobs/tray_saved.html", {"page": context, "card": card})
    if refusals:
        return drawn(request, job, typed=card)
    messages.success(request, f"{stored.name.capitalize()}: saved.")
    return see_other(f"{request.path}#place-{stored.place}")


def one_more(request: Request, job: Job) -> str:
    count = request.POST.get("count", "").strip() or "1"
    if not (count.isdecimal() and len(count) <= LONGEST_COUNT):
        raise InputError("count", f"“{count[:20]}”", "a whole number, such as 2")
    piece = piece_one_more(
        job=job,
        name=request.POST.get("name", ""),
        kind=request.POST.get("kind", ""),
        step=request.POST.get("found_in", ""),
        count=int(count),
        for_pattern=request.POST.get("kept") == "pattern",
        by=request.user.get_username(),
    )
    return f"place-{piece.place}"


def lay_out_anew(request: Request, job: Job) -> str:
    job_lay_out_anew(job=job, by=request.user.get_username())
    return "work"


def layout_keep(request: Request, job: Job) -> str:
    job_layout_keep(job=job, by=request.user.get_username())
    return "work"


def choose_build(request: Request, job: Job) -> str:
    build = build_find(job.pattern_id or 0, key_in(request.POST.get("build")))
    if build is None and request.POST.get("build"):
        raise LevelwindError("Choose a build from the list.")
    job_build_choose(job=job, build=build, by=request.user.get_username())
    return "work"


ACTS: dict[str, Act] = {
    "build": choose_build,
    "one_more": one_more,
    "lay_out_anew": lay_out_anew,
    "layout_keep": layout_keep,
    "pattern": choose_pattern,
    "reach": choose_reach,
    "done": tick,
    "undo": tick_off,
    "last_off": last_off,
    "not_there": not_there,
    "scrap": move(piece_scrap),
    "unscrap": move(piece_unscrap),
    "renew": move(piece_renew),
    "renew_undo": move(piece_renew_undo),
    "put_back": move(piece_put_back),
    "rest_clean": rest_clean,
    "go_without": go_without,
}


def takedown_paper(request: Request, tag: str) -> HttpResponse:
    try:
        return paper(guide.render(takedown_sheet(job_or_404(tag))), f"takedown-{tag}")
    except LevelwindError as refusal:
        return refused(request, refusal)


def guide_paper(request: Request, tag: str, ending: str) -> HttpResponse:
    """The way in with nothing of the owner on it, to print or as a page of its own."""
    try:
        sheet = guide_to_hand_on(job_or_404(tag))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return paper(guide.render(sheet), f"guide-{tag}") if ending == "pdf" else guide_alone(sheet, f"guide-{tag}")


urlpatterns = [
    path("jobs/<str:tag>/apart/", apart_page, name="apart"),
    path("jobs/<str:tag>/takedown.pdf", takedown_paper, name="takedown_paper"),
    path("jobs/<str:tag>/guide.pdf", guide_paper, {"ending": "pdf"}, name="guide_paper"),
    path("jobs/<str:tag>/guide.html", guide_paper, {"ending": "html"}, name="guide_alone"),
]
