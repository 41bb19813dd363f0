"""Rings: O-rings by their standards' codes, and the clips that hold a shaft or a bearing."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class ORingRow:
    """One O-ring: inside diameter and section in mm."""

    designation: str
    standard: str
    inside_mm: float
    section_mm: float
    provenance: str
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class RetainingRingRow:
    """One clip. ``nominal_mm`` is its shaft, for DIN 472 its bore, for DIN 6799 its groove; mm."""

    designation: str
    standard: str
    nominal_mm: float
    groove_mm: float
    shaft_mm: tuple[float, float] | None
    """From where to where the shaft may lie: DIN 6799 alone."""
    thickness_mm: float
    provenance: str
    note: str
    source: str


@cache
def orings() -> tuple[ORingRow, ...]:
    """Every row of the table, in its order.

    >>> orings()[11].designation, orings()[11].inside_mm
    ('AS568-012', 9.25)
    """
    return tuple(
        ORingRow(
            row["designation"],
            row["standard"],
            float(row["id_mm"]),
            float(row["section_mm"]),
            row["provenance"],
            row["note"],
            row["source"],
        )
        for row in _rows("orings")
    )


@cache
def retaining_rings() -> tuple[RetainingRingRow, ...]:
    """Every row of the table, in its order.

    >>> retaining_rings()[3].designation, retaining_rings()[3].groove_mm
    ('DIN 471 6', 5.7)
    """
    return tuple(
        RetainingRingRow(
            row["designation"],
            row["standard"],
            float(row["nominal_mm"]),
            float(row["groove_mm"]),
            (float(row["shaft_min_mm"]), float(row["shaft_max_mm"])) if row["shaft_min_mm"] else None,
            float(row["thickness_mm"]),
            row["provenance"],
            row["note"],
            row["source"],
        )
        for row in _rows("retaining_rings")
    )


def _rows(name: str) -> Iterable[dict[str, str]]:
    table = resources.files("levelwind.reference").joinpath(f"tables/{name}.csv").read_text(encoding="utf-8")
    return csv.DictReader(table.splitlines())
