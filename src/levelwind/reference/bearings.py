"""Ball bearings of 1 to 16 mm bore, metric and inch: open, shielded, sealed and flanged."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class BearingRow:
    """One bearing. ``size`` is its bare designation, shared by open, shielded and flanged ones of one size; mm."""

    size: str
    designation: str
    system: str
    closure: str
    bore_mm: float
    outer_mm: float
    width_mm: float
    flange_mm: float | None
    provenance: str
    note: str
    source: str
    second_source: str
    dynamic_N: float | None
    """Basic dynamic load rating, N; None where no catalogue was read."""


@cache
def bearings() -> tuple[BearingRow, ...]:
    """Every row of the table, in its order.

    >>> next(row for row in bearings() if row.size == "623").outer_mm
    10.0
    """
    table = resources.files("levelwind.reference").joinpath("tables/bearings.csv").read_text(encoding="utf-8")
    return tuple(
        BearingRow(
            row["size"],
            row["designation"],
            row["system"],
            row["closure"],
            float(row["bore_mm"]),
            float(row["od_mm"]),
            float(row["width_mm"]),
            float(row["flange_od_mm"]) if row["flange_od_mm"] else None,
            row["provenance"],
            row["note"],
            row["source"],
            row["second_source"],
            float(row["C_dyn_N"]) if row["C_dyn_N"] else None,
        )
        for row in csv.DictReader(table.splitlines())
    )
