"""Friction coefficients by pair and condition, and what heats and bends: published figures with their source.

A published range is taken as a 90 % interval, and so is one of the trade's practice, which its caution names. A single
printed figure hides its spread and is given half as much again either way; a range marked as low in trust is taken to
hold the truth only every other time and is widened to match. Where nothing is published for the condition, the nearest
one stands in, and the coefficient's caution says so.
"""

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from math import sqrt

from levelwind.core.drag.model import Coefficient, Solid
from levelwind.core.drag_system.model import Tables
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

CONDITIONS = ("dry", "oiled", "greased", "glazed", "wet")
"""What the faces are like; wet is with water."""

UNKNOWN = "unknown friction material"
ASBESTOS = "Unknown old friction material may hold asbestos: wet it, wipe, bag; no dry brushing, no air line."

_CONDITION_OF = {
    "dry": ("dry",),
    "clean and dry": ("dry",),
    "dry or greasy": ("dry", "greased"),
    "wet (oiled)": ("oiled",),
    "wet": ("oiled",),
    "castor oil": ("oiled",),
    "lubricated": ("oiled",),
    "oil immersed": ("oiled",),
    "greased": ("greased",),
    "grease": ("greased",),
    "lubricated and greasy": ("greased",),
}
_STAND_INS = {"oiled": ("greased",), "greased": ("oiled",), "glazed": ("dry",), "wet": ("dry",), "dry": ()}
_LOWERED = {"glazed", "wet"}
_SINGLE_FIGURE_SPREAD = 1.5
_PRACTICE = "practice"
_LOW_TRUST = {"memory-low", "assumption"}
_WIDER = 1.6449 / 0.6745
"""Half width of a normal's 90 % over its 50 % interval."""

_ANY_METAL = {"metal", "clean metal"}
_STEEL_FACE = {"steel", "cast iron", "cast iron or steel", "steel or cast iron"}
_IRON = {"steel", "hardened steel", "cast iron"}

_ANYTHING = {"metal": Quantity(0.3, 0.1, 0.8), "lining": Quantity(0.16, 0.05, 0.5), "plastic": Quantity(0.2, 0.05, 0.5)}


@dataclass(frozen=True, slots=True)
class FrictionRow:
    """One published range. Temperature in degrees C and pressure in MPa are the most the lining stands, where given."""

    material_a: str
    material_b: str
    condition: str
    kind: str
    mu_low: float
    mu_high: float
    most_C: float | None
    most_MPa: float | None
    provenance: str
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class SolidRow:
    """What a material weighs, how it heats, and from where to where its yield strength lies; linings have none."""

    solid: Solid
    family: str
    yield_MPa: tuple[float, float] | None
    provenance: str
    source: str


@cache
def friction_rows() -> tuple[FrictionRow, ...]:
    """Every row of the friction table, bearings included, in the order of the file.

    >>> friction_rows()[7].material_a, friction_rows()[7].mu_high
    ('cork', 0.5)
    """
    return tuple(
        FrictionRow(
            row["material_a"],
            row["material_b"],
            row["condition"],
            row["kind"],
            float(row["mu_low"]),
            float(row["mu_high"]),
            _optional(row["T_max_C"]),
            _optional(row["p_max_MPa"]),
            row["provenance"],
            row["source"],
            row["note"],
        )
        for row in _read("friction.csv")
    )


@cache
def solids() -> dict[str, SolidRow]:
    """Every material with its properties, by name.

    >>> solids()["brass"].solid.density_kg_m3
    8500.0
    """
    rows = {}
    for row in _read("solids.csv"):
        measures = (float(row[key]) for key in ("density_kg_m3", "heat_capacity_J_kgK", "conductivity_W_mK"))
        ends = _optional(row["yield_low_MPa"]), _optional(row["yield_high_MPa"])
        yields = None if ends[0] is None or ends[1] is None else (ends[0], ends[1])
        rows[row["name"]] = SolidRow(
            Solid(row["name"], *measures), row["family"], yields, row["provenance"], row["source"]
        )
    return rows


def coefficient(material: str, against: str, condition: str) -> Coefficient:
    """The running coefficient of one material on another in a condition, as a distribution; which lies on which is one.

    Raises InputError for a material or a condition the tables do not know.

    >>> coefficient("cork", "steel", "dry").mu
    Quantity(value=0.387, low=0.3, high=0.5)
    """
    if condition not in CONDITIONS:
        raise InputError("condition", repr(condition[:40]), "one of " + ", ".join(CONDITIONS))
    lining, face = sorted((material, against), key=lambda name: (_family(name) == "metal", name))
    return _published(lining, face, condition)


@cache
def _published(material: str, against: str, condition: str) -> Coefficient:
    for tried in (condition, *_STAND_INS[condition]):
        rows = _best(row for row in friction_rows() if tried in _conditions(row) and _fits(row, material, against))
        if rows:
            found = _from_rows(rows, material, against)
            return found if tried == condition else _stand_in(found, tried, condition)
    says = f"No published friction of {material} on {against}, {condition}: a wide guess. Measure it on the bench."
    return Coefficient(_ANYTHING[_family(material)], "no source: a wide guess", _with_asbestos(says, material, against))


@cache
def stands_C() -> dict[str, float]:
    """The most degrees C a lining stands, by material, where a table gives it.

    >>> stands_C()["leather"]
    100.0
    """
    return {row.material_a.split(" (")[0]: row.most_C for row in friction_rows() if row.most_C is not None}


@cache
def stands_MPa() -> dict[str, float]:
    """The most MPa a lining stands, by material, where a table gives it; the least of its rows.

    >>> stands_MPa()["leather"]
    0.25
    """
    found: dict[str, float] = {}
    for row in friction_rows():
        if row.most_MPa is not None:
            material = row.material_a.split(" (")[0]
            found[material] = min(row.most_MPa, found.get(material, row.most_MPa))
    return found


@cache
def drag_tables() -> Tables:
    """All that a drag is computed with."""
    solid = {name: row.solid for name, row in solids().items()}
    return Tables(coefficient, CONDITIONS, solid, stands_C(), stands_MPa())


def known_materials() -> tuple[str, ...]:
    """Names that :func:`coefficient` and :func:`solids` know."""
    return tuple(solids())


def _from_rows(rows: list[FrictionRow], material: str, against: str) -> Coefficient:
    low, high = min(row.mu_low for row in rows), max(row.mu_high for row in rows)
    middle = sqrt(low * high)
    cautions = []
    stretched = [name for name in (material, against) if _stretched(name, rows)]
    if stretched:
        cautions.append(f"Published against iron or steel, used here for {stretched[0]}.")
    if low == high:
        low, high = low / _SINGLE_FIGURE_SPREAD, high * _SINGLE_FIGURE_SPREAD
    if rows[0].provenance in _LOW_TRUST:
        low, high = middle * (low / middle) ** _WIDER, middle * (high / middle) ** _WIDER
        cautions.append(f"{material.capitalize()} on {against} is poorly published: a wide guess. Measure it.")
    if any(row.provenance == _PRACTICE for row in rows):
        pair = f"{material.capitalize()} on {against}"
        cautions.append(f"{pair}: common practice, no source, until a pull says otherwise.")
    source = "; ".join(dict.fromkeys(row.source for row in rows))
    return Coefficient(Quantity(middle, low, high), source, _with_asbestos(" ".join(cautions), material, against))


def _stretched(name: str, rows: list[FrictionRow]) -> bool:
    """Whether figures for iron or steel stand in for this other metal."""
    named = any(name in (row.material_a, row.material_b) or row.material_b in _ANY_METAL for row in rows)
    return _family(name) == "metal" and name not in _IRON and not named


def _stand_in(found: Coefficient, tried: str, condition: str) -> Coefficient:
    says = f"Nothing published {condition}: the {tried} figure stands in"
    low = found.mu.low
    if condition in _LOWERED:
        low, says = low / 2, says + ", its low end halved (assumption)"
    mu = Quantity(sqrt(low * found.mu.high), low, found.mu.high)
    return replace(found, mu=mu, caution=f"{says}. {found.caution}".strip())


def _with_asbestos(said: str, *materials: str) -> str:
    suspect = any(name == UNKNOWN or "asbestos" in name for name in materials)
    return f"{said} {ASBESTOS}".strip() if suspect else said


def _best(rows: Iterable[FrictionRow]) -> list[FrictionRow]:
    """Running figures before static ones, trusted ones before guesses."""
    ranked: dict[tuple[bool, bool], list[FrictionRow]] = {}
    for row in rows:
        ranked.setdefault((row.provenance in _LOW_TRUST, row.kind == "static"), []).append(row)
    return ranked[min(ranked)] if ranked else []


def _conditions(row: FrictionRow) -> tuple[str, ...]:
    return () if row.kind in {"bearing", "upper limit"} else _CONDITION_OF.get(row.condition, ())


def _fits(row: FrictionRow, material: str, against: str) -> bool:
    return any(
        row.material_a.split(" (")[0] == one and _covers(row, other)
        for one, other in ((material, against), (against, material))
    )


def _covers(row: FrictionRow, face: str) -> bool:
    """Whether the printed counterface covers this one: under a lining, iron or steel stands for any metal."""
    printed = row.material_b
    if printed in _ANY_METAL | _STEEL_FACE and _family(row.material_a.split(" (")[0]) != "metal":
        return _family(face) == "metal"
    return printed == face or (printed in _STEEL_FACE and face in _IRON)


def _family(material: str) -> str:
    if material in solids():
        return solids()[material].family
    if any(row.material_a.split(" (")[0] == material and row.kind != "bearing" for row in friction_rows()):
        return "lining"
    raise InputError("material", repr(material[:40]), "one of " + ", ".join(known_materials()))


def _read(name: str) -> Iterator[dict[str, str]]:
    table = resources.files("levelwind.reference").joinpath(f"tables/{name}").read_text(encoding="utf-8")
    return csv.DictReader(table.splitlines())


def _optional(text: str) -> float | None:
    return float(text) if text else None
