"""Pictures of the measuring sheet into the book, and what is measured on them on to the shelf."""

from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from levelwind.core.codec import as_stored
from levelwind.core.errors import LevelwindError
from levelwind.core.fits.sheet_sizes import Said
from levelwind.core.writing import written
from levelwind.recordings.sheet_photo import read_sheet
from levelwind.shop.jobs.services.photos import source_of
from levelwind.shop.models import Job, Part, SheetPicture
from levelwind.shop.parts.selectors.sheets import SheetMeasured, SizeChange, changes_at, sizes_of, written_of
from levelwind.shop.parts.selectors.shelf import part_with_number
from levelwind.shop.parts.services.shelf import part_add

KIND_OF_LOOKS = {"eared": "eared_washer", "threaded": "screw", "toothed": "gear", "six-sided": "nut"}
"""What kind of part a piece is put on the shelf as; the rest is for the person to say."""


def sheet_add(*, file: Any, job: Job | None = None, by: str = "") -> SheetPicture:
    """Read a picture and keep it straightened with what it shows; the printed lines measured last time count on.

    A picture that was sent before, pressed twice or forgotten, is the one that is there. Raises LevelwindError that
    says what is wrong with the picture. It is read before the book is locked.
    """
    read = read_sheet(source_of(file), name=Path(str(file.name or "the picture")).name[:80])
    with transaction.atomic():
        if there := SheetPicture.objects.filter(sha256=read.sha256, job=job).first():
            return there
        before = SheetPicture.objects.filter(seen__paper=read.seen.paper).only("said").first()
        lines = {key: before.said[key] for key in ("across_mm", "down_mm") if before and key in before.said}
        picture = SheetPicture(job=job, by=by, sha256=read.sha256, seen=as_stored(read.seen), said=lines)
        picture.picture_sha256 = sha256(read.jpeg).hexdigest()
        picture.picture = ContentFile(read.jpeg, name="sheet.jpg")
        picture.full_clean()
        picture.save(force_insert=True)
    return picture


@transaction.atomic
def sheet_say(*, picture: SheetPicture, said: Said) -> SheetPicture:
    """What the printed lines measure, and how thick the pieces are; what was said before is replaced."""
    held = SheetPicture.objects.select_for_update().get(pk=picture.pk)
    lines = {"across_mm": said.across_mm, "down_mm": said.down_mm}
    written = {key: rows for key, rows in held.said.items() if key == "written"}
    held.said = written | {key: value for key, value in lines.items() if value is not None}
    held.said["pieces"] = {str(number): as_stored(row) for number, row in said.pieces.items()}
    held.full_clean()
    held.save(update_fields=["said"])
    return held


@transaction.atomic
def sheet_remove(*, picture: SheetPicture) -> None:
    """Remove a picture, and its file once no other one shows it."""
    name = str(picture.picture.name)
    picture.delete()
    if not SheetPicture.objects.filter(picture=name).exists():
        transaction.on_commit(lambda: default_storage.delete(name))


@transaction.atomic
def part_measured(
    *, sheet: SheetMeasured, number: int, part_number: str, replacing: Mapping[str, float] | None = None, by: str = ""
) -> Part:
    """The sizes of a piece written at the part of the shelf with that number; a number that is new makes a part, none
    lying there.

    ``replacing`` are the sizes that stand there and that the person has seen go. Sizes that the part has and the sheet
    does not tell stay; what stood there is kept with the picture, for the way back. Raises LevelwindError.
    """
    piece, sizes = sheet.piece(number), sizes_of(sheet, number)
    if not sizes:
        raise LevelwindError(f"Nothing was measured on piece {number} that a part's sizes can hold.")
    part = part_with_number(part_number.strip()) or part_add(
        number=part_number, name=f"piece, {piece.looks}", kind=KIND_OF_LOOKS.get(piece.looks, ""), by=by
    )
    part = Part.objects.select_for_update().get(pk=part.pk)
    changes = changes_at(part, sizes)
    unseen = [each for each in changes if each.replaces and (replacing or {}).get(each.what) != each.before]
    if unseen:
        was = ", ".join(f"{each.what} {written(each.before)} mm" for each in unseen if each.before is not None)
        raise LevelwindError(f"{part} has other sizes, which nobody said to replace: {was}.")
    if changes:
        before = {each.what: each.before for each in changes if each.before is not None}
        _written_down(sheet.picture, number, {"part": part.pk, "before": before, "after": _after(changes)})
        _sizes_set(part, {**part.sizes_mm, **_after(changes)})
    return part


@transaction.atomic
def part_put_back(*, picture: SheetPicture, number: int) -> Part:
    """The sizes that stood at a part before a piece's were written there; what was changed since stays.

    Raises LevelwindError where nothing of them stands there any more.
    """
    written = written_of(picture).get(number)
    if written is None:
        raise LevelwindError(f"The sizes of piece {number} stand at no part any more.")
    part = Part.objects.select_for_update().get(pk=written.part.pk)
    before = {each.what: each.before for each in written.changes if each.before is not None}
    kept = {what: size for what, size in part.sizes_mm.items() if what not in _after(written.changes)}
    _sizes_set(part, {**kept, **before})
    _written_down(picture, number, None)
    return part


def _after(changes: tuple[SizeChange, ...]) -> dict[str, float]:
    return {each.what: each.after for each in changes}


def _sizes_set(part: Part, sizes: Mapping[str, float]) -> None:
    part.sizes_mm = dict(sizes)
    part.full_clean()
    part.save(update_fields=["sizes_mm"])


def _written_down(picture: SheetPicture, number: int, row: Mapping[str, Any] | None) -> None:
    """With the picture: what a piece's sizes took the place of; None once it was put back."""
    held = SheetPicture.objects.select_for_update().get(pk=picture.pk)
    rows = {key: each for key, each in held.said.get("written", {}).items() if key != str(number)}
    held.said["written"] = rows if row is None else {**rows, str(number): row}
    held.save(update_fields=["said"])
