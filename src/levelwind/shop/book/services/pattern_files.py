"""One pattern out to a file, and in again: hostile until read."""

import json
from math import isfinite
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.forms.models import model_to_dict

from levelwind.core.errors import InputError, LevelwindError
from levelwind.reference.builds import shipped_builds
from levelwind.reference.toml_rows import LARGEST
from levelwind.reference.unknown_reels import looks_at_unknown
from levelwind.shop.book.services.pattern_file_pictures import (
    JSON_NAME,
    is_zip,
    pictures_in,
    pictures_read,
    pictures_told,
    unzipped,
    zipped,
)
from levelwind.shop.models import Build, Fit, Part, Pattern, PatternPlace, PatternSign, PlaceLimit
from levelwind.shop.naming.services import sign_add
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.patterns.services.builds import build_save, pattern_built_as
from levelwind.shop.patterns.services.layouts import refuse_broken, says_set
from levelwind.shop.patterns.services.limits import place_limit_set
from levelwind.shop.patterns.services.patterns import pattern_add, pattern_drag_set, pattern_place_set

KIND = "levelwind pattern"
LARGEST_BYTES = 1_000_000
"""Bytes of a pattern's file without pictures. Our choice: twenty times the largest; more is something else."""
MOST_ROWS = 600
"""Builds, places or fits of one file: as many places as a pattern may have."""
NAMED = ("maker", "model", "size", "family")
NOT_OUT = {"id", "pattern", "retired_on", "merged_into", "recorded_from", "like", *NAMED}
BUILD_FACTS = ("name", "year_from", "year_to", "serial_from", "serial_to", "gear_ratio", "built_as", "note")


def pattern_file(pattern: Pattern) -> bytes:
    """The pattern as JSON: its facts, places, steps, drag, builds, signs, limits of wear, and the pattern it is like.

    Fits by number, also what does not fit. Nothing of an owner.
    """
    return _written(_pattern_told(pattern))


def pattern_file_with_pictures(pattern: Pattern) -> bytes:
    """The same as a zip, its pictures beside it with their numbers."""
    rows, files = pictures_told(pattern)
    return zipped({JSON_NAME: _written({**_pattern_told(pattern), "pictures": rows}), **files})


def _written(told: dict[str, Any]) -> bytes:
    return json.dumps(told, indent=1, ensure_ascii=False).encode()


def _pattern_told(pattern: Pattern) -> dict[str, Any]:
    fits = Fit.objects.filter(pattern=pattern).select_related("part").order_by("place", "part__number", "basis")
    like = pattern.like
    return {
        "kind": KIND,
        **{name: getattr(pattern, name) for name in NAMED},
        "facts": {name: value for name, value in model_to_dict(pattern).items() if name not in NOT_OUT},
        "places": [_row(row) for row in pattern.places.order_by("key")],
        "builds": [_row(build) for build in pattern.builds.all()],
        "signs": [_row(sign) for sign in pattern.signs.all()],
        "fits": [
            {"place": f.place, "part": f.part.number, "basis": f.basis, "sure": f.sure, "serves": f.serves}
            for f in fits
        ],
        "limits": [_row(limit) for limit in pattern.limits.order_by("place", "dimension")],
        "like": {name: getattr(like, name) for name in ("maker", "model", "size")} if like else None,
    }


def _row(row: PatternPlace | PatternSign | PlaceLimit | Build) -> dict[str, Any]:
    return {name: value for name, value in model_to_dict(row).items() if name not in NOT_OUT}


def pattern_read(*, content: bytes, said_by: str = "") -> tuple[Pattern, tuple[str, ...]]:
    """The pattern of such a file written into the book, with its pictures where it is a zip.

    And what could not be said: numbers of parts that are not on the shelf, the pattern it is like. Raises
    LevelwindError, and writes nothing, for what is too large, not such a file, in the book already, goes in a circle,
    leaves a piece in, or says more than sure.
    """
    files = unzipped(content) if is_zip(content) else {JSON_NAME: content}
    told = _told(files[JSON_NAME])
    pictures = pictures_read(_rows(told, "pictures"), files)
    with transaction.atomic():
        pattern, lacking = _in(told, said_by)
        pictures_in(pattern, pictures)
    return pattern, lacking


def _in(told: dict[str, Any], said_by: str) -> tuple[Pattern, tuple[str, ...]]:
    facts, builds, fits = told.get("facts", {}), _rows(told, "builds"), _rows(told, "fits")
    for row in fits:
        _refuse_unsure(row)
    try:
        pattern = pattern_add(
            maker=_text(told, "maker"),
            model=_text(told, "model"),
            size=_text(told, "size"),
            family_key=_text(told, "family"),
        )
        _facts_in(pattern, facts)
        _places_in(pattern, _rows(told, "places"))
        for row in builds:
            _build_in(pattern, row)
        for row in _rows(told, "signs"):
            _sign_in(pattern, row)
        refuse_broken(pattern)
        for row in _rows(told, "limits"):
            _limit_in(pattern, row)
        lacking = [_text(row, "part") for row in fits if not _fit_in(pattern, row, said_by)]
        lacking += _like_in(pattern, told.get("like"))
    except ValidationError as refusal:
        raise LevelwindError(f"The file: {' '.join(refusal.messages)}") from refusal
    return pattern, tuple(dict.fromkeys(lacking))


def _told(content: bytes) -> dict[str, Any]:
    if len(content) > LARGEST_BYTES:
        raise InputError("size of the file", f"{len(content)} bytes", f"up to {LARGEST_BYTES} bytes")
    try:
        told = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise InputError("the file", "not readable as JSON", "a pattern as Levelwind writes it out") from error
    if not isinstance(told, dict) or told.get("kind") != KIND or not isinstance(told.get("facts", {}), dict):
        raise InputError("the file", "something else", "a pattern as Levelwind writes it out")
    _refuse_numbers(told)
    return told


def _refuse_numbers(told: dict[str, Any]) -> None:
    """JSON may hold numbers that are none, and whole ones of hundreds of digits."""
    waiting: list[tuple[str, Any]] = list(told.items())
    while waiting:
        key, value = waiting.pop()
        if isinstance(value, int | float) and not (isfinite(value) and abs(value) <= LARGEST):
            raise InputError(f"the file: {key}"[:80], "no number of a reel", f"up to {LARGEST:.0e}")
        if isinstance(value, dict):
            waiting += value.items()
        if isinstance(value, list):
            waiting += ((key, part) for part in value)


def _rows(told: dict[str, Any], name: str) -> list[dict[str, Any]]:
    rows = told.get(name, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"the file: {name}", repr(rows)[:60], "a list of rows")
    if len(rows) > MOST_ROWS:
        raise InputError(f"the file: number of {name}", len(rows), f"up to {MOST_ROWS}")
    return rows


def _text(row: dict[str, Any], name: str) -> str:
    value = row.get(name, "")
    if not isinstance(value, str):
        raise InputError(f"the file: {name}", repr(value)[:60], "some text")
    return value


def _keys(row: dict[str, Any], name: str) -> list[str]:
    value = row.get(name, [])
    if not isinstance(value, list) or not all(isinstance(key, str) for key in value):
        raise InputError(f"the file: {name}", repr(value)[:60], "a list of texts")
    return value


def _refuse_unsure(row: dict[str, Any]) -> None:
    sure = row.get("sure")
    if isinstance(sure, bool) or not isinstance(sure, int | float) or not 0 <= sure <= 1:
        raise InputError(f"how sure {_text(row, 'part')[:40]} fits", repr(sure)[:20], "from 0 to 1")


def _facts_in(pattern: Pattern, facts: dict[str, Any]) -> None:
    known = {field.name for field in Pattern._meta.concrete_fields} - NOT_OUT - {"says", "built_as", "drag"}
    strange = sorted(set(facts) - known - {"says", "built_as", "drag"})
    if strange:
        raise InputError("the file: facts", ", ".join(strange)[:80], "one of " + ", ".join(sorted(known)))
    for name in known & set(facts):
        setattr(pattern, name, facts[name])
    pattern.full_clean()
    pattern.save()
    pattern.places.all().delete()
    pattern_built_as(pattern=pattern, built_as=_shipped(pattern, _keys(facts, "built_as")))
    says_set(one=pattern, says=facts.get("says") or {})
    _drag_in(pattern, facts)


def _drag_in(one: Pattern | Build, facts: dict[str, Any]) -> None:
    if facts.get("drag"):
        if not isinstance(facts["drag"], dict):
            raise InputError("the file: drag", repr(facts["drag"])[:60], "a stack")
        pattern_drag_set(pattern=one, stack=facts["drag"])


def _shipped(pattern: Pattern, keys: list[str]) -> list[str]:
    """What this version ships of them: a later one may know more."""
    return [key for key in keys if key in shipped_builds(pattern.family)]


def _places_in(pattern: Pattern, rows: list[dict[str, Any]]) -> None:
    for row in rows:
        count = row.get("count")
        if count is not None and (isinstance(count, bool) or not isinstance(count, int)):
            raise InputError("the file: count", repr(count)[:20], "a whole number")
        pattern_place_set(
            pattern=pattern,
            key=_text(row, "key"),
            absent=row.get("absent") is True,
            count=count,
            part_number=_text(row, "part_number"),
            otherwise=row.get("otherwise") is True,
        )


def _build_in(pattern: Pattern, row: dict[str, Any]) -> None:
    facts = {name: row[name] for name in BUILD_FACTS if name in row}
    for name in ("name", "serial_from", "serial_to", "note"):
        _text(row, name)
    for name in ("year_from", "year_to", "gear_ratio"):
        if isinstance(row.get(name), bool) or not isinstance(row.get(name), int | float | None):
            raise InputError(f"the file: {name}", repr(row[name])[:20], "a number")
    build = build_save(build=Build(pattern=pattern), **{**facts, "built_as": _shipped(pattern, _keys(row, "built_as"))})
    says_set(one=build, says=row.get("says") or {})
    _drag_in(build, row)


def _sign_in(pattern: Pattern, row: dict[str, Any]) -> None:
    """A sign of a look that this version does not ask is left out: a later one may know more."""
    look, answer, text = (_text(row, name) for name in ("look", "answer", "text"))
    year_from, year_to = _year(row, "year_from"), _year(row, "year_to")
    looks = {each.key: {known.key for known in each.answers} for each in looks_at_unknown()}
    if text or answer in looks.get(look, ()):
        sign_add(pattern=pattern, look=look, answer=answer, text=text, year_from=year_from, year_to=year_to)


def _year(row: dict[str, Any], name: str) -> int | None:
    year = row.get(name)
    if isinstance(year, bool) or not isinstance(year, int | None):
        raise InputError(f"the file: {name}", repr(year)[:20], "a year")
    return year


def _fit_in(pattern: Pattern, row: dict[str, Any], said_by: str) -> bool:
    """Whether the part is on the shelf, so that the fit could be said."""
    part = Part.objects.filter(number__iexact=_text(row, "part")).first()
    if part is not None:
        basis, place = _text(row, "basis"), _text(row, "place")
        sure, serves = float(row["sure"]), row.get("serves") is not False
        fit_say(
            part=part,
            pattern=pattern,
            place=place,
            basis=basis,
            said_by=said_by,
            sure=sure,
            serves=serves,
        )
    return part is not None


def _limit_in(pattern: Pattern, row: dict[str, Any]) -> None:
    sizes = {name: row.get(name) for name in ("new_mm", "least_mm", "most_mm")}
    for name, size in sizes.items():
        if isinstance(size, bool) or not isinstance(size, int | float | None):
            raise InputError(f"the file: {name}", repr(size)[:20], "a size in mm")
    place, dimension, source = (_text(row, name) for name in ("place", "dimension", "source"))
    place_limit_set(pattern=pattern, place=place, dimension=dimension, source=source, **sizes)


def _like_in(pattern: Pattern, like: Any) -> list[str]:
    """Begun as another pattern: as that one of the same name here; its name, where there is none."""
    if like is None:
        return []
    if not isinstance(like, dict):
        raise InputError("the file: like", repr(like)[:60], "maker, model and size of a pattern")
    maker, model, size = (_text(like, name) for name in ("maker", "model", "size"))
    other = Pattern.objects.filter(maker__iexact=maker, model__iexact=model, size__iexact=size).first()
    pattern.like = (other.merged_into or other) if other else None
    pattern.save(update_fields=["like"])
    return [] if other else [f"the pattern {maker} {model} {size}".strip()]
