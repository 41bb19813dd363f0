"""Line classes, and typical diameters of lines. Typical only: measure the line in hand."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from levelwind.core.line.model import Line


@dataclass(frozen=True, slots=True)
class LineClass:
    """A record class: what is printed on the label, and the strength wet that it may not pass, in N."""

    rating_lb: float
    class_kg: float
    most_N: float
    provenance: str
    source: str


@dataclass(frozen=True, slots=True)
class TypicalLine:
    """What a label's strength usually means in diameter. ``kind`` is nylon or braid, in the table's words."""

    kind: str
    rating_lb: float
    diameter_mm: float
    strength_N: float
    provenance: str
    source: str

    @property
    def line(self) -> Line:
        return Line(f"{self.rating_lb:g} lb {self.kind.split(',')[0]}", self.diameter_mm / 1000, self.strength_N)


@cache
def line_classes() -> tuple[LineClass, ...]:
    """The line classes, lightest first.

    >>> line_classes()[7].rating_lb, line_classes()[7].most_N
    (30.0, 147.1)
    """
    return tuple(
        LineClass(
            float(row["rating_lb"]),
            float(row["class_kg"]),
            float(row["strength_N"]),
            row["provenance"],
            row["source"],
        )
        for row in _rows()
        if row["class_kg"]
    )


@cache
def typical_lines() -> tuple[TypicalLine, ...]:
    """Typical nylons, then braids, thinnest first.

    >>> typical_lines()[0].line
    Line(name='2 lb nylon monofilament', diameter_m=0.00013, strength_N=8.9)
    """
    return tuple(
        TypicalLine(
            row["kind"],
            float(row["rating_lb"]),
            float(row["diameter_mm"]),
            float(row["strength_N"]),
            row["provenance"],
            row["source"],
        )
        for row in _rows()
        if row["diameter_mm"]
    )


@cache
def _rows() -> tuple[dict[str, str], ...]:
    table = resources.files("levelwind.reference").joinpath("tables/fishing_lines.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(table.splitlines()))
