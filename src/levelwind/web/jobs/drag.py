"""The drag of a job: the stack laid out, drawn and reckoned before it is fitted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path

from levelwind.core.drag.model import Kind, Tie
from levelwind.core.errors import LevelwindError
from levelwind.reference.materials import CONDITIONS, known_materials
from levelwind.shop.models import DragPlan, Job, Part
from levelwind.shop.selectors.drag_choices import KIND_OF_PART, shelf_choices, washers_at_hand
from levelwind.shop.selectors.drag_plans import plan_latest, plan_stack, standard_stack
from levelwind.shop.selectors.drag_setup import Setup, strong
from levelwind.shop.selectors.drags import Reckoning, in_right_order, reckon, reel_of
from levelwind.shop.selectors.shops import shop_get
from levelwind.shop.services.drags import SomebodyElseError, drag_plan_save, plan_mark
from levelwind.shop.services.patterns import pattern_drag_set
from levelwind.web.jobs import drag_form as typing
from levelwind.web.jobs.drag_figures import Choices, Figures, figures, height_of
from levelwind.web.jobs.drag_form import KIND_WORDS, TIE_WORDS, AskField, Typed, ask_groups
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused

ADDABLE = [Kind.FRICTION, Kind.EARED, Kind.KEYED, Kind.SPRING, Kind.SPACER]


@dataclass(frozen=True, slots=True)
class Kept:
    """What came of keeping the stack: the mark the page is drawn from now, and what stood in the way."""

    mark: str
    reckoning: Reckoning | None
    refusal: str = ""
    somebody_else: bool = False


@dataclass(frozen=True, slots=True)
class DragContext:
    head: JobHead
    typed: Typed
    kept: Kept
    figures: Figures | None
    choices: Choices | None
    asks: dict[str, tuple[AskField, ...]]
    washers: dict[str, list[Part]]
    plan: DragPlan | None
    kinds: dict[Kind, str]
    ties: dict[Tie, str]
    conditions: tuple[str, ...]
    materials: tuple[str, ...]
    strong: tuple[str, ...]
    addable: list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class BareContext:
    """The page of a reel whose pattern nobody has named."""

    head: JobHead
    cannot: str


def drag_page(request: HttpRequest, tag: str) -> HttpResponse:
    """The page. A POST reckons and keeps what is typed: with htmx it answers with what changed, else by the page."""
    job = job_or_404(tag)
    if job.pattern is None:
        cannot = "Say first which pattern this reel is: its drag is laid out from there."
        return page(request, "jobs/drag_bare.html", BareContext(head=job_head(job, "parts"), cannot=cannot))
    if request.method != "POST":
        return page(request, "jobs/drag.html", _looked_at(job))
    try:
        typed = act(request, job, typing.typed_from_post(request.POST))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return _answer(request, job, typed, keep(request, job, typed))


def _looked_at(job: Job) -> DragContext:
    """The plan kept last, else the pattern's stack, without keeping anything."""
    plan = plan_latest(job)
    assert job.pattern is not None
    stack, setup = plan_stack(plan) if plan else (standard_stack(job.pattern), Setup())
    typed = typing.typed_from(stack, setup)
    try:
        kept = Kept(plan_mark(plan), reckon(stack=stack, setup=setup, reel=reel_of(job)))
    except LevelwindError as refusal:
        kept = Kept(plan_mark(plan), None, str(refusal))
    return context(job, typed, kept)


def act(request: HttpRequest, job: Job, typed: Typed) -> Typed:
    """What the button pressed does to the stack."""
    what, _, which = request.POST.get("do", "").partition("-")
    uid = int(which) if which.isdecimal() and len(which) < 5 else -1
    if what in ("up", "down"):
        return typing.moved(typed, uid, -1 if what == "up" else 1)
    if what == "remove":
        return typing.without(typed, uid)
    if what == "lay":
        return typing.with_part(typed, uid, typing.part_named(request.POST.get(f"part-{uid}", "")))
    if what == "choose":
        return typing.with_parts(typed, which)
    if what == "add":
        return typing.with_new(typed, request.POST.get("new_kind", ""))
    if what == "right":
        return typing.typed_from(*in_right_order(typing.stack_of(typed), typing.setup_of(typed)))
    if what == "pull":
        return _with_friction_found(job, typed)
    assert job.pattern is not None
    if what == "standard":
        setup = replace(typing.setup_of(typed), parts=())
        return typing.typed_from(standard_stack(job.pattern), setup)
    if what == "book":
        pattern_drag_set(pattern=job.pattern, stack=typing.stack_of(typed).as_dict())
        messages.success(request, f"Kept in the pattern book as the standard drag of the {job.pattern}.")
    return typed


def _with_friction_found(job: Job, typed: Typed) -> Typed:
    """The friction the pull as found points to, typed into every washer of that lining."""
    reckoning = reckon(stack=typing.stack_of(typed), setup=typing.setup_of(typed), reel=reel_of(job))
    pulled = figures(job, plan_latest(job), reckoning).pulled
    if pulled is None:
        raise LevelwindError("The pull as found tells nothing of the friction.")
    return typing.with_friction(typed, pulled.material, pulled.found.coefficient.mu)


def keep(request: HttpRequest, job: Job, typed: Typed) -> Kept:
    """Reckon the stack and keep it; what stands in the way comes back in words."""
    what = request.POST.get("do", "")
    drawn_from = request.POST.get("drawn_from", "")
    reckoning = None
    try:
        stack, setup = typing.stack_of(typed), typing.setup_of(typed)
        reckoning = reckon(stack=stack, setup=setup, reel=reel_of(job))
        plan = drag_plan_save(
            job=job,
            reckoning=reckoning,
            found=stack.as_dict() if what == "found" else None,
            drawn_from=None if what == "mine" else drawn_from,
        )
    except SomebodyElseError as refusal:
        return Kept(drawn_from, reckoning, str(refusal), somebody_else=True)
    except LevelwindError as refusal:
        return Kept(drawn_from, None, str(refusal))
    return Kept(plan_mark(plan), reckoning)


def context(job: Job, typed: Typed, kept: Kept, search: bool = False) -> DragContext:
    plan = plan_latest(job)
    shelf = washers_at_hand()
    shown = figures(job, plan, kept.reckoning) if kept.reckoning else None
    return DragContext(
        head=job_head(job, "parts"),
        typed=typed,
        kept=kept,
        figures=shown,
        choices=_choices(job, plan, kept.reckoning, shelf) if search and kept.reckoning else None,
        asks=ask_groups(typed),
        washers={
            kind.value: [part for part in shelf if KIND_OF_PART[part.kind] is kind] for kind in KIND_OF_PART.values()
        },
        plan=plan,
        kinds=KIND_WORDS,
        ties=TIE_WORDS,
        conditions=CONDITIONS,
        materials=known_materials(),
        strong=tuple(strong()),
        addable=[(kind.value, KIND_WORDS[kind]) for kind in ADDABLE],
    )


def _choices(job: Job, plan: DragPlan | None, reckoning: Reckoning, shelf: Sequence[Part]) -> Choices:
    try:
        return Choices(shelf_choices(reckoning, height_of(job, plan, reckoning), shelf), "")
    except LevelwindError as refusal:
        return Choices((), str(refusal))


def _answer(request: HttpRequest, job: Job, typed: Typed, kept: Kept) -> HttpResponse:
    search = request.POST.get("do") == "search"
    if getattr(request, "htmx", False):
        drawn = context(job, typed, kept, search)
        only_figures = request.headers.get("HX-Target") == "drag-figures"
        template = "jobs/drag_swap.html" if only_figures else "jobs/drag_work.html"
        return render(request, template, {"page": drawn, "shop": shop_get(), "swap": only_figures})
    if kept.refusal or search:
        drawn = context(job, typed, kept, search)
        return page(request, "jobs/drag.html", drawn, status=422 if kept.refusal else 200)
    return redirect("drag", job.tag)


urlpatterns = [path("jobs/<str:tag>/drag/", drag_page, name="drag")]
