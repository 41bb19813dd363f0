"""The builds of a pattern: in which years or serial numbers it was made how."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.reference.builds import shipped_builds
from levelwind.reference.families import FamilyPlace
from levelwind.reference.layer_changes import own_row
from levelwind.shop.models import Build, Pattern
from levelwind.shop.patterns.services.builds import build_drop, build_save, pattern_built_as
from levelwind.web.pages import page, refused, spoken
from levelwind.web.patterns.forms import BuildForm
from levelwind.web.patterns.subject import Subject, subject_or_404
from levelwind.web.requests import Request, sent


@dataclass(frozen=True, slots=True)
class BuildPlace:
    place: FamilyPlace
    own: bool
    what: str
    act: str


@dataclass(frozen=True, slots=True)
class BuildContext:
    """One build's page; without ``subject`` the page of one that is not in the book yet."""

    pattern: Pattern
    form: BuildForm
    subject: Subject | None
    places: tuple[BuildPlace, ...]
    lacking: tuple[BuildPlace, ...]
    place_add: str


def build_page(request: Request, pk: int, build: int) -> HttpResponse:
    subject = subject_or_404(pk, build)
    assert isinstance(subject.one, Build)
    return _edited(request, subject.pattern, subject.one, subject)


def build_add_page(request: Request, pk: int) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    return _edited(request, pattern, Build(pattern=pattern), None)


def _edited(request: Request, pattern: Pattern, build: Build, subject: Subject | None) -> HttpResponse:
    form = BuildForm(sent(request), build=build)
    if request.method == "POST" and form.is_valid():
        try:
            made = build_save(build=build, **form.cleaned_data)
            return redirect("build", pk=pattern.pk, build=made.pk)
        except LevelwindError as refusal:
            form.add_error(None, spoken(refusal))
    places = _cards(subject, subject.family.places) if subject else ()
    lacking = _cards(subject, _lacking(subject)) if subject else ()
    add = subject.address("place_add") if subject else ""
    context = BuildContext(pattern, form, subject, places, lacking, add)
    return page(request, "patterns/build.html", context, status=422 if form.errors else 200)


def _lacking(subject: Subject) -> tuple[FamilyPlace, ...]:
    """What the build is said to have none of."""
    dropped = subject.one.says.get("places", {}).get("drop", {}).get("place", [])
    return tuple(place for place in subject.under.laid_out({}).places if place.key in dropped)


def _cards(subject: Subject, places: tuple[FamilyPlace, ...]) -> tuple[BuildPlace, ...]:
    return tuple(
        BuildPlace(
            place=place,
            own=own_row(subject.one.says, "places", place.key) is not None,
            what=subject.address("what", place.key),
            act=subject.address("place_act", place.key),
        )
        for place in places
    )


@require_POST
def build_drop_act(request: Request, pk: int, build: int) -> HttpResponse:
    subject = subject_or_404(pk, build)
    assert isinstance(subject.one, Build)
    try:
        build_drop(build=subject.one)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(reverse("pattern", args=[pk]) + "#builds")


@require_POST
def built_as_act(request: Request, pk: int) -> HttpResponse:
    """Of which builds of its family every reel of the pattern is."""
    pattern = get_object_or_404(Pattern, pk=pk)
    known = shipped_builds(pattern.family)
    try:
        pattern_built_as(pattern=pattern, built_as=[key for key in request.POST.getlist("built_as") if key in known])
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect(reverse("pattern", args=[pk]) + "#builds")


urlpatterns = [
    path("<int:pk>/built-as/", built_as_act, name="pattern_built_as"),
    path("<int:pk>/build/add/", build_add_page, name="build_add"),
    path("<int:pk>/build/<int:build>/", build_page, name="build"),
    path("<int:pk>/build/<int:build>/drop/", build_drop_act, name="build_drop"),
]
