"""One pattern: its facts, its places and what fits them, its standard drag, its jobs."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from levelwind.core.errors import LevelwindError
from levelwind.core.fits.wear import Limit
from levelwind.reference.builds import ShippedBuild, shipped_builds
from levelwind.reference.families import Family, family
from levelwind.shop.drag.selectors.plans import StandardDrag, standard_drag
from levelwind.shop.editing import hanging_on
from levelwind.shop.models import BoneReel, Build, Job, Pattern
from levelwind.shop.parts.selectors.bones import bone_list
from levelwind.shop.parts.selectors.fits import Offer, offers
from levelwind.shop.parts.selectors.shared import SharedPlace, Shares, patterns_sharing, shared_map
from levelwind.shop.parts.selectors.standins import StandIn, standins
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.patterns.selectors.findings import has_level_wind
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.patterns.selectors.limits import place_limits
from levelwind.shop.patterns.selectors.patterns import PlaceRow, pattern_jobs, place_rows
from levelwind.shop.patterns.selectors.pictures import Exploded, exploded
from levelwind.shop.patterns.services.keeping import PATTERN_OWN
from levelwind.shop.patterns.services.limits import place_limit_set
from levelwind.shop.patterns.services.patterns import pattern_place_set
from levelwind.web.pages import page, spoken
from levelwind.web.patterns.forms import LimitForm, MergeForm, PatternForm, PlaceFitForm, PlaceForm, merge_form
from levelwind.web.patterns.subject import Subject
from levelwind.web.piece_sizes import sizes_query
from levelwind.web.requests import Request
from levelwind.web.saving import save_and_answer


@dataclass(frozen=True, slots=True)
class PlaceCard:
    row: PlaceRow
    offers: tuple[Offer, ...]


@dataclass(frozen=True, slots=True)
class AssemblyCard:
    name: str
    places: tuple[PlaceCard, ...]


@dataclass(frozen=True, slots=True)
class PatternContext:
    pattern: Pattern
    family: Family
    form: PatternForm
    assemblies: tuple[AssemblyCard, ...]
    drag: StandardDrag
    jobs: tuple[Job, ...]
    bones: tuple[BoneReel, ...]
    level_wind: bool | None
    builds: tuple[Build, ...]
    shipped: tuple[ShippedBuild, ...]
    merge: MergeForm | None
    hanging: tuple[str, ...]
    sharing: tuple[Shares, ...]
    shared: tuple[SharedPlace, ...]
    exploded: tuple[Exploded, ...]
    pictures: int
    places_out: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class PlaceContext:
    pattern: Pattern
    row: PlaceRow
    standins: tuple[StandIn, ...]
    form: PlaceForm
    fit: PlaceFitForm
    limits: tuple[tuple[str, LimitForm], ...]
    sizes: str
    """The kind of piece it is, for the page that knows pieces by their sizes."""


def assemblies(pattern: Pattern) -> tuple[AssemblyCard, ...]:
    """The pattern's places with what fits them, assembly by assembly."""
    found = offers(pattern, pattern_places(pattern))
    groups: dict[str, list[PlaceCard]] = {}
    for row in place_rows(pattern):
        groups.setdefault(row.assembly, []).append(PlaceCard(row, found.get(row.key, ())))
    return tuple(AssemblyCard(name, tuple(cards)) for name, cards in groups.items())


def draw(request: Request, pattern: Pattern, form: PatternForm | None = None) -> HttpResponse:
    places = pattern_places(pattern)
    sharing = patterns_sharing(pattern, places)
    context = PatternContext(
        pattern=pattern,
        family=family(pattern.family),
        form=form or PatternForm(instance=pattern),
        assemblies=assemblies(pattern),
        drag=standard_drag(pattern),
        jobs=tuple(pattern_jobs(pattern)),
        bones=tuple(bone_list().filter(pattern=pattern)),
        level_wind=has_level_wind(pattern),
        builds=tuple(pattern.builds.all()),
        hanging=hanging_on(pattern, PATTERN_OWN),
        merge=merge_form(pattern),
        exploded=exploded(pattern),
        pictures=pattern.pictures.count(),
        places_out=Subject(pattern).places_out,
        sharing=sharing,
        shared=shared_map(sharing, places),
        shipped=tuple(shipped_builds(pattern.family).values()),
    )
    return page(request, "patterns/pattern.html", context, status=422 if form else 200)


def pattern_page(request: Request, pk: int) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    if request.method != "POST":
        return draw(request, pattern)
    form = PatternForm(request.POST, instance=pattern)
    answer = save_and_answer(request, form, then=request.path)
    pattern.refresh_from_db()
    return answer or draw(request, pattern, form)


def _row(pattern: Pattern, key: str) -> PlaceRow:
    for row in place_rows(pattern):
        if row.key == key:
            return row
    raise Http404(key)


def _draw_place(
    request: Request,
    pattern: Pattern,
    row: PlaceRow,
    form: PlaceForm | None = None,
    fit: PlaceFitForm | None = None,
    limits: Sequence[tuple[str, LimitForm]] = (),
) -> HttpResponse:
    here: tuple[StandIn, ...] = ()
    if not row.absent:
        places = [place for place in pattern_places(pattern) if place.key == row.key]
        here = standins(pattern, places, {})[row.key]
    said = {"part_number": row.part_number, "count": row.count, "absent": row.absent, "otherwise": row.otherwise}
    context = PlaceContext(
        pattern=pattern,
        row=row,
        standins=here,
        form=form or PlaceForm(initial=said, pattern=pattern),
        fit=fit or PlaceFitForm(),
        limits=tuple(limits or _limit_forms(request, pattern, row)),
        sizes=sizes_query(row.place.kind, row.place.measure, {}),
    )
    return page(request, "patterns/place.html", context, status=422 if form or fit or limits else 200)


def _limit_forms(
    request: Request, pattern: Pattern, row: PlaceRow, *, sent: bool = False
) -> list[tuple[str, LimitForm]]:
    """One for each dimension that is measured in mm, with what the book holds or what was sent."""
    held = {limit.dimension: limit for limit in place_limits(pattern).get(row.key, ())}
    named = ((number, name) for number, name in enumerate(row.place.measure) if name != "tooth count")
    return [
        (name, LimitForm(request.POST if sent else None, prefix=f"limit{number}", initial=_held(held.get(name))))
        for number, name in named
    ]


def _held(limit: Limit | None) -> dict[str, object]:
    if limit is None:
        return {}
    return {"new_mm": limit.new_mm, "least_mm": limit.least_mm, "most_mm": limit.most_mm, "source": limit.source}


@require_POST
def place_limits_act(request: Request, pk: int, key: str) -> HttpResponse:
    """All limits of a place at once, or none where one of them cannot be."""
    pattern = get_object_or_404(Pattern, pk=pk)
    row = _row(pattern, key)
    forms = _limit_forms(request, pattern, row, sent=True)
    good = [form.is_valid() for _, form in forms]
    if all(good):
        with transaction.atomic():
            for dimension, form in forms:
                try:
                    place_limit_set(pattern=pattern, place=key, dimension=dimension, **form.cleaned_data)
                except LevelwindError as refusal:
                    form.add_error(None, spoken(refusal))
                    transaction.set_rollback(True)
                    break
        if not any(form.errors for _, form in forms):
            return redirect(reverse("pattern_place", args=[pk, key]) + "#limits")
    return _draw_place(request, pattern, row, limits=forms)


def place_page(request: Request, pk: int, key: str) -> HttpResponse:
    """One place: what this pattern says of it, and what fits."""
    pattern = get_object_or_404(Pattern, pk=pk)
    row = _row(pattern, key)
    if request.method != "POST":
        return _draw_place(request, pattern, row)
    form = PlaceForm(request.POST, pattern=pattern)
    if form.is_valid():
        try:
            pattern_place_set(pattern=pattern, key=key, **form.cleaned_data)
            return redirect(reverse("pattern", args=[pk]) + f"#{key}")
        except LevelwindError as refusal:
            form.add_error(None, spoken(refusal))
    return _draw_place(request, pattern, row, form=form)


@require_POST
def place_fit_act(request: Request, pk: int, key: str) -> HttpResponse:
    pattern = get_object_or_404(Pattern, pk=pk)
    row, form = _row(pattern, key), PlaceFitForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        said_by = given["said_by"] or request.user.get_username()
        try:
            fit_say(part=given["part"], pattern=pattern, place=key, basis=given["basis"], said_by=said_by)
            return redirect("pattern_place", pk, key)
        except LevelwindError as refusal:
            form.add_error(None, spoken(refusal))
    return _draw_place(request, pattern, row, fit=form)
