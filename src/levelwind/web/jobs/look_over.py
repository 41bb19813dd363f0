"""Look over: looks ticked with what was seen; hunches move as you tick; the next look says why it is next."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.figures import Figure
from levelwind.core.hunches import Finding, Hunch, Look
from levelwind.core.hunches.report import HunchRow, LookRow, hunch_rows, look_rows
from levelwind.reference.cautions import Caution, named
from levelwind.reference.stuck import Grade, scale_of_corrosion, stuck
from levelwind.shop.jobs.selectors.hunches import Standing, standing
from levelwind.shop.jobs.services.looks import finding_record, job_corrosion_grade, job_looked_over
from levelwind.shop.models import Job
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.readings.selectors.baseline import Baseline, baseline_of
from levelwind.shop.readings.selectors.readings import Readings, readings_of
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request

MOST_SHOWN = 8
SIGHTS = {True: "yes", False: "no", None: ""}
SEEN_WORDS = (("yes", "there"), ("no", "not there"), ("", "not looked"))
SAID_WORDS = (("yes", "said"), ("no", "denied"), ("", "not said"))


@dataclass(frozen=True, slots=True)
class Tick:
    """One finding with its three answers. ``was`` is what the book holds, ``sight`` what stands ticked."""

    finding: Finding
    sight: str
    was: str
    suggested: bool
    answers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class LookCard:
    look: Look
    caution: Caution | None
    ticks: tuple[Tick, ...]
    done: bool
    next: LookRow | None
    minutes: float
    tells: bool


@dataclass(frozen=True, slots=True)
class LookOverContext:
    head: JobHead
    standing: Standing
    said: tuple[Tick, ...]
    todo: tuple[LookCard, ...]
    done: tuple[LookCard, ...]
    explaining: tuple[tuple[HunchRow, Hunch], ...]
    due: tuple[tuple[HunchRow, Hunch], ...]
    best: LookCard | None
    readings: Readings
    baseline: Baseline | None
    grades: tuple[Grade, ...]
    scale: Figure


def tick(finding: Finding, state: Standing) -> Tick:
    suggested = finding.key in state.suggested
    was = SIGHTS[state.seen.get(finding.key)]
    return Tick(
        finding, "yes" if suggested else was, was, suggested, SAID_WORDS if finding.look is None else SEEN_WORDS
    )


def look_card(look: Look, state: Standing, worth: Mapping[str, LookRow]) -> LookCard:
    ticks = tuple(tick(finding, state) for finding in state.net.shown_by(look.key))
    valued = next((entry for entry in state.looks if entry.look == look), None)
    return LookCard(
        look=look,
        caution=named([look.caution])[0] if look.caution else None,
        ticks=ticks,
        done=all(one.sight for one in ticks),
        next=worth.get(look.key),
        minutes=valued.minutes if valued else look.minutes,
        tells=valued is not None and valued.tells,
    )


def look_over_context(job: Job) -> LookOverContext:
    shop = shop_get()
    state, readings = standing(job, shop), readings_of(job, shop.force_unit)
    worth = {row.key: row for row in look_rows(state.looks)}
    order = [entry.look for entry in state.looks]
    order += [look for look in state.net.looks if look not in order]
    cards = [look_card(look, state, worth) for look in order]
    todo = tuple(card for card in cards if not card.done)
    rows = hunch_rows(state.net, state.hunches) if state.hunches else ()
    ranked = state.hunches.ranked if state.hunches else ()
    pairs = tuple(zip(rows, ranked, strict=True))
    explaining = len(state.hunches.explaining) if state.hunches else 0
    return LookOverContext(
        head=job_head(job, "look_over"),
        standing=state,
        said=tuple(tick(finding, state) for finding in state.net.said),
        todo=todo,
        done=tuple(card for card in cards if card.done),
        explaining=pairs[:explaining][:MOST_SHOWN],
        due=pairs[explaining:][:MOST_SHOWN],
        best=next((card for card in todo if card.tells), None),
        readings=readings,
        baseline=baseline_of(job, readings, shop.force_unit),
        grades=tuple(stuck().grades.values()),
        scale=scale_of_corrosion(stuck().grades.values()),
    )


def look_over_page(request: Request, tag: str) -> HttpResponse:
    """The page. With htmx a POST carries one finding and is answered with the hunches; without, the whole page comes
    back, and only what was changed on it is written: the rest may have been ticked by somebody else meanwhile."""
    job = job_or_404(tag)
    if request.method == "POST":
        htmx = bool(request.htmx)
        try:
            for name in request.POST:
                finding, sight = name.removeprefix("seen-"), request.POST[name]
                if name.startswith("seen-") and (htmx or sight != request.POST.get(f"was-{finding}")):
                    finding_record(job=job, finding=finding, sight=sight)
        except LevelwindError as refusal:
            return refused(request, refusal)
        if not htmx:
            return redirect(request.path)
        return render(request, "jobs/look_over_hunches.html", {"page": look_over_context(job), "swap": True})
    return page(request, "jobs/look_over.html", look_over_context(job))


@require_POST
def corrosion_act(request: Request, tag: str) -> HttpResponse:
    try:
        grade = request.POST.get("corrosion", "")
        job_corrosion_grade(job=job_or_404(tag), grade=grade, by=request.user.get_username())
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(reverse("look_over", args=[tag]) + "#corrosion")


@require_POST
def looked_over(request: Request, tag: str) -> HttpResponse:
    job_looked_over(job=job_or_404(tag))
    messages.success(request, "Looked over. Next: the price, made up from the hunches.")
    return redirect(reverse("price", args=[tag]))


urlpatterns = [
    path("jobs/<str:tag>/look-over/", look_over_page, name="look_over"),
    path("jobs/<str:tag>/look-over/corrosion/", corrosion_act, name="corrosion"),
    path("jobs/<str:tag>/look-over/done/", looked_over, name="looked_over"),
]
