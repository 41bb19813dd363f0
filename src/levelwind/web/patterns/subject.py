"""Whose places and steps a page changes: a pattern's, or those of one build of it."""

from dataclasses import dataclass

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse

from levelwind.reference.families import Family
from levelwind.reference.family_files import Values
from levelwind.reference.layers import Under
from levelwind.shop.models import Build, Pattern
from levelwind.shop.patterns.selectors.builds import build_find
from levelwind.shop.patterns.selectors.layouts import under


@dataclass(frozen=True, slots=True)
class Subject:
    """``one`` is the pattern itself, or the build."""

    one: Pattern | Build

    @property
    def pattern(self) -> Pattern:
        return self.one if isinstance(self.one, Pattern) else self.one.pattern

    @property
    def under(self) -> Under:
        return under(self.one)

    @property
    def family(self) -> Family:
        """With the places and steps of its own."""
        return self.under.laid_out(self.one.says)

    @property
    def name(self) -> str:
        return str(self.one) if isinstance(self.one, Pattern) else f"{self.one.pattern}, build “{self.one}”"

    @property
    def home(self) -> str:
        """The page that lists its places."""
        return self.address("", named="build" if isinstance(self.one, Build) else "pattern")

    def laid_by(self, file: str, key: str = "") -> tuple[Values, ...]:
        """Its own places or steps that were taken out; with ``key`` only that one."""
        rows = (one["row"] for one in self.one.laid_by if one["file"] == file)
        return tuple(row for row in rows if key in ("", row["key"]))

    @property
    def step_keys(self) -> set[str]:
        """Keys of steps that are taken: of those there, and of its own that were taken out."""
        return {*(step.key for step in self.family.rules.steps), *(row["key"] for row in self.laid_by("takedown"))}

    @property
    def places_out(self) -> tuple[tuple[str, str, str], ...]:
        """The places of its own that were taken out: key, name, and where the press that brings one back leads."""
        return tuple((row["key"], row["name"], self.address("place_act", row["key"])) for row in self.laid_by("places"))

    @property
    def takedown(self) -> str:
        return self.address("takedown")

    @property
    def step_add(self) -> str:
        return self.address("step_add")

    def address(self, name: str, *keys: str, named: str = "") -> str:
        if isinstance(self.one, Pattern):
            return reverse(named or f"pattern_{name}", args=[self.one.pk, *keys])
        return reverse(named or f"build_{name}", args=[self.one.pattern_id, self.one.pk, *keys])


def subject_or_404(pk: int, build: int | None) -> Subject:
    found = get_object_or_404(Pattern, pk=pk) if build is None else build_find(pk, build)
    if found is None:
        raise Http404(build)
    return Subject(found)
