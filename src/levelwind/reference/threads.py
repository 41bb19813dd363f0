"""Standard screw threads: ISO metric, Unified and British Association, as a star, a knob or a screw may carry them."""

import csv
import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib import resources

from levelwind.core.drag.clamp import Thread, pitch_radius_m
from levelwind.core.errors import InputError

LONGEST = 40
"""Letters of a designation that are read: the longest standard one has 12."""

METRIC = re.compile(r"m(\d+\.?\d*)(?:x(\d*\.?\d+))?(?:-\d[gh])?")
ASSOCIATION = re.compile(r"(?:ba(\d+)|(\d+)ba)")
INCH = re.compile(r"(?:#|no\.?)?(\d+(?:/\d+)?)(?:in)?[-x](\d+)(?:tpi)?-?(unc|unf)?(?:-?2a)?")

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StandardThread:
    """One thread of a standard, at its basic size. ``pitch_diameter_m`` is what the formula of the clamp rubs on.

    ``major_limits_m`` is from where to where a new screw's outside may lie: class 6g (6h to M1.4), 2A or normal bolt.

    ``half_angle_deg`` is half of the thread angle: 30 for metric and Unified, 23.75 for British Association.
    """

    designation: str
    system: str
    series: str
    major_diameter_m: float
    major_limits_m: tuple[float, float]
    pitch_m: float
    pitch_diameter_m: float
    half_angle_deg: float
    provenance: str
    note: str
    source: str

    def turning(self, collar_radius_m: float = 0.0) -> Thread:
        """The same as the clamp's formula takes it, single start, with the radius where the turned part rubs."""
        return Thread(self.pitch_diameter_m / 2, self.pitch_m, self.half_angle_deg, collar_radius_m)


@cache
def standard_threads() -> tuple[StandardThread, ...]:
    """Every row of the table, in its order.

    >>> standard_threads()[0].designation, len(standard_threads())
    ('M1x0.25', 98)
    """
    table = resources.files("levelwind.reference").joinpath("tables/threads.csv").read_text(encoding="utf-8")
    return tuple(_row(row) for row in csv.DictReader(table.splitlines()))


def designations() -> tuple[str, ...]:
    """How each thread is written, in the table's order.

    >>> designations()[13], designations()[-17]
    ('M5x0.8', '0BA')
    """
    return tuple(row.designation for row in standard_threads())


def thread(designation: str) -> StandardThread:
    """The thread written so; spaces, capitals, x or ×, the # and the UNC or UNF may differ, and M6 alone is coarse.

    Raises InputError with the nearest designations there are.

    >>> found = thread("m6 × 1")
    >>> found.designation, 1000 * found.pitch_m, 1000 * found.pitch_diameter_m
    ('M6x1', 1.0, 5.350)
    """
    key = _key(designation[:LONGEST])
    if key is None or key not in _by_key():
        raise InputError("thread", repr(designation[:LONGEST]), _near(designation[:LONGEST]))
    return _by_key()[key]


def _row(row: dict[str, str]) -> StandardThread:
    major, pitch = float(row["nominal_major_mm"]) / 1000, float(row["pitch_mm"]) / 1000
    effective = float(row["effective_mm"]) / 1000 if row["effective_mm"] else 2 * pitch_radius_m(major, pitch)
    return StandardThread(
        row["designation"],
        row["system"],
        row["series"],
        major,
        (float(row["major_min_mm"]) / 1000, float(row["major_max_mm"]) / 1000),
        pitch,
        effective,
        float(row["flank_angle_deg"]) / 2,
        row["provenance"],
        row["note"],
        row["source"],
    )


@cache
def _by_key() -> dict[Key, StandardThread]:
    """Every way to write a thread that says which one is meant, coarse metric ones without their pitch too."""
    found: dict[Key, StandardThread] = {}
    for row in standard_threads():
        key = _key(row.designation) or ()
        found[key] = row
        if key[0] == "in":
            found[(*key[:3], "")] = row
        if row.series == "coarse":
            found[(*key[:2], "")] = row
    return found


def _key(text: str) -> Key | None:
    """System, size, pitch or threads an inch, series; None where the text is no designation at all."""
    plain = unicodedata.normalize("NFKC", text).casefold().replace("×", "x").replace("⁄", "/").replace(",", ".")
    plain = "".join(plain.split())
    if metric := METRIC.fullmatch(plain):
        return "m", f"{float(metric[1]):g}", f"{float(metric[2]):g}" if metric[2] else ""
    if association := ASSOCIATION.fullmatch(plain):
        return "ba", str(int(association[1] or association[2]))
    if inch := INCH.fullmatch(plain):
        return "in", inch[1], inch[2], inch[3] or ""
    return None


def _near(text: str) -> str:
    near = get_close_matches(text, designations(), n=5, cutoff=0.5)
    return "a standard thread, such as " + ", ".join(near or ["M6x1", "1/4-28 UNF", "2BA"])
