"""Builds of a pattern: in which years or serial numbers it was made how."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models.deletion import ProtectedError

from levelwind.core.errors import LevelwindError
from levelwind.reference.builds import refuse_unknown_builds
from levelwind.shop.models import Build, Pattern
from levelwind.shop.patterns.services.layouts import refuse_broken


@transaction.atomic
def build_save(
    *,
    build: Build,
    name: str,
    year_from: int | None = None,
    year_to: int | None = None,
    serial_from: str = "",
    serial_to: str = "",
    gear_ratio: float | None = None,
    built_as: Sequence[str] = (),
    note: str = "",
) -> Build:
    """Write what is known of a build, new or old. Refused where its name stands twice or the years are turned round."""
    refuse_unknown_builds(build.pattern.family, built_as)
    build.name, build.note = " ".join(name.split()), note.strip()
    build.year_from, build.year_to, build.gear_ratio = year_from, year_to, gear_ratio
    build.serial_from, build.serial_to = serial_from.strip(), serial_to.strip()
    build.built_as = list(built_as)
    if not build.name:
        raise LevelwindError("A build needs a name: its years or what is otherwise will do.")
    if year_from and year_to and year_to < year_from:
        raise LevelwindError(f"“Made until” can be {year_from} or later. It was {year_to}.")
    try:
        build.full_clean()
    except ValidationError as refusal:
        raise LevelwindError(" ".join(refusal.messages)) from refusal
    build.save()
    refuse_broken(build)
    return build


@transaction.atomic
def build_drop(*, build: Build) -> None:
    """Take a build out of the book. Refused while a job names it."""
    try:
        build.delete()
    except ProtectedError:
        raise LevelwindError(f"A job names the build “{build}”: it stays in the book.") from None


@transaction.atomic
def pattern_built_as(*, pattern: Pattern, built_as: Sequence[str]) -> Pattern:
    """Say of which builds of its family every reel of the pattern is."""
    refuse_unknown_builds(pattern.family, built_as)
    pattern.built_as = list(built_as)
    pattern.full_clean()
    pattern.save(update_fields=["built_as"])
    refuse_broken(pattern)
    return pattern
