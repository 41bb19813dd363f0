"""The pictures of a pattern's file: a zip of its JSON and its JPEGs, hostile until read."""

import io
import re
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from levelwind.core.errors import InputError
from levelwind.recordings.photos import Photo, read_photo
from levelwind.shop.models import Pattern
from levelwind.shop.patterns.selectors.layouts import pattern_family, pattern_layout
from levelwind.shop.patterns.services.pictures import MOST_PICTURES, picture_keep

JSON_NAME = "pattern.json"
PICTURE_NAME = re.compile(r"pictures/[0-9]{1,3}\.jpg")
LARGEST_ZIP = 40_000_000
"""Bytes of a pattern's file with its pictures, packed and unpacked: a megabyte for each it may have. Our choice."""


@dataclass(frozen=True, slots=True)
class PictureRead:
    """A picture of the file, decoded, and what its row says of it."""

    read: Photo
    step: str
    caption: str
    numbers: tuple[dict[str, Any], ...]


def pictures_told(pattern: Pattern) -> tuple[list[dict[str, Any]], dict[str, bytes]]:
    """A row for each picture of the pattern, and the files by name; one whose file is lost is left out."""
    rows, files = [], {}
    for number, picture in enumerate(pattern.pictures.all(), start=1):
        name = f"pictures/{number}.jpg"
        try:
            with picture.picture.open() as file:
                files[name] = file.read()
        except OSError:
            continue
        rows.append({"file": name, "step": picture.step, "caption": picture.caption, "numbers": picture.numbers})
    return rows, files


def zipped(files: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        for name, content in files.items():
            packed.writestr(zipfile.ZipInfo(name), content)
    return out.getvalue()


def is_zip(content: bytes) -> bool:
    return content[:4] == b"PK\x03\x04"


def unzipped(content: bytes) -> dict[str, bytes]:
    """The files of such a zip by name. Raises InputError for one too large, damaged, locked, or of other things."""
    if len(content) > LARGEST_ZIP:
        raise InputError("size of the file", f"over {LARGEST_ZIP // 10**6} MB", f"up to {LARGEST_ZIP // 10**6} MB")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            entries = packed.infolist()
            _refuse_entries(entries)
            return {entry.filename: _unpacked(packed, entry) for entry in entries}
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise InputError("the file", "a damaged zip", "a pattern as Levelwind writes it out") from error


def _refuse_entries(entries: Sequence[zipfile.ZipInfo]) -> None:
    names = [entry.filename for entry in entries]
    strange = [name for name in names if name != JSON_NAME and not PICTURE_NAME.fullmatch(name)]
    if JSON_NAME not in names or strange or len(set(names)) != len(names):
        held = (strange or names or ["nothing"])[0][:60]
        raise InputError("the zip", f"one that holds {held!r}", f"one {JSON_NAME} with pictures/1.jpg and so on")
    if len(entries) > MOST_PICTURES + 1:
        raise InputError("pictures in the zip", len(entries) - 1, f"up to {MOST_PICTURES}")
    if sum(entry.file_size for entry in entries) > LARGEST_ZIP:
        raise InputError("the zip, unpacked", f"over {LARGEST_ZIP // 10**6} MB", f"up to {LARGEST_ZIP // 10**6} MB")
    if any(entry.flag_bits & 1 or entry.compress_type not in (0, zipfile.ZIP_DEFLATED) for entry in entries):
        raise InputError("the zip", "one that is locked or packed in a rare way", "a plain zip")


def _unpacked(packed: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """Read no further than the zip itself says: what it says is looked at before."""
    with packed.open(entry) as file:
        return file.read(entry.file_size)


def pictures_read(rows: Sequence[dict[str, Any]], files: Mapping[str, bytes]) -> list[PictureRead]:
    """The rows checked and the pictures decoded, before the book is touched."""
    if len(rows) > MOST_PICTURES:
        raise InputError("the file: pictures", len(rows), f"up to {MOST_PICTURES}")
    return [_read(row, files) for row in rows]


def _read(row: dict[str, Any], files: Mapping[str, bytes]) -> PictureRead:
    name, step, caption = (row.get(word, "") for word in ("file", "step", "caption"))
    if not isinstance(name, str) or not PICTURE_NAME.fullmatch(name) or name not in files:
        raise InputError("the file: a picture", repr(name)[:60], "one that lies in the zip")
    for word, value, most in (("step", step, 60), ("caption", caption, 120)):
        if not isinstance(value, str) or len(value) > most:
            raise InputError(f"{name}: {word}", repr(value)[:60], f"up to {most} letters")
    numbers = row.get("numbers", [])
    if not isinstance(numbers, list) or len(numbers) > 600 or not all(isinstance(one, dict) for one in numbers):
        raise InputError(f"{name}: numbers", repr(numbers)[:60], "rows of place, across and down")
    return PictureRead(read_photo(files[name], name=name), step, caption, tuple(_number(name, one) for one in numbers))


def _number(name: str, row: dict[str, Any]) -> dict[str, Any]:
    place, across, down = (row.get(word) for word in ("place", "across", "down"))
    if not isinstance(place, str) or len(place) > 60:
        raise InputError(f"{name}: place", repr(place)[:60], "the key of a place")
    for word, value in (("across", across), ("down", down)):
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
            raise InputError(f"{name}: {word} of {place}"[:80], repr(value)[:20], "from 0 to 1")
    return {"place": place, "across": across, "down": down}


def pictures_in(pattern: Pattern, pictures: Sequence[PictureRead]) -> None:
    """Keep them. A step or a place that this version does not know is left out: a later one may know more."""
    kins = (pattern_family(pattern), *(pattern_layout(pattern, build).family for build in pattern.builds.all()))
    steps = {step.key for kin in kins for step in kin.rules.steps}
    places = {place.key for kin in kins for place in kin.places}
    for one in pictures:
        if one.step and one.step not in steps:
            continue
        kept = picture_keep(pattern=pattern, read=one.read, step=one.step, caption=one.caption)
        known = {row["place"]: row for row in one.numbers if row["place"] in places}
        kept.numbers = list(known.values())
        kept.full_clean()
        kept.save(update_fields=["numbers"])
