"""Pictures into the pattern book, and numbers put on them."""

from collections.abc import Collection
from hashlib import sha256
from math import hypot
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.writing import written
from levelwind.recordings.photos import Photo as PhotoRead
from levelwind.shop.models import Build, Pattern, PatternPicture, Photo
from levelwind.shop.patterns.selectors.layouts import pattern_family, pattern_layout
from levelwind.shop.patterns.selectors.pictures import place_numbers

MOST_PICTURES = 40
"""Of one pattern: one for every step of a large reel, and some exploded ones. Our choice."""
FINGER = 0.04
"""Of the picture's width: a tap this near to a number means that number. Half a finger on a phone; our choice."""


@transaction.atomic
def picture_keep(*, pattern: Pattern, read: PhotoRead, step: str = "", caption: str = "") -> PatternPicture:
    """Keep a picture that was read; the same file at the same step is kept once."""
    kept = _room(pattern).pictures.filter(sha256=read.sha256, step=step).first()
    if kept:
        return kept
    picture = PatternPicture(pattern=pattern, step=step, caption=caption.strip(), width=read.width, height=read.height)
    picture.sha256, picture.picture_sha256 = read.sha256, sha256(read.jpeg).hexdigest()
    picture.picture = ContentFile(read.jpeg, name="photo.jpg")
    picture.thumbnail = ContentFile(read.thumbnail, name="small.jpg")
    picture.full_clean()
    picture.save(force_insert=True)
    return picture


@transaction.atomic
def picture_from_photo(*, pattern: Pattern, photo: Photo, step: str = "") -> PatternPicture:
    """A photo of a job made a picture of its pattern too: one file, kept while either shows it."""
    kept = _room(pattern).pictures.filter(picture=photo.picture.name, step=step).first()
    if kept:
        return kept
    words = ("caption", "width", "height", "sha256", "picture_sha256")
    picture = PatternPicture(pattern=pattern, step=step, **{word: getattr(photo, word) for word in words})
    picture.picture, picture.thumbnail = photo.picture.name, photo.thumbnail.name
    picture.full_clean()
    picture.save(force_insert=True)
    return picture


def _room(pattern: Pattern) -> Pattern:
    """The pattern, locked. Raises InputError where it has as many pictures as it may."""
    held = Pattern.objects.select_for_update().get(pk=pattern.pk)
    if held.pictures.count() >= MOST_PICTURES:
        raise InputError("pictures of one pattern", MOST_PICTURES + 1, f"at most {MOST_PICTURES}: remove some first")
    return held


@transaction.atomic
def picture_remove(*, picture: PatternPicture) -> None:
    """Remove a picture, and its files once nothing else shows them."""
    names = [str(picture.picture.name), str(picture.thumbnail.name)]
    picture.delete()
    transaction.on_commit(lambda: files_clear(names))


def files_clear(names: list[str]) -> None:
    """Delete a picture's files, its own and its thumbnail's, unless a job or a pattern shows it still."""
    if not any(kind.objects.filter(picture=names[0]).exists() for kind in (Photo, PatternPicture)):
        for name in names:
            default_storage.delete(name)


@transaction.atomic
def picture_caption(*, picture: PatternPicture, caption: str) -> None:
    picture.caption = caption.strip()[:120]
    picture.full_clean()
    picture.save(update_fields=["caption"])


@transaction.atomic
def number_put(
    *, picture: PatternPicture, across: float, down: float, place: str = "", build: Build | None = None
) -> None:
    """Put the number of a place there, or of the next place that has none; near one that is there, take that away.

    ``across`` and ``down`` run from 0 to 1. A place that has its number on this picture has it moved. With ``build``
    the places are those of that build, its own among them; numbers that it does not show are left alone.
    """
    picture.refresh_from_db(from_queryset=PatternPicture.objects.select_for_update())
    for name, value in (("across", across), ("down", down)):
        if not 0 <= value <= 1:
            raise InputError(f"place on the picture, {name}", f"{written(100 * value)} %", "from 0 to 100 %")
    shown = {place.key for place in pattern_layout(picture.pattern, build).places}
    near = _near(picture, across, down, shown)
    if near is not None:
        return _save(picture, [row for row in picture.numbers if row is not near])
    place = place or _next(picture, build)
    if place not in shown:
        pattern_family(picture.pattern).place(place)
    others = [row for row in picture.numbers if row["place"] != place]
    _save(picture, [*others, {"place": place, "across": round(across, 4), "down": round(down, 4)}])
    return None


@transaction.atomic
def number_away(*, picture: PatternPicture, place: str) -> None:
    """Take the number of a place off the picture."""
    picture.refresh_from_db(from_queryset=PatternPicture.objects.select_for_update())
    _save(picture, [row for row in picture.numbers if row["place"] != place])


def _near(picture: PatternPicture, across: float, down: float, shown: Collection[str]) -> dict[str, Any] | None:
    tall = picture.height / picture.width
    rows = [row for row in picture.numbers if row["place"] in shown]
    apart = [(hypot(row["across"] - across, tall * (row["down"] - down)), row) for row in rows]
    nearest = min(apart, key=lambda pair: pair[0], default=(1.0, None))
    return nearest[1] if nearest[0] <= FINGER else None


def _next(picture: PatternPicture, build: Build | None) -> str:
    """The first place with no number on any picture of the pattern, in the order of their numbers."""
    has = {row["place"] for other in picture.pattern.pictures.all() for row in other.numbers}
    there = {place.key for place in pattern_layout(picture.pattern, build).places}
    for key in place_numbers(picture.pattern, build):
        if key in there - has:
            return key
    raise LevelwindError("Every place has its number: choose one from the list to move it.")


def _save(picture: PatternPicture, numbers: list[dict[str, Any]]) -> None:
    picture.numbers = numbers
    picture.full_clean()
    picture.save(update_fields=["numbers"])
