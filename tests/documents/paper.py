"""Reading a paper back: the words on it, and its pages as pictures. typst itself is asked; no PDF reader is needed."""

import json
from io import BytesIO

import typst
from PIL import Image

from levelwind.documents import press
from levelwind.documents.letters import MAY_BREAK, type_case

MARKED = b'#show text: it => [#it#metadata(it.text)]\n#include "paper.typ"'


def words(forme: press.Forme) -> str:
    """Everything printed on the paper, in order, one run of text a line."""
    files = press.files(forme)
    files["paper.typ"], files["main.typ"] = files["main.typ"], MARKED
    runs = json.loads(typst.query(files, "metadata", field="value", font_paths=type_case()))
    return "\n".join(run for run in runs if isinstance(run, str)).replace(MAY_BREAK, "")


def pages(forme: press.Forme, dpi: float = 40) -> list[Image.Image]:
    """The pages as pictures in shades of grey."""
    drawn = typst.compile(press.files(forme), format="png", ppi=dpi, font_paths=type_case())
    return [Image.open(BytesIO(page)).convert("L") for page in (drawn if isinstance(drawn, list) else [drawn])]


def ink_in_margin(page: Image.Image, millimetres: float, dpi: float = 40) -> bool:
    """Whether anything is printed nearer than this to an edge of the paper."""
    strip = round(millimetres / 25.4 * dpi)
    inside = page.copy()
    inside.paste(255, (strip, strip, page.width - strip, page.height - strip))
    return inside.getextrema()[0] < 250
