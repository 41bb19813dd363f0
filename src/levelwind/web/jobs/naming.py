"""Name a reel that nobody knows: one look after another, what it may be by now, and what follows from it."""

from collections.abc import Callable
from dataclasses import dataclass

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from levelwind.core.errors import LevelwindError
from levelwind.core.naming import CANNOT_TELL, MARKS, NONE, SIZES, Answer, NextLook, Sights, Size
from levelwind.reference.families import family
from levelwind.shop.models import Job
from levelwind.shop.naming.selectors import NamingState, naming_of
from levelwind.shop.naming.services import naming_pattern_begin, sighting_record, sighting_take_back, sightings_type
from levelwind.shop.patterns.selectors.patterns import family_names, pattern_find
from levelwind.shop.takedown.selectors.first import may_be_recorded
from levelwind.shop.takedown.services.pieces import job_pattern_choose, job_pattern_take_back
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused
from levelwind.web.requests import Request, sent

MOST_FAMILIES = 5
LEAST_SHOWN = 0.01
"""What is less likely than this is not shown one by one."""
UNKNOWN_MAKER = "Unknown maker"


@dataclass(frozen=True, slots=True)
class LookCard:
    """A look still to be made. A size or the marks have no answers to choose from: they are typed."""

    key: str
    ask: str
    do: str
    minutes: float
    answers: tuple[Answer, ...]
    apart: str


@dataclass(frozen=True, slots=True)
class FamilyRow:
    key: str
    name: str
    sentence: str
    chance: float


@dataclass(frozen=True, slots=True)
class Typed:
    """A size to be typed, with what stands in the book of it."""

    key: str
    name: str
    where: str
    said: str


@dataclass(frozen=True, slots=True)
class NamingContext:
    head: JobHead
    state: NamingState
    best: LookCard | None
    others: tuple[LookCard, ...]
    families: tuple[FamilyRow, ...]
    sizes: tuple[Typed, ...]
    marks: str
    elsewhere: float
    can_record: bool

    @property
    def so_far(self) -> tuple[FamilyRow, ...]:
        """The likeliest, said beside the question; nothing where no look was made yet."""
        return self.families[:2] if self.state.told else ()


def look_card(state: NamingState, look: NextLook) -> LookCard:
    apart = " from ".join(family(key).name.lower() for key in look.apart) if look.apart else ""
    sizes = {size.key: size for size in SIZES}
    if look.key == MARKS:
        ask, do = "What stands on its plates and its foot?", "Clean them with a cloth and read them in slanting light."
        return LookCard(MARKS, ask, do, look.minutes, (), apart)
    if look.key in sizes:
        size = sizes[look.key]
        return LookCard(size.key, f"Measure the {size.name}.", size.where, look.minutes, (), apart)
    asked = state.key.look(look.key)
    return LookCard(asked.key, asked.ask, asked.do, look.minutes, asked.answers, apart)


def naming_context(job: Job) -> NamingContext:
    state = naming_of(job)
    cards = tuple(look_card(state, look) for look in state.looks)
    likely = [(key, chance) for key, chance in state.naming.families.items() if key != NONE and chance >= LEAST_SHOWN]
    return NamingContext(
        head=job_head(job, "look_over"),
        state=state,
        best=cards[0] if cards else None,
        others=tuple(card for card in cards[1:] if card.answers),
        families=tuple(_family_row(key, chance) for key, chance in likely[:MOST_FAMILIES]),
        sizes=tuple(_typed_size(size, state.sights) for size in SIZES),
        marks=state.sights.marks,
        elsewhere=state.naming.not_in_book,
        can_record=may_be_recorded(job),
    )


def _typed_size(size: Size, sights: Sights) -> Typed:
    mm = sights.sizes_mm.get(size.key)
    return Typed(size.key, size.name, size.where, "" if mm is None else f"{mm:g}")


def _family_row(key: str, chance: float) -> FamilyRow:
    kin = family(key)
    return FamilyRow(key, kin.name, kin.sentence, chance)


@require_http_methods(["GET", "HEAD", "POST"])
def naming_page(request: Request, tag: str) -> HttpResponse:
    """The page; a POST answers a look, takes an answer back, or says which pattern it is."""
    job = job_or_404(tag)
    act = ACTIONS.get(request.POST.get("do", ""))
    try:
        if request.method != "POST":
            return page(request, "jobs/naming.html", naming_context(job))
        if act is not None:
            return act(request, job)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return refused(request, "Nothing was asked for: go back and press one of the buttons.")


def _answer(request: Request, job: Job) -> HttpResponse:
    """One look's answer: the button that was pressed carries it."""
    sighting_record(job=job, look=request.POST.get("look", ""), said=request.POST.get("said", CANNOT_TELL))
    return _again(job)


def _typed(request: Request, job: Job) -> HttpResponse:
    """Marks and sizes, all of the form at a time; an emptied field is taken back."""
    typed = {key: request.POST[key] for key in (MARKS, *(size.key for size in SIZES)) if key in request.POST}
    sightings_type(job=job, typed={key: text.replace("\r\n", "\n") for key, text in typed.items()})
    return _again(job)


def _back(request: Request, job: Job) -> HttpResponse:
    sighting_take_back(job=job, look=request.POST.get("look", ""))
    return _again(job)


def _pattern(request: Request, job: Job) -> HttpResponse:
    text = request.POST.get("pattern", "")
    pattern = pattern_find(int(text)) if text.isdecimal() and len(text) < 10 else None
    if pattern is None:
        return refused(request, "That pattern is not in the book any more.")
    if job.pattern != pattern:
        job_pattern_choose(job=job, pattern=pattern, by=request.user.get_username())
    return _named(request, job)


def _unname(request: Request, job: Job) -> HttpResponse:
    job_pattern_take_back(job=job, by=request.user.get_username())
    return _again(job)


ACTIONS: dict[str, Callable[[Request, Job], HttpResponse]] = {
    "answer": _answer,
    "typed": _typed,
    "back": _back,
    "pattern": _pattern,
    "unname": _unname,
}
"""What a button of the page may ask for."""


def _again(job: Job) -> HttpResponse:
    return redirect(reverse("naming", args=[job.tag]) + "#next")


def _named(request: Request, job: Job) -> HttpResponse:
    messages.success(request, f"It is named: {job.pattern}. The looks are now those of its family.")
    return redirect("look_over", job.tag)


class BeginForm(forms.Form):
    """The name of a pattern begun from the reel in hand, and the family it is built like."""

    maker = forms.CharField(max_length=60)
    model = forms.CharField(max_length=60, label="model, or what you call it")
    size = forms.CharField(max_length=30, required=False)
    family_key = forms.ChoiceField(choices=family_names, label="built like a")


@dataclass(frozen=True, slots=True)
class BeginContext:
    head: JobHead
    form: BeginForm


@require_http_methods(["GET", "HEAD", "POST"])
def naming_begin_page(request: Request, tag: str) -> HttpResponse:
    """Begin a pattern from this reel: its name and its family; what was measured and read goes along."""
    job = job_or_404(tag)
    built_like = request.GET.get("family", "")
    if request.method != "POST" and not built_like:
        try:
            built_like = next((key for key in naming_of(job).naming.families if key != NONE), "")
        except LevelwindError as refusal:
            return refused(request, refusal)
    first = {"maker": UNKNOWN_MAKER, "model": job.reel[:60], "family_key": built_like}
    form = BeginForm(sent(request), initial=first)
    if request.method == "POST" and form.is_valid():
        try:
            naming_pattern_begin(job=job, by=request.user.get_username(), **form.cleaned_data)
            return redirect("first_takedown", tag) if request.POST.get("then") == "first" else _named(request, job)
        except LevelwindError as refusal:
            form.add_error("model", str(refusal))
    context = BeginContext(job_head(job, "look_over"), form)
    return page(request, "jobs/naming_begin.html", context, status=422 if form.errors else 200)


urlpatterns = [
    path("jobs/<str:tag>/name/", naming_page, name="naming"),
    path("jobs/<str:tag>/name/begin/", naming_begin_page, name="naming_begin"),
]
