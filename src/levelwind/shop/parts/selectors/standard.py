"""The standard part that a place's sizes are most likely of, with what matters of it where it sits."""

from collections.abc import Mapping
from dataclasses import dataclass

from levelwind.core.errors import LevelwindError
from levelwind.core.fits import Measurement, recognise
from levelwind.core.fits.model import Found
from levelwind.core.fits.report import variants
from levelwind.core.quantities import percent, whole
from levelwind.core.writing import written
from levelwind.reference.bearings import bearings
from levelwind.reference.rings import orings, retaining_rings
from levelwind.reference.springs import disc_springs
from levelwind.reference.standard_parts import disc_spring_name, table
from levelwind.shop.parts.selectors.fits import FEWEST_SIZES
from levelwind.shop.parts.selectors.sizes import KNOWN_BY, PART_NAMES, STANDARD_OF, number_on_shelf

STANDARD_LEAST = 0.5
"""A standard size is offered from even odds on: our choice."""

ROUND_MM = 0.3
"""mm; by how much half the difference of its diameters may be off the section of a ring that is round: our choice."""


@dataclass(frozen=True, slots=True)
class Standard:
    """``name`` is the designation of the tables; ``number`` and ``what`` are the part's on the shelf."""

    name: str
    number: str
    what: str
    why: str
    sure: float


def standard_part(kind: str, sizes_mm: Mapping[str, float]) -> Standard | None:
    """Of a place of this kind with these sizes, mm; None where none is likely enough or too little is known."""
    made = STANDARD_OF.get(kind, "")
    # A nut in the hand is known by its bore; one on the shelf is written down by the screw that goes into it.
    piece = "thread" if made == "nut" and not sizes_mm.get("inner diameter") else made
    read = {field: Measurement(sizes_mm[name]) for name, field in KNOWN_BY.get(piece, {}).items() if sizes_mm.get(name)}
    if len(read) < FEWEST_SIZES or (piece == "oring" and not _is_round(sizes_mm)):
        return None
    try:
        answer = recognise(table("any_clip" if piece == "clip" else piece), read)
    except LevelwindError:
        return None
    if not answer.found or answer.found[0].probability < STANDARD_LEAST:
        return None
    found = answer.found[0]
    name = found.candidate.name
    told = [f"a standard size ({found.candidate.standard}), {percent(found.probability)} by its sizes"]
    told += _made(found) if piece in ("bearing", "spring") else []
    why = "; ".join([*told, *MATTERS[made](name)])
    return Standard(name, number_on_shelf(name, made), PART_NAMES[made], why, found.probability)


def _is_round(sizes_mm: Mapping[str, float]) -> bool:
    """Whether the section that was measured agrees with both diameters, where both are known."""
    inner, outer, section = (sizes_mm.get(name) for name in ("inner diameter", "outer diameter", "thickness"))
    return not (inner and outer and section) or abs((outer - inner) / 2 - section) <= ROUND_MM


def _made(found: Found) -> list[str]:
    made = variants(found)
    return ["made " + ", ".join(made)] if made else []


def _bearing(name: str) -> list[str]:
    loads = sorted({row.dynamic_N for row in bearings() if row.size == name and row.dynamic_N})
    return [
        *([f"carries {whole(loads[0])} N (dynamic load rating)"] if loads else []),
        "clearance is not told by its size: ask for what the maker fitted",
        "washed out and oiled it spins freer, greased and shielded it lasts in salt (common practice, no source)",
    ]


def _oring(name: str) -> list[str]:
    """By how much a ring may be stretched, and that its section seals: common practice, no source."""
    row = next(row for row in orings() if row.designation == name)
    return [
        f"section {written(row.section_mm)} mm, which its groove decides: no other section seals there",
        f"inside {written(row.inside_mm)} mm; one a little smaller does, stretched by no more than 5 %",
        "what rubber it is its size does not tell: ask for one that stands grease and oil",
    ]


def _clip(name: str) -> list[str]:
    row = next(row for row in retaining_rings() if row.designation == name)
    where = "bore" if row.standard == "DIN 472" else "shaft"
    low, high = row.shaft_mm or (row.nominal_mm, row.nominal_mm)
    seat = f"{written(low)} mm" if low == high else f"{written(low)} to {written(high)} mm"
    return [
        f"for a {where} of {seat} with a groove of {written(row.groove_mm)} mm",
        f"{written(row.thickness_mm)} mm thick: a thicker one does not enter the groove",
    ]


def _spring(name: str) -> list[str]:
    row = next(row for row in disc_springs() if disc_spring_name(row) == name)
    return [
        f"carries {whole(row.load_N)} N pressed flat by three quarters",
        "the way they are stacked decides what they press: lay the new ones as the old ones lay",
    ]


def _nut(name: str) -> list[str]:
    """How the limits were come by, and what its thread does not tell."""
    row = next(row for row in table("nut").candidates if row.name == name)
    return [row.source, "how wide and how high it is its thread does not tell"]


MATTERS = {
    "bearing": _bearing,
    "thread": lambda name: [],
    "nut": _nut,
    "oring": _oring,
    "clip": _clip,
    "spring": _spring,
}
