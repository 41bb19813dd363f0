"""Pictures made ready for the press: upright, no larger than paper can show, readable to the end."""

from base64 import b64encode
from collections.abc import Iterable
from dataclasses import dataclass
from io import BytesIO
from xml.sax.saxutils import escape

from PIL import Image, ImageOps

from levelwind.documents.letters import FACES

LONGEST_SIDE = 1000
"""Pixels. Over 60 mm, about the widest a picture is printed, that is some 420 to the inch."""

MARK_RADIUS = 0.022
"""Of the picture's width: on a picture as wide as the page its number stands in type that is read at arm's length."""

READABLE = ("JPEG", "PNG", "WEBP")


@dataclass(frozen=True, slots=True)
class Mark:
    """A number put on a picture, its middle from 0 to 1 of the picture's width and height."""

    across: float
    down: float
    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo as bytes (JPEG, PNG or WebP), what it shows in words, and the numbers put on it."""

    data: bytes
    caption: str = ""
    marks: tuple[Mark, ...] = ()


def prepared(picture: Picture) -> bytes | None:
    """The picture as the press takes it, a JPEG inside an SVG, or None when it cannot be read as a picture.

    It is decoded and written anew even if small: a cut-off file shows here and not at the customer's, and what a
    camera hides in a file (where it was taken) does not go out with the paper.
    """
    try:
        with Image.open(BytesIO(picture.data), formats=READABLE) as image:
            image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(image)
            upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            return _as_svg(upright.size, _as_jpeg(upright), picture.marks)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None


def in_page(picture: Picture) -> str:
    """The picture as an address that holds all of it, for a page that stands alone; empty where it cannot be read."""
    made = prepared(picture)
    return f"data:image/svg+xml;base64,{b64encode(made).decode()}" if made else ""


def _as_jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    (_on_white(image) if image.has_transparency_data else image.convert("RGB")).save(out, "JPEG", quality=85)
    return out.getvalue()


def _on_white(image: Image.Image) -> Image.Image:
    paper = Image.new("RGB", image.size, "white")
    layer = image.convert("RGBA")
    paper.paste(layer, mask=layer)
    return paper


def _as_svg(size: tuple[int, int], jpeg: bytes, marks: Iterable[Mark] = ()) -> bytes:
    """typst takes files from memory only as text; the JPEG's own bytes still end up in the PDF unchanged."""
    width, height = size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
        f'<image width="{width}" height="{height}" href="data:image/jpeg;base64,{b64encode(jpeg).decode()}"/>'
        f"{''.join(_mark(mark, width, height) for mark in marks)}</svg>"
    ).encode()


def _mark(mark: Mark, width: int, height: int) -> str:
    x, y, radius = mark.across * width, mark.down * height, MARK_RADIUS * width
    round_it = f'fill="white" stroke="black" stroke-width="{radius / 12:.1f}"'
    type_of_it = f'text-anchor="middle" font-family="{FACES[0]}" font-size="{radius:.1f}"'
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" {round_it}/>'
        f'<text x="{x:.1f}" y="{y + 0.36 * radius:.1f}" {type_of_it}>{escape(mark.text)}</text>'
    )
