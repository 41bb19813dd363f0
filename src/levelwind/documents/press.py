"""The press: a layout and what it is to say, in; PDF bytes, out.

Words travel to typst as data and are never read as markup; a layout sees only the files handed to it, all in memory.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import cache
from pathlib import Path
from typing import Any

import typst

from levelwind.documents.letters import BOX, FACES, fit_to_print, type_case
from levelwind.documents.picture import Picture, prepared

LAYOUTS = Path(__file__).with_name("layouts")
SHARED = "house", "drawings", "slips"
"""What the layouts import: the look, the drawings to scale, and words in rooms of fixed size."""


@dataclass(frozen=True, slots=True)
class Forme:
    """A page made up for printing: the layout's name, what it says, and the day that stands in the file as its own.

    ``data`` holds text, numbers, ``None``, ``Picture``, SVG drawings as bytes, and lists and mappings of these.
    """

    layout: str
    data: Mapping[str, object]
    dated: date


def pdf(forme: Forme, standards: Sequence[str] = ()) -> bytes:
    """Print it. The same forme gives the same bytes. ``standards`` as typst names them, such as ``a-2b``."""
    noon = datetime.combine(forme.dated, time(12), UTC)
    printed: bytes = typst.compile(
        files(forme),  # type: ignore[call-overload]
        format="pdf",
        font_paths=type_case(),
        timestamp=int(noon.timestamp()),
        pdf_standards=list(standards),
    )
    return printed


def files(forme: Forme) -> dict[str, bytes]:
    """What typst is given, name by name: the layout as ``main.typ``, what it imports, the data, the pictures."""
    drawn: dict[str, bytes] = {}
    data = {**_set_in_type(forme.data, drawn), "faces": FACES, "boxed": bool(_boxed(forme.data))}
    return {
        "main.typ": _layout(forme.layout),
        **{f"{name}.typ": _layout(name) for name in SHARED},
        "data.json": json.dumps(data, allow_nan=False).encode(),
        **drawn,
    }


def cautions(forme: Forme) -> tuple[str, ...]:
    """What the paper could not carry, in words for the person who prints it; empty when it carries everything."""
    said = []
    if boxed := _boxed(forme.data):
        said.append(f"Some letters are not in the type and print as {BOX}: {', '.join(boxed)}. Add them by hand.")
    for picture in _leaves(forme.data):
        if isinstance(picture, Picture) and prepared(picture) is None:
            said.append(f"The picture {picture.caption or 'without a caption'} could not be read and is left out.")
    if json.loads(typst.query(files(forme), "<cut-off>", font_paths=type_case())):  # type: ignore[type-var]
        said.append("Some words are too long for their place and are cut off; the job holds them whole.")
    return tuple(said)


@cache
def _layout(name: str) -> bytes:
    return (LAYOUTS / f"{name}.typ").read_bytes()


def _set_in_type(value: Any, drawn: dict[str, bytes]) -> Any:
    """The value as JSON can hold it; pictures and drawings go to ``drawn`` and leave their file's name behind."""
    match value:
        case str():
            return fit_to_print(value)
        case bytes():
            return _file(value, drawn)
        case Picture():
            image = prepared(value)
            return {"file": image and _file(image, drawn), "caption": fit_to_print(value.caption)}
        case Mapping():
            return {key: _set_in_type(inner, drawn) for key, inner in value.items()}
        case Sequence():
            return [_set_in_type(inner, drawn) for inner in value]
    return value


def _file(svg: bytes, drawn: dict[str, bytes]) -> str:
    name = f"drawn-{len(drawn)}.svg"
    drawn[name] = svg
    return name


def _boxed(data: object) -> list[str]:
    """The words that lost a letter, as they were written."""
    words = (word for text in _leaves(data) if isinstance(text, str) for word in text.split())
    return [word for word in dict.fromkeys(words) if BOX in fit_to_print(word) and BOX not in word]


def _leaves(value: object) -> Iterator[object]:
    if isinstance(value, Mapping):
        value = list(value.values())
    if isinstance(value, Sequence) and not isinstance(value, str | bytes):
        for inner in value:
            yield from _leaves(inner)
    else:
        yield value
        if isinstance(value, Picture):
            yield value.caption
