"""The Lewis form factor of full-depth 20 degree teeth, in both editions of its table."""

import csv
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib import resources
from math import inf

import numpy as np

from levelwind.core.errors import InputError


class Edition(StrEnum):
    """The two tables differ by up to 0.003; the older is the more cautious at most counts."""

    OLDER = "A"
    NEWER = "B"


@dataclass(frozen=True, slots=True)
class LewisRow:
    """Form factor Y for a number of teeth; a rack has infinitely many."""

    teeth: float
    y: float
    pressure_angle_deg: float
    tooth_form: str
    edition: Edition
    provenance: str
    source: str


@cache
def lewis_rows(edition: Edition) -> tuple[LewisRow, ...]:
    """One edition's rows, fewest teeth first.

    >>> lewis_rows(Edition.OLDER)[0].teeth, lewis_rows(Edition.NEWER)[0].teeth
    (10.0, 12.0)
    """
    table = resources.files("levelwind.reference").joinpath("tables/lewis_y.csv").read_text(encoding="utf-8")
    return tuple(
        LewisRow(
            inf if row["teeth"] == "rack" else float(row["teeth"]),
            float(row["Y"]),
            float(row["pressure_angle_deg"]),
            row["tooth_form"],
            edition,
            row["provenance"],
            row["source"],
        )
        for row in csv.DictReader(table.splitlines())
        if row["table"].startswith(f"{edition.value}:")
    )


def lewis_y(teeth: float, edition: Edition) -> float:
    """Form factor for a number of teeth, between rows by straight lines in 1 / teeth, as such tables are read.

    >>> lewis_y(20, Edition.OLDER), lewis_y(20, Edition.NEWER)
    (0.320, 0.322)
    """
    rows = lewis_rows(edition)
    if not rows[0].teeth <= teeth <= rows[-1].teeth:
        most = "a rack" if rows[-1].teeth == inf else f"{rows[-1].teeth:g}"
        raise InputError("number of teeth", f"{teeth:g}", f"from {rows[0].teeth:g} to {most} in table {edition.value}")
    return float(np.interp(-1 / teeth, [-1 / row.teeth for row in rows], [row.y for row in rows]))


def lewis_both(teeth: float) -> tuple[float, float]:
    """Form factor by both editions; twice the same where only one has so few or so many teeth.

    >>> lewis_both(20), lewis_both(10)
    ((0.320, 0.322), (0.201, 0.201))
    """
    there = [e for e in Edition if lewis_rows(e)[0].teeth <= teeth <= lewis_rows(e)[-1].teeth] or [Edition.OLDER]
    factors = [lewis_y(teeth, edition) for edition in there]
    return factors[0], factors[-1]
