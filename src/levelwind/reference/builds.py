"""Builds of a family's reels that ship with it: bushings in place of bearings, a plate with one screw, a stacked drag.

Each is a file in the family's folder, ``builds/KEY.toml``: a name, a sentence, a layer over the family (the tables
"places", "takedown", "lubrication"), and a ``[stack]`` where its drag is another. A pattern is built as some of them,
or a build of it is.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from levelwind.core.errors import InputError
from levelwind.reference.layers import HEADINGS, Layer, Under, refuse_misshapen
from levelwind.reference.toml_rows import TomlTable, read_toml


@dataclass(frozen=True, slots=True)
class ShippedBuild:
    """A way in which some reels of a family are built. ``stack`` is its usual drag, None where it is the family's."""

    key: str
    name: str
    sentence: str
    layer: Layer
    stack: dict[str, Any] | None


@cache
def shipped_builds(family: str) -> dict[str, ShippedBuild]:
    """Every build of the family that ships, by key; checked as it is read.

    >>> list(shipped_builds("fly"))
    ['sealed_drag', 'stacked_drag']
    """
    folder = resources.files("levelwind.reference").joinpath("families", family, "builds")
    files = sorted(folder.iterdir(), key=lambda file: file.name) if folder.is_dir() else []
    return {
        file.name.removesuffix(".toml"): _build(family, file.name, file.read_text(encoding="utf-8")) for file in files
    }


def layers_of(family: str, keys: Iterable[str]) -> list[Layer]:
    """The layers of these builds, in the order they ship; a key that does not is passed over."""
    chosen = set(keys)
    return [build.layer for key, build in shipped_builds(family).items() if key in chosen]


def refuse_unknown_builds(family: str, keys: Iterable[str]) -> None:
    """Raises InputError for a key that no build of the family has."""
    known = shipped_builds(family)
    for key in keys:
        if key not in known:
            raise InputError("built as", repr(key)[:60], "one of " + (", ".join(known) or "none: this family has none"))


def _build(family: str, name: str, text: str) -> ShippedBuild:
    file = read_toml(f"{family}/builds/{name}", text)
    made = ShippedBuild(
        key=name.removesuffix(".toml"),
        name=file.text("name"),
        sentence=file.text("sentence"),
        layer={part: file.row(part).values for part in HEADINGS if part in file.values},
        stack=_stack(file) if "stack" in file.values else None,
    )
    for part in HEADINGS:
        file.row(part)
    file.done()
    refuse_misshapen(made.layer, file.where)
    Under(family).checked(made.layer, file.where)
    return made


def _stack(file: TomlTable) -> dict[str, Any]:
    return file.row("stack").values
