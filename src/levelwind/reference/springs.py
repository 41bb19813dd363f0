"""Standard disc springs, DIN 2093 series A, B and C, with their printed loads."""

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from levelwind.core.drag.springs import DiscSpring
from levelwind.core.errors import InputError


@dataclass(frozen=True, slots=True)
class DiscSpringRow:
    """One size. Lengths in mm as the standard prints them; the load is at 0.75 of the cone height.

    ``printed_mm`` is that deflection rounded to 0.01 mm, which is what the printed load belongs to.
    """

    series: str
    outer_mm: float
    inner_mm: float
    thickness_mm: float
    free_mm: float
    cone_mm: float
    printed_mm: float
    load_N: float
    provenance: str
    note: str
    source: str

    @property
    def spring(self) -> DiscSpring:
        return DiscSpring(*(mm / 1000 for mm in (self.outer_mm, self.inner_mm, self.thickness_mm, self.cone_mm)))


@cache
def disc_springs() -> tuple[DiscSpringRow, ...]:
    """Every row of the table, in its order.

    >>> disc_springs()[0].load_N
    210.0
    """
    table = resources.files("levelwind.reference").joinpath("tables/disc_springs.csv").read_text(encoding="utf-8")
    return tuple(
        DiscSpringRow(
            row["series"],
            float(row["De_mm"]),
            float(row["Di_mm"]),
            float(row["t_mm"]),
            float(row["l0_mm"]),
            float(row["h0_mm"]),
            float(row["s_printed_mm"]),
            float(row["F_table_N"]),
            row["provenance"],
            row["note"],
            row["source"],
        )
        for row in csv.DictReader(table.splitlines())
    )


def disc_spring(series: str, outer_mm: float) -> DiscSpringRow:
    """The first row of a series with this outer diameter. Raises InputError with the sizes there are.

    >>> disc_spring("A", 12.5).spring.thickness_m
    0.0007
    """
    sizes = [row for row in disc_springs() if row.series == series]
    for row in sizes:
        if row.outer_mm == outer_mm:
            return row
    there = ", ".join(f"{row.outer_mm:g}" for row in sizes) or "series A, B or C"
    raise InputError("disc spring", f"{series} {outer_mm:g}", f"DIN 2093 sizes {there}")
