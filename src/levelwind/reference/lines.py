"""The record rules' line classes."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class LineClass:
    """A record class: what is printed on the label, and the strength wet that it may not pass, in N."""

    rating_lb: float
    class_kg: float
    most_N: float
    provenance: str
    source: str


@cache
def line_classes() -> tuple[LineClass, ...]:
    """The line classes, lightest first.

    >>> line_classes()[7].rating_lb, line_classes()[7].most_N
    (30.0, 147.1)
    """
    table = resources.files("levelwind.reference").joinpath("tables/fishing_lines.csv").read_text(encoding="utf-8")
    return tuple(
        LineClass(
            float(row["rating_lb"]),
            float(row["class_kg"]),
            float(row["strength_N"]),
            row["provenance"],
            row["source"],
        )
        for row in csv.DictReader(table.splitlines())
        if row["class_kg"]
    )
