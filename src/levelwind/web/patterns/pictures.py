"""A pattern's own pictures: how a step looks, and the reel laid out with its places numbered by finger."""

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from levelwind.core.columns.cells import typed_number
from levelwind.core.errors import InputError, LevelwindError
from levelwind.reference.families import FamilyPlace
from levelwind.shop.jobs.services.photos import photo_of
from levelwind.shop.models import Build, Pattern, PatternPicture, Photo
from levelwind.shop.patterns.selectors.builds import build_find
from levelwind.shop.patterns.selectors.layouts import pattern_layout
from levelwind.shop.patterns.selectors.pictures import Exploded, exploded, photos_offered, picture_find
from levelwind.shop.patterns.services.pictures import (
    number_away,
    number_put,
    picture_caption,
    picture_from_photo,
    picture_keep,
    picture_remove,
)
from levelwind.web.pages import page, refused, spoken
from levelwind.web.requests import Request, key_in


@dataclass(frozen=True, slots=True)
class PictureContext:
    """One picture; ``shown`` with its numbers where it is an exploded one, as the pattern or as one build has them."""

    pattern: Pattern
    build: Build | None
    builds: tuple[Build, ...]
    picture: PatternPicture
    shown: Exploded | None
    places: tuple[FamilyPlace, ...]
    refusal: str
    back: str


@dataclass(frozen=True, slots=True)
class OfferContext:
    pattern: Pattern
    step: str
    photos: list[Photo]
    back: str


def picture_offer_page(request: Request, pk: int) -> HttpResponse:
    """A picture from a file or a phone, or one of the photos taken of such a reel."""
    pattern, step = get_object_or_404(Pattern, pk=pk), request.GET.get("step", "")[:60]
    context = OfferContext(pattern, step, photos_offered(pattern, step), _home(pattern, step))
    return page(request, "patterns/picture_add.html", context)


@require_POST
def picture_add_act(request: Request, pk: int) -> HttpResponse:
    pattern, step = get_object_or_404(Pattern, pk=pk), request.POST.get("step", "")[:60]
    try:
        picture = _kept(request, pattern, step)
    except LevelwindError as refusal:
        return refused(request, refusal)
    return redirect("pattern_picture", pk, picture.pk)


def _kept(request: Request, pattern: Pattern, step: str) -> PatternPicture:
    if "photo" in request.POST:
        chosen = key_in(request.POST.get("photo"))
        photo = next((one for one in photos_offered(pattern, step) if one.pk == chosen), None)
        if photo is None:
            raise LevelwindError("This photo is there no more: choose another.")
        return picture_from_photo(pattern=pattern, photo=photo, step=step)
    file = request.FILES.get("picture")
    if not file:
        raise LevelwindError("No picture came: choose one, then press the button.")
    return picture_keep(pattern=pattern, read=photo_of(file), step=step)


def _home(pattern: Pattern, step: str) -> str:
    return (
        reverse("pattern_step", args=[pattern.pk, step])
        if step
        else reverse("pattern", args=[pattern.pk]) + "#pictures"
    )


@require_http_methods(["GET", "HEAD", "POST"])
def picture_page(request: Request, pk: int, picture: int) -> HttpResponse:
    """A tap puts a number on an exploded picture, or takes it away again; arrows and a button do the same."""
    found = picture_find(pk, picture)
    if found is None:
        raise Http404(picture)
    if request.method != "POST":
        return _draw(request, found)
    try:
        return _done(request, found)
    except LevelwindError as refusal:
        found.refresh_from_db()
        return _draw(request, found, spoken(refusal))


def _build(request: Request, pattern: Pattern) -> Build | None:
    """The build whose places are numbered, where one was chosen."""
    return build_find(pattern.pk, key_in(request.GET.get("build")) or 0)


def _done(request: Request, picture: PatternPicture) -> HttpResponse:
    act = request.POST.get("act", "")
    if act == "remove":
        picture_remove(picture=picture)
        return redirect(_home(picture.pattern, picture.step))
    if act == "caption":
        picture_caption(picture=picture, caption=request.POST.get("caption", ""))
    elif place := request.POST.get("away"):
        number_away(picture=picture, place=place)
    elif act == "put" and not picture.step:
        across, down = (_share(request.POST.get(name, "")) for name in ("across", "down"))
        build = _build(request, picture.pattern)
        number_put(picture=picture, across=across, down=down, place=request.POST.get("place", ""), build=build)
    return redirect(request.get_full_path())


def _share(percent: str) -> float:
    try:
        return float(typed_number(percent)) / 100
    except InputError:
        raise InputError("place on the picture", f"“{percent[:20]}”", "from 0 to 100 %") from None


def _draw(request: Request, picture: PatternPicture, refusal: str = "") -> HttpResponse:
    pattern, build = picture.pattern, _build(request, picture.pattern)
    shown = next((one for one in exploded(pattern, build) if one.picture == picture), None)
    context = PictureContext(
        pattern=pattern,
        build=build,
        builds=tuple(pattern.builds.all()) if shown else (),
        picture=picture,
        shown=shown,
        places=pattern_layout(pattern, build).places,
        refusal=refusal,
        back=_home(pattern, picture.step),
    )
    return page(request, "patterns/picture.html", context, status=422 if refusal else 200)


urlpatterns = [
    path("<int:pk>/picture/add/", picture_offer_page, name="pattern_picture_offer"),
    path("<int:pk>/picture/keep/", picture_add_act, name="pattern_picture_add"),
    path("<int:pk>/picture/<int:picture>/", picture_page, name="pattern_picture"),
]
