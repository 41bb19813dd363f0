"""The job's own page: the reel as it came in, whose turn it is, what happened to it, and its two other ends."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.db.models import prefetch_related_objects
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.life import LIFE
from levelwind.shop.jobs.selectors.jobs import crate_jobs
from levelwind.shop.jobs.selectors.last_step import LastStep, last_step
from levelwind.shop.jobs.selectors.stays import stays_of
from levelwind.shop.jobs.services.jobs import job_owner_change, job_turn, job_urgent
from levelwind.shop.models import Job, JobEvent, Owner, Stage, Turn
from levelwind.shop.money.own import OwnReel, own_reel
from levelwind.shop.money.worth import NOT_MENDED, BoneWorth, own_worth
from levelwind.shop.papers.services.last_step import last_step_take_back
from levelwind.shop.papers.services.sendings import EndAsksError, reel_end
from levelwind.shop.patterns.selectors.picking import picking
from levelwind.shop.people.selectors import owner_get, owner_list
from levelwind.shop.takedown.services.pieces import job_pattern_choose
from levelwind.web.jobs.booking.forms import ParcelForm, ReelForm
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request

MOST_OWNERS = 8
HOW_IT_ENDS = [(act.to, f"{act.words[:1].upper()}{act.words[1:]}") for act in (LIFE["send_back"], LIFE["keep"])]


class TurnForm(forms.Form):
    turn = forms.ChoiceField(choices=Turn, label="it is")
    short_of = forms.CharField(max_length=120, required=False, label="which part, if it is short of one")


class EndForm(forms.Form):
    stage = forms.ChoiceField(choices=HOW_IT_ENDS, label="how it ends", widget=forms.RadioSelect)
    why = forms.CharField(max_length=200, required=False, label="why, in a few words")


@dataclass(frozen=True, slots=True)
class JobContext:
    head: JobHead
    form: ReelForm
    parcel: ParcelForm
    crate: list[Job]
    events: list[JobEvent]
    turn: TurnForm
    end: EndForm
    last: LastStep
    stays: int
    own: OwnReel | None
    worth: BoneWorth | None
    weighed: bool
    """It is the shop's own and not mended yet: it could still be stripped."""
    owner_words: str = ""
    owners: tuple[Owner, ...] = ()


def job_context(
    job: Job,
    form: ReelForm,
    parcel: ParcelForm,
    *,
    turn: TurnForm | None = None,
    end: EndForm | None = None,
    owner_words: str = "",
) -> JobContext:
    prefetch_related_objects([job], "events")
    return JobContext(
        head=job_head(job, "job"),
        form=form,
        parcel=parcel,
        crate=list(crate_jobs(job)),
        events=list(job.events.all()),
        turn=turn or TurnForm(initial={"turn": job.turn, "short_of": job.short_of}),
        end=end or EndForm(),
        last=last_step(job),
        stays=stays_of(job).count() if job.history_id else 1,
        own=own_reel(job) if job.is_own else None,
        worth=own_worth(job),
        weighed=job.is_own and job.stage in NOT_MENDED,
        owner_words=owner_words,
        owners=tuple(owner_list(owner_words)[:MOST_OWNERS]) if owner_words else (),
    )


def choose_pattern(job: Job, form: ReelForm) -> None:
    """Where pieces are laid out under a pattern, another one is chosen through them, or refused beside its field."""
    form.full_clean()
    chosen = form.cleaned_data.get("pattern")
    if "pattern" not in form.cleaned_data or chosen == job.pattern or not job.pieces.exists():
        return
    if chosen is None:
        form.pattern_refusal = "Pieces of this reel are laid out under its pattern: choose another, not none."
        return
    try:
        job_pattern_choose(job=job, pattern=chosen)
    except LevelwindError as refusal:
        form.pattern_refusal = spoken(refusal)


@require_http_methods(["GET", "HEAD", "POST"])
def job_page(request: Request, tag: str) -> HttpResponse:
    job = job_or_404(tag)
    typed = request.POST if request.method == "POST" else None
    form = ReelForm(typed, instance=job, patterns=picking(picked=[job.pattern_id]))
    parcel = ParcelForm(typed, instance=job.parcel, prefix="parcel")
    if typed is not None:
        choose_pattern(job, form)
        reel_saved, parcel_saved = form.save_as_you_go(), parcel.save_as_you_go()
        saved = reel_saved and parcel_saved
        if request.htmx:
            fragment = {"forms": (form, parcel), "saved": saved, "now": timezone.localtime()}
            return render(request, "jobs/booking_saved.html", fragment)
        if saved:
            return redirect("job", tag)
    context = job_context(job_or_404(tag), form, parcel, owner_words=request.GET.get("owner", "").strip())
    return page(request, "jobs/job.html", context, status=200 if typed is None else 422)


@require_POST
def owner_set(request: Request, tag: str) -> HttpResponse:
    """The job, or its whole parcel, was booked in for somebody else."""
    job, owner = job_or_404(tag), owner_get(request.POST.get("owner", ""))
    if owner is None:
        return refused(request, "That owner is not in the book.")
    by = request.user.get_username()
    try:
        job_owner_change(job=job, owner=owner, whole_parcel="whole_parcel" in request.POST, by=by)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("job", tag)


@require_POST
def turn_set(request: Request, tag: str) -> HttpResponse:
    """Whose turn it is; refused words stand beside the field again."""
    form = TurnForm(request.POST)
    if form.is_valid():
        turn, short_of = Turn(form.cleaned_data["turn"]), form.cleaned_data["short_of"]
        try:
            job_turn(job=job_or_404(tag), turn=turn, short_of=short_of, by=request.user.get_username())
            return redirect(f"{reverse('job', args=[tag])}#turn")
        except LevelwindError as refusal:
            form.add_error("short_of", spoken(refusal))
    return _refused_beside(request, tag, turn=form)


@require_POST
def urgent_set(request: Request, tag: str) -> HttpResponse:
    """Ahead of all others, or no more; the button that was pressed says which."""
    urgent = request.POST.get("urgent") == "yes"
    job_urgent(job=job_or_404(tag), urgent=urgent, by=request.user.get_username())
    return redirect(f"{reverse('job', args=[tag])}#turn")


@require_POST
def end_set(request: Request, tag: str) -> HttpResponse:
    """One of the ends that is not home; refused words stand beside the field again."""
    job, form = job_or_404(tag), EndForm(request.POST)
    if not form.is_valid():
        return _refused_beside(request, tag, end=form)
    stage, why = Stage(form.cleaned_data["stage"]), form.cleaned_data["why"]
    try:
        reel_end(job=job, stage=stage, why=why, by=request.user.get_username())
    except EndAsksError:
        return redirect(f"{reverse('job_ends', args=[tag, stage])}?{urlencode({'why': why})}")
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("job", tag)


def _refused_beside(
    request: Request, tag: str, *, turn: TurnForm | None = None, end: EndForm | None = None
) -> HttpResponse:
    """The page as the book has it, with what was refused beside its field."""
    job = job_or_404(tag)
    form = ReelForm(instance=job, patterns=picking(picked=[job.pattern_id]))
    parcel = ParcelForm(instance=job.parcel, prefix="parcel")
    return page(request, "jobs/job.html", job_context(job, form, parcel, turn=turn, end=end), status=422)


@require_POST
def taken_back(request: Request, tag: str) -> HttpResponse:
    """What was done last, whatever it was."""
    press, why, by = request.POST.get("press", ""), request.POST.get("why", ""), request.user.get_username()
    try:
        job = last_step_take_back(job=job_or_404(tag), press=press, why=why, by=by)
    except LevelwindError as refusal:
        messages.error(request, spoken(refusal))
    else:
        messages.success(request, f"Taken back: it is {job.get_stage_display()}.")
    return redirect(f"{reverse('job', args=[tag])}#last")


urlpatterns = [
    path("jobs/<str:tag>/", job_page, name="job"),
    path("jobs/<str:tag>/owner/", owner_set, name="job_owner"),
    path("jobs/<str:tag>/turn/", turn_set, name="job_turn"),
    path("jobs/<str:tag>/urgent/", urgent_set, name="job_urgent"),
    path("jobs/<str:tag>/end/", end_set, name="job_end"),
    path("jobs/<str:tag>/take-back/", taken_back, name="job_take_back"),
]
