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
from levelwind.core.writing import written
from levelwind.reference.families import family
from levelwind.shop.jobs.selectors.drafts import draft_get, draft_reel
from levelwind.shop.models import Job, Pattern
from levelwind.shop.naming.selectors import InDraft, NamingState, named_as, naming_of
from levelwind.shop.naming.services import (
    naming_choose,
    naming_pattern_begin,
    sighting_record,
    sighting_take_back,
    sightings_type,
)
from levelwind.shop.patterns.selectors.patterns import family_names, pattern_find
from levelwind.shop.takedown.selectors.first import may_be_recorded
from levelwind.web.jobs.way import JobHead, job_head, job_or_404
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request, key_in, sent

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
class Spot:
    """The reel in hand, on the bench or while it is being booked in, and the addresses round it.

    ``back`` is the page it is named from, ``on`` the one that follows once it is named.
    """

    of: Job | InDraft
    head: JobHead | None
    called: str
    here: str
    begin: str
    back: str
    on: str
    can_record: bool = False

    @property
    def pattern(self) -> Pattern | None:
        return named_as(self.of)


def on_the_bench(tag: str) -> Spot:
    job = job_or_404(tag)
    here, begin, look_over = (reverse(name, args=[tag]) for name in ("naming", "naming_begin", "look_over"))
    return Spot(job, job_head(job, "look_over"), job.reel, here, begin, look_over, look_over, may_be_recorded(job))


def in_draft(pk: int, key: int) -> Spot | None:
    """A reel of a booking not finished; None once it is booked in, thrown away or taken out of it."""
    draft = draft_get(pk)
    reel = draft_reel(draft, key) if draft else None
    if draft is None or reel is None:
        return None
    here, begin = (reverse(name, args=[pk, key]) for name in ("draft_naming", "draft_naming_begin"))
    back = f"{reverse('draft', args=[pk])}#reel{key}"
    return Spot(InDraft(draft, key), None, reel.name, here, begin, back, back)


@dataclass(frozen=True, slots=True)
class NamingContext:
    spot: Spot
    state: NamingState
    best: LookCard | None
    others: tuple[LookCard, ...]
    families: tuple[FamilyRow, ...]
    sizes: tuple[Typed, ...]
    marks: str
    elsewhere: float

    @property
    def head(self) -> JobHead | None:
        return self.spot.head

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
        return LookCard(size.key, f"Measure the {size.name}.", f"{size.where}.", look.minutes, (), apart)
    asked = state.key.look(look.key)
    return LookCard(asked.key, asked.ask, asked.do, look.minutes, asked.answers, apart)


def naming_context(spot: Spot) -> NamingContext:
    state = naming_of(spot.of)
    cards = tuple(look_card(state, look) for look in state.looks)
    likely = [(key, chance) for key, chance in state.naming.families.items() if key != NONE and chance >= LEAST_SHOWN]
    return NamingContext(
        spot=spot,
        state=state,
        best=cards[0] if cards else None,
        others=tuple(card for card in cards[1:] if card.answers),
        families=tuple(_family_row(key, chance) for key, chance in likely[:MOST_FAMILIES]),
        sizes=tuple(_typed_size(size, state.sights) for size in SIZES),
        marks=state.sights.marks,
        elsewhere=state.naming.not_in_book,
    )


def _typed_size(size: Size, sights: Sights) -> Typed:
    mm = sights.sizes_mm.get(size.key)
    return Typed(size.key, size.name, size.where, "" if mm is None else written(mm))


def _family_row(key: str, chance: float) -> FamilyRow:
    kin = family(key)
    return FamilyRow(key, kin.name, kin.sentence, chance)


GONE = "This reel is not in a booking any more. If it was booked in, it is on the bench with what was seen of it."


@require_http_methods(["GET", "HEAD", "POST"])
def naming_page(request: Request, tag: str) -> HttpResponse:
    """The page; a POST answers a look, takes an answer back, or says which pattern it is."""
    return _naming(request, on_the_bench(tag))


@require_http_methods(["GET", "HEAD", "POST"])
def draft_naming_page(request: Request, pk: int, key: int) -> HttpResponse:
    """The same of a reel that is being booked in."""
    spot = in_draft(pk, key)
    return _naming(request, spot) if spot else refused(request, GONE, status=404)


def _naming(request: Request, spot: Spot) -> HttpResponse:
    act = ACTIONS.get(request.POST.get("do", ""))
    try:
        if request.method != "POST":
            return page(request, "jobs/naming.html", naming_context(spot))
        if act is not None:
            return act(request, spot)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return refused(request, "Nothing was asked for: go back and press one of the buttons.")


def _answer(request: Request, spot: Spot) -> HttpResponse:
    """One look's answer: the button that was pressed carries it."""
    sighting_record(of=spot.of, look=request.POST.get("look", ""), said=request.POST.get("said", CANNOT_TELL))
    return _again(spot)


def _typed(request: Request, spot: Spot) -> HttpResponse:
    """Marks and sizes, all of the form at a time; an emptied field is taken back."""
    typed = {key: request.POST[key] for key in (MARKS, *(size.key for size in SIZES)) if key in request.POST}
    sightings_type(of=spot.of, typed={key: text.replace("\r\n", "\n") for key, text in typed.items()})
    return _again(spot)


def _back(request: Request, spot: Spot) -> HttpResponse:
    sighting_take_back(of=spot.of, look=request.POST.get("look", ""))
    return _again(spot)


def _pattern(request: Request, spot: Spot) -> HttpResponse:
    pattern = pattern_find(key_in(request.POST.get("pattern")))
    if pattern is None:
        return refused(request, "That pattern is not in the book any more.")
    naming_choose(of=spot.of, pattern=pattern, by=request.user.get_username())
    return _named(request, spot, pattern)


def _unname(request: Request, spot: Spot) -> HttpResponse:
    naming_choose(of=spot.of, pattern=None, by=request.user.get_username())
    return _again(spot)


ACTIONS: dict[str, Callable[[Request, Spot], HttpResponse]] = {
    "answer": _answer,
    "typed": _typed,
    "back": _back,
    "pattern": _pattern,
    "unname": _unname,
}
"""What a button of the page may ask for."""


def _again(spot: Spot) -> HttpResponse:
    return redirect(spot.here + "#next")


def _named(request: Request, spot: Spot, pattern: Pattern) -> HttpResponse:
    looks = " The looks are now those of its family." if spot.head else ""
    messages.success(request, f"It is named: {pattern}.{looks}")
    return redirect(spot.on)


class BeginForm(forms.Form):
    """The name of a pattern begun from the reel in hand, and the family it is built like."""

    maker = forms.CharField(max_length=60)
    model = forms.CharField(max_length=60, label="model, or what you call it")
    size = forms.CharField(max_length=30, required=False)
    family_key = forms.ChoiceField(choices=family_names, label="built like a")


@dataclass(frozen=True, slots=True)
class BeginContext:
    spot: Spot
    form: BeginForm

    @property
    def head(self) -> JobHead | None:
        return self.spot.head


@require_http_methods(["GET", "HEAD", "POST"])
def naming_begin_page(request: Request, tag: str) -> HttpResponse:
    """Begin a pattern from this reel: its name and its family; what was measured and read goes along."""
    return _begin(request, on_the_bench(tag))


@require_http_methods(["GET", "HEAD", "POST"])
def draft_naming_begin_page(request: Request, pk: int, key: int) -> HttpResponse:
    """The same of a reel that is being booked in."""
    spot = in_draft(pk, key)
    return _begin(request, spot) if spot else refused(request, GONE, status=404)


def _begin(request: Request, spot: Spot) -> HttpResponse:
    built_like = request.GET.get("family", "")
    if request.method != "POST" and not built_like:
        try:
            built_like = next((key for key in naming_of(spot.of).naming.families if key != NONE), "")
        except LevelwindError as refusal:
            return refused(request, refusal)
    first = {"maker": UNKNOWN_MAKER, "model": spot.called[:60], "family_key": built_like}
    form = BeginForm(sent(request), initial=first)
    if request.method == "POST" and form.is_valid():
        try:
            pattern = naming_pattern_begin(of=spot.of, by=request.user.get_username(), **form.cleaned_data)
            if isinstance(spot.of, Job) and request.POST.get("then") == "first":
                return redirect("first_takedown", spot.of.tag)
            return _named(request, spot, pattern)
        except LevelwindError as refusal:
            form.add_error("model", spoken(refusal))
    return page(request, "jobs/naming_begin.html", BeginContext(spot, form), status=422 if form.errors else 200)


urlpatterns = [
    path("jobs/<str:tag>/name/", naming_page, name="naming"),
    path("jobs/<str:tag>/name/begin/", naming_begin_page, name="naming_begin"),
    path("book-in/<int:pk>/reels/<int:key>/name/", draft_naming_page, name="draft_naming"),
    path("book-in/<int:pk>/reels/<int:key>/name/begin/", draft_naming_begin_page, name="draft_naming_begin"),
]
