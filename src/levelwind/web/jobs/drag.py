"""The drag of a job: the stack laid out, drawn and reckoned before it is fitted."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path

from levelwind.core.drag.chain import runs, sides
from levelwind.core.drag.model import Kind, Stack, Tie, stack_from_dict
from levelwind.core.errors import LevelwindError
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.reference.materials import CONDITIONS, known_materials
from levelwind.shop.models import DragPlan, Job, Part
from levelwind.shop.selectors.drags import (
    Reckoning,
    Setup,
    in_right_order,
    plan_latest,
    reckon,
    reel_of,
    setup_from_dict,
    standard_stack,
)
from levelwind.shop.selectors.readings import Pair, readings_of
from levelwind.shop.selectors.shelf import washers
from levelwind.shop.selectors.shops import shop_get
from levelwind.shop.services.drags import SomebodyElseError, drag_plan_save, plan_mark
from levelwind.shop.services.patterns import pattern_drag_set
from levelwind.web.jobs import drag_form as typing
from levelwind.web.jobs.drag_form import KIND_WORDS, PLACE_KINDS, TIE_WORDS, Typed
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused

ADDABLE = [Kind.FRICTION, Kind.EARED, Kind.KEYED, Kind.SPRING, Kind.SPACER]


@dataclass(frozen=True, slots=True)
class FillLine:
    """Line tension at one fill, in the shop's unit, with the old stack's beside it."""

    name: str
    left_m: float
    radius_mm: float
    new: Quantity
    run_in: Quantity
    run_in_N: Quantity
    share: float | None
    old: Quantity | None


@dataclass(frozen=True, slots=True)
class Figures:
    """What is reckoned of the stack, or why it cannot be."""

    reckoning: Reckoning | None
    refusal: str
    somebody_else: bool
    fills: tuple[FillLine, ...]
    old: Reckoning | None
    order_words: str
    unit: str
    per_unit: float
    strength: Quantity | None
    strike: Quantity | None
    strike_empty: Quantity | None
    readings: tuple[Pair, ...]
    mark: str


@dataclass(frozen=True, slots=True)
class DragContext:
    head: JobHead
    typed: Typed
    figures: Figures
    washers: Sequence[Part]
    plan: DragPlan | None
    found: bool
    kinds: dict[Kind, str]
    ties: dict[Tie, str]
    conditions: tuple[str, ...]
    materials: tuple[str, ...]
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
    plan = plan_latest(job)
    if request.method != "POST":
        typed = typing.typed_from(*start(job, plan))
        return page(request, "jobs/drag.html", context(job, typed, figures(job, plan, typed)))
    try:
        typed, found = act(request, job, typing.typed_from_post(request.POST))
    except LevelwindError as refusal:
        return refused(request, refusal)
    return _answer(request, job, typed, keep(request, job, typed, found))


def start(job: Job, plan: DragPlan | None) -> tuple[Stack, Setup]:
    """The stack kept last, else the pattern's standard one."""
    if plan is not None:
        stack = stack_from_dict(plan.stack)
        return stack, setup_from_dict(plan.setup, len(stack.bodies))
    assert job.pattern is not None
    return standard_stack(job.pattern), Setup()


def act(request: HttpRequest, job: Job, typed: Typed) -> tuple[Typed, bool]:
    """What the button pressed does to the stack; True where it is to be kept as the stack as found."""
    what, _, which = request.POST.get("do", "").partition("-")
    uid = int(which) if which.isdecimal() and len(which) < 5 else -1
    if what in ("up", "down"):
        return typing.moved(typed, uid, -1 if what == "up" else 1), False
    if what == "remove":
        return typing.without(typed, uid), False
    if what == "lay":
        asked = request.POST.get(f"part-{uid}", "")
        part = Part.objects.filter(pk=int(asked)).first() if asked.isdecimal() and len(asked) < 12 else None
        return typing.with_part(typed, uid, part), False
    if what == "add":
        return typing.with_new(typed, request.POST.get("new_kind", "")), False
    if what == "right":
        return typing.typed_from(*in_right_order(typing.stack_of(typed), typing.setup_of(typed))), False
    if what == "standard" and job.pattern is not None:
        return typing.typed_from(standard_stack(job.pattern), Setup()), False
    if what == "book" and job.pattern is not None:
        pattern_drag_set(pattern=job.pattern, stack=typing.stack_of(typed).as_dict())
        messages.success(request, f"Kept in the pattern book as the standard drag of the {job.pattern}.")
    return typed, what == "found"


def keep(request: HttpRequest, job: Job, typed: Typed, found: bool) -> Figures:
    """Reckon the stack and keep it; what stands in the way comes back in words."""
    mark = None if request.POST.get("do") == "mine" else request.POST.get("drawn_from", "")
    plan = plan_latest(job)
    try:
        stack, setup = typing.stack_of(typed), typing.setup_of(typed)
        reckoning = reckon(stack=stack, setup=setup, reel=reel_of(job))
        plan = drag_plan_save(job=job, reckoning=reckoning, found=stack.as_dict() if found else None, drawn_from=mark)
    except SomebodyElseError as refusal:
        return figures(job, plan, typed, str(refusal), mark=mark or "", somebody_else=True)
    except LevelwindError as refusal:
        return figures(job, plan, typed, str(refusal), mark=mark or plan_mark(plan))
    return figures(job, plan, typed, reckoning=reckoning)


def figures(
    job: Job,
    plan: DragPlan | None,
    typed: Typed,
    refusal: str = "",
    *,
    reckoning: Reckoning | None = None,
    mark: str | None = None,
    somebody_else: bool = False,
) -> Figures:
    old = None
    try:
        if reckoning is None and (not refusal or somebody_else):
            reckoning = reckon(stack=typing.stack_of(typed), setup=typing.setup_of(typed), reel=reel_of(job))
        if plan is not None and plan.found and reckoning is not None:
            setup = reckoning.setup
            old = reckon(
                stack=stack_from_dict(plan.found),
                setup=Setup(setup.hand_Nm, setup.clamp_N, setup.line_m),
                reel=reckoning.reel,
            )
    except LevelwindError as why:
        refusal = refusal or str(why)
    unit = shop_get().force_unit
    per = 1 / NEWTONS_PER[unit]
    setting = reckoning.setting if reckoning else None
    return Figures(
        reckoning=reckoning,
        refusal=refusal,
        somebody_else=somebody_else,
        fills=_fills(reckoning, old, per) if reckoning else (),
        old=old,
        order_words=_order_words(reckoning) if reckoning else "",
        unit=unit,
        per_unit=per,
        strength=Quantity.exact(round(reckoning.reel.strength_N * per, 1))
        if reckoning and reckoning.reel.strength_N
        else None,
        strike=_between(setting.low_N, setting.high_N, per) if setting else None,
        strike_empty=_between(setting.empty_low_N, setting.empty_high_N, per) if setting else None,
        readings=tuple(pair for pair in readings_of(job, unit).pairs if pair.found and pair.unit == unit),
        mark=plan_mark(plan) if mark is None else mark,
    )


def _fills(reckoning: Reckoning, old: Reckoning | None, per: float) -> tuple[FillLine, ...]:
    before = {fill.name: fill.run_in_N.scaled(per) for fill in old.fills} if old else {}
    return tuple(
        FillLine(
            name=fill.name,
            left_m=fill.left_m,
            radius_mm=fill.radius_mm,
            new=fill.new_N.scaled(per),
            run_in=fill.run_in_N.scaled(per),
            run_in_N=fill.run_in_N,
            share=fill.share,
            old=before.get(fill.name),
        )
        for fill in reckoning.fills
    )


def _order_words(reckoning: Reckoning) -> str:
    """What a wrong order costs and why, in a few sentences; nothing where the order is right."""
    order, bodies = reckoning.order, reckoning.stack.bodies
    if order is None or order.share_lost < 0.005:
        return ""
    said = [f"In this order {order.share_lost:.0%} of the drag is lost.".replace("%", " %")]
    idle = [bodies[place].name for place in reckoning.torque.idle]
    if idle:
        said.append(f"{', '.join(idle)}: {'carries' if len(idle) == 1 else 'carry'} nothing here.")
    for run in runs(sides(reckoning.stack)):
        between = [body.name for body in bodies[run.first + 1 : run.last + 1] if body.kind is Kind.FRICTION]
        if run.carries and len(between) > 1:
            said.append(f"{' and '.join(between)} lie between the same two plates: only one of their faces slips.")
    return " ".join(sentence[:1].upper() + sentence[1:] for sentence in said)


def _between(low: float, high: float, per: float) -> Quantity:
    return Quantity((low + high) / 2, low, high).scaled(per)


def context(job: Job, typed: Typed, shown: Figures) -> DragContext:
    plan = plan_latest(job)
    return DragContext(
        head=job_head(job, "parts"),
        typed=typed,
        figures=shown,
        washers=washers(tuple(PLACE_KINDS)),
        plan=plan,
        found=bool(plan and plan.found),
        kinds=KIND_WORDS,
        ties=TIE_WORDS,
        conditions=CONDITIONS,
        materials=known_materials(),
        addable=[(kind.value, KIND_WORDS[kind]) for kind in ADDABLE],
    )


def _answer(request: HttpRequest, job: Job, typed: Typed, shown: Figures) -> HttpResponse:
    drawn = context(job, typed, shown)
    if getattr(request, "htmx", False):
        only_figures = request.headers.get("HX-Target") == "drag-figures"
        template = "jobs/drag_figures_swap.html" if only_figures else "jobs/drag_work.html"
        return render(request, template, {"page": drawn, "shop": shop_get(), "swap": True})
    if shown.refusal:
        return page(request, "jobs/drag.html", drawn, status=422)
    return redirect("drag", job.tag)


urlpatterns = [path("jobs/<str:tag>/drag/", drag_page, name="drag")]
