"""The measuring sheet: pieces are laid on it and one picture is taken. It must be printed at its own size."""

from datetime import date

from levelwind.core.fits.sheet import CELLS, LINE_MM, MARK_MM, Mark, sheet
from levelwind.core.writing import written
from levelwind.documents import press
from levelwind.documents.letterhead import Paper


def render(paper: Paper, shop: str, dated: date) -> bytes:
    """One page of the paper, ``shop``'s name on it."""
    return press.pdf(layout(paper, shop, dated))


def layout(paper: Paper, shop: str, dated: date) -> press.Forme:
    page = sheet(paper)
    data = {
        "paper": paper,
        "shop": shop,
        "cell": MARK_MM / CELLS,
        "cells": CELLS,
        "marks": [_drawn(mark) for mark in page.marks],
        "room": page.room,
        "across": page.line_across,
        "down": page.line_down,
        "line": f"{written(LINE_MM)} mm",
        "invented": False,
    }
    return press.Forme("measuring_sheet", data, dated)


def _drawn(mark: Mark) -> dict[str, object]:
    left, top = mark.corners[0]
    return {"x": left, "y": top, "white": mark.white}
