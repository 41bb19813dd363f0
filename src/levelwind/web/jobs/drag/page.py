"""The drag of a job: the stack laid out, drawn and computed before it is fitted."""

from collections.abc import Container
from dataclasses import dataclass, replace

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path

from levelwind.core.drag.model import Kind, Stack, Tie
from levelwind.core.errors import LevelwindError
from levelwind.reference.families import Family, family
from levelwind.reference.materials import CONDITIONS, known_materials
from levelwind.reference.threads import designations
from levelwind.shop.drag.selectors.choices import KIND_OF_PART, linings_for, shelf_choices, washers_at_hand
from levelwind.shop.drag.selectors.drags import PARTS, JobDrag, drag_computed, in_right_order
from levelwind.shop.drag.selectors.friction import kept_coefficient, parts_laid, with_kept
from levelwind.shop.drag.selectors.plans import plan_latest, stack_now, standard_stack
from levelwind.shop.drag.selectors.pulls import friction_from_pull, pull_read, pulls_of
from levelwind.shop.drag.selectors.reels import clicks_alone, reel_of
from levelwind.shop.drag.selectors.setup import FILLS, Setup, strong
from levelwind.shop.drag.services import SomebodyElseError, drag_plan_save, part_friction_remember, plan_mark
from levelwind.shop.models import DragPlan, Job, Part
from levelwind.shop.patterns.services.patterns import pattern_drag_set
from levelwind.shop.people.selectors import shop_get
from levelwind.web.jobs.drag import form as typing
from levelwind.web.jobs.drag.figures import (
    FOLDS,
    TOLD,
    Choices,
    ClickLine,
    Figures,
    ReadingLine,
    click_line,
    figures,
    fills_for,
    height_of,
    reading_lines,
)
from levelwind.web.jobs.drag.form import KIND_WORDS, TIE_WORDS, AskField, Typed, TypedBody, ask_groups
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request

ADDABLE = [Kind.FRICTION, Kind.EARED, Kind.KEYED, Kind.SPRING, Kind.SPACER]


@dataclass(frozen=True, slots=True)
class Kept:
    """What came of keeping the stack: the page's mark from now on, the plan that counts, what stood in the way."""

    mark: str
    drag: JobDrag | None
    plan: DragPlan | None
    refusal: str = ""
    somebody_else: bool = False


@dataclass(frozen=True, slots=True)
class Offers:
    """What the whole page offers to choose from, which a change of a number does not draw again."""

    kin: Family
    asks: dict[str, tuple[AskField, ...]]
    washers: dict[str, list[Part]]
    kinds: dict[Kind, str]
    ties: dict[Tie, str]
    conditions: tuple[str, ...]
    materials: tuple[str, ...]
    strong: tuple[str, ...]
    fills: tuple[str, ...]
    threads: tuple[str, ...]
    addable: list[tuple[str, str]]
    kept: frozenset[str]
    pulled_left: bool


@dataclass(frozen=True, slots=True)
class DragContext:
    """The page; ``head`` and ``offers`` are None where only what changed is drawn.

    Then ``touched`` are the rows whose words are drawn again, and ``folds`` the open ones, each with its template.
    """

    job: Job
    head: JobHead | None
    offers: Offers | None
    typed: Typed
    kept: Kept
    figures: Figures | None
    choices: Choices | None
    plan: DragPlan | None
    touched: tuple[TypedBody, ...] = ()
    folds: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class BareContext:
    """The page of a reel whose pattern nobody has named."""

    head: JobHead
    cannot: str


@dataclass(frozen=True, slots=True)
class ClickContext:
    """The page of a reel that nothing but its click holds."""

    head: JobHead
    click: ClickLine | None
    readings: tuple[ReadingLine, ...]


def drag_page(request: Request, tag: str) -> HttpResponse:
    """The page. A POST computes and keeps what is typed: with htmx it answers with what changed, else by the page."""
    job = job_or_404(tag)
    if job.pattern is None:
        cannot = "Choose its pattern first: its drag is laid out from there."
        return page(request, "jobs/drag_bare.html", BareContext(head=job_head(job, "parts"), cannot=cannot))
    reel = reel_of(job)
    if clicks_alone(job.pattern, reel):
        readings, unit = reading_lines(pulls_of(job)), shop_get().force_unit
        context = ClickContext(job_head(job, "parts"), click_line(reel, Setup(), unit), readings)
        return page(request, "jobs/drag_click.html", context)
    if request.method != "POST":
        return page(request, "jobs/drag.html", _looked_at(job))
    try:
        typed = act(request, job, typing.typed_from_post(request.POST))
    except LevelwindError as refusal:
        return refused(request, refusal)
    kept = keep(request, job, typed, request.POST.get("drawn_from", ""))
    what, _, moment = request.POST.get("do", "").partition("-")
    if what == "remember" and not kept.refusal:
        return _remember(request, job, typed, kept, moment)
    return _answer(request, job, typed, kept)


def _looked_at(job: Job) -> DragContext:
    """The plan kept last, else the pattern's stack, without keeping anything."""
    plan = plan_latest(job)
    assert job.pattern is not None
    stack, setup = stack_now(job)
    typed = typing.typed_from(stack, setup)
    try:
        kept = Kept(plan_mark(plan), _computed(job, plan, typed), plan)
    except LevelwindError as refusal:
        kept = Kept(plan_mark(plan), None, plan, spoken(refusal))
    return context(job, typed, kept)


def _laid_out(typed: Typed) -> tuple[Stack, Setup]:
    """The stack typed with the friction kept for the parts in it, and what is said beside it."""
    setup = typing.setup_of(typed)
    return with_kept(typing.stack_of(typed), setup.parts, parts_laid(setup.parts)), setup


def _computed(
    job: Job, plan: DragPlan | None, typed: Typed, shown: Container[str] = FOLDS, found: Stack | None = None
) -> JobDrag:
    """Held against the height of the stack ``found``, which is being said just now, else of the one known before."""
    stack, setup = _laid_out(typed)
    asked = {"strength", *(part for part in PARTS if part in shown)}
    old, points = found or height_of(job, plan), fills_for(shown)
    return drag_computed(stack=stack, setup=setup, reel=reel_of(job), asked=asked, old=old, points=points)


def act(request: Request, job: Job, typed: Typed) -> Typed:
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
        return typing.typed_from(*in_right_order(*_laid_out(typed)))
    if what == "pull":
        return _with_friction_found(job, typed, which)
    assert job.pattern is not None
    if what == "standard":
        setup = replace(typing.setup_of(typed), parts=())
        return typing.typed_from(standard_stack(job.pattern, job.build), setup)
    if what == "book":
        pattern_drag_set(pattern=job.build or job.pattern, stack=typing.stack_of(typed).as_dict())
        messages.success(request, f"Kept in the pattern book as the standard drag of the {job.pattern}.")
    return typed


def _with_friction_found(job: Job, typed: Typed, moment: str) -> Typed:
    """The friction a pull points to, typed into every washer of that lining."""
    stack, setup = _laid_out(typed)
    read = pull_read(plan_latest(job), moment, stack, setup, pulls_of(job))
    pulled = friction_from_pull(read, setup, reel_of(job))
    return typing.with_friction(typed, pulled.material, pulled.here.coefficient.mu)


def keep(request: Request, job: Job, typed: Typed, drawn_from: str) -> Kept:
    """Compute the stack and keep it; what stands in the way comes back in words."""
    what = request.POST.get("do", "")
    drag = None
    try:
        found = typing.stack_of(typed) if what == "found" else None
        drag = _computed(job, plan_latest(job), typed, shown_to(request), found)
        plan = drag_plan_save(
            job=job,
            drag=drag,
            found=found.as_dict() if found else None,
            found_parts=drag.setup.parts,
            drawn_from=None if what == "mine" else drawn_from,
        )
    except SomebodyElseError as refusal:
        return Kept(drawn_from, drag, plan_latest(job), spoken(refusal), somebody_else=True)
    except LevelwindError as refusal:
        return Kept(drawn_from, None, plan_latest(job), spoken(refusal))
    return Kept(plan_mark(plan), drag, plan)


def shown_to(request: Request) -> frozenset[str]:
    """The folds that are open on the page, as its script says; all of them without one."""
    opened = request.POST.get("opened") if request.htmx else None
    return FOLDS if opened is None else FOLDS & set(opened.split())


def _remember(request: Request, job: Job, typed: Typed, kept: Kept, moment: str) -> HttpResponse:
    """Keep what a pull says of these parts, and let it count in place of what was typed for them."""
    try:
        parts = part_friction_remember(job=job, moment=moment, by=request.user.get_username())
    except LevelwindError as refusal:
        return _answer(request, job, typed, replace(kept, refusal=spoken(refusal)))
    typed = typing.without_friction(typed, {str(part.pk) for part in parts})
    return _answer(request, job, typed, keep(request, job, typed, kept.mark))


def context(
    job: Job, typed: Typed, kept: Kept, shown: Container[str] = FOLDS, search: bool = False, whole: bool = True
) -> DragContext:
    plan, drag = kept.plan, kept.drag
    return DragContext(
        job=job,
        head=job_head(job, "parts") if whole else None,
        offers=offers(job, typed) if whole else None,
        typed=typed,
        kept=kept,
        figures=figures(job, plan, drag, shown) if drag else None,
        choices=_choices(job, plan, drag) if search and drag else None,
        plan=plan,
    )


def offers(job: Job, typed: Typed) -> Offers:
    """What the page needs once, and not again with every change."""
    shelf = washers_at_hand([row.part for row in typed.rows])
    assert job.pattern is not None
    kin = family(job.pattern.family)
    return Offers(
        kin=kin,
        asks=ask_groups(typed, kin),
        washers={
            kind.value: [part for part in shelf if KIND_OF_PART[part.kind] is kind] for kind in KIND_OF_PART.values()
        },
        kinds=KIND_WORDS,
        ties=TIE_WORDS,
        conditions=CONDITIONS,
        materials=known_materials(),
        strong=tuple(strong()),
        fills=tuple(FILLS),
        threads=designations(),
        addable=[(kind.value, KIND_WORDS[kind]) for kind in ADDABLE],
        kept=_parts_kept(typed),
        pulled_left="left" in pulls_of(job),
    )


def _parts_kept(typed: Typed) -> frozenset[str]:
    """The parts in the stack for which a friction is kept in its condition."""
    laid = parts_laid([row.part for row in typed.rows])
    return frozenset(key for key, part in laid.items() if kept_coefficient(part, typed.condition))


def _choices(job: Job, plan: DragPlan | None, drag: JobDrag) -> Choices:
    old = height_of(job, plan) or drag.result.system.stack
    try:
        return Choices(shelf_choices(drag, old, linings_for(drag.result.system.stack)), "")
    except LevelwindError as refusal:
        return Choices((), spoken(refusal))


def _folds(job: Job, shown: Container[str]) -> tuple[tuple[str, str], ...]:
    """The open folds that this reel's page has, each with its template."""
    there = TOLD if reel_of(job).family.click else [fold for fold in TOLD if fold != "click"]
    return tuple((fold, f"jobs/drag_fold_{fold}.html") for fold in there if fold in shown)


def _touched(request: Request, typed: Typed) -> tuple[TypedBody, ...]:
    """The row that was typed in, as the script says; every one where it does not say."""
    uid = request.POST.get("touched")
    return tuple(row for row in typed.rows if uid is None or uid == str(row.uid))


def _answer(request: Request, job: Job, typed: Typed, kept: Kept) -> HttpResponse:
    search = request.POST.get("do") == "search"
    if request.htmx:
        only_figures = request.headers.get("HX-Target") == "drag-figures"
        shown = shown_to(request)
        drawn = context(job, typed, kept, shown, search, whole=not only_figures)
        if only_figures:
            drawn = replace(drawn, touched=_touched(request, typed), folds=_folds(job, shown))
        template = "jobs/drag_swap.html" if only_figures else "jobs/drag_work.html"
        return render(request, template, {"page": drawn, "shop": shop_get(), "swap": only_figures})
    if kept.refusal or search:
        drawn = context(job, typed, kept, search=search)
        return page(request, "jobs/drag.html", drawn, status=422 if kept.refusal else 200)
    return redirect("drag", job.tag)


urlpatterns = [path("jobs/<str:tag>/drag/", drag_page, name="drag")]
