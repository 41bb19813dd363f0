"""A run of the line: what it does to the drag, and where its heat goes."""

from dataclasses import dataclass
from math import pi

import numpy as np

from levelwind.core.drag.heat import Lump
from levelwind.core.drag.model import Body, Solid, Stack, Tie
from levelwind.core.drag.rings import Floats
from levelwind.core.drag.run_report import RunReport, run_report
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.line import run_steps
from levelwind.core.line.radius import radius_at_length_m
from levelwind.reference.materials import solids, stands_C
from levelwind.shop.drag.selectors.drags import Reckoning
from levelwind.shop.drag.selectors.setup import MATERIALS_OF, Setup

STEPS = 24
"""Steps of a run: enough to see, few enough to answer while a washer moves."""

ONE_PIECE_W_K = 5.0
"""How well heat passes from a floor in the stack to the rest of the same piece: order of magnitude, no source."""

THROUGH_MESH_W_K = 0.1
"""How well it passes from the main gear by pinion and shaft to the spool: order of magnitude, no source."""


@dataclass(frozen=True, slots=True)
class RunSection:
    """Tension as the line runs out, with the heat and without, and the hottest part's temperature; (steps,) each.

    ``takes_up`` names the parts beside the stack that take up heat; with none of them it is the worst case.
    """

    out_m: Floats
    warm_N: Floats
    cold_N: Floats
    hottest_C: Floats
    takes_up: tuple[str, ...]
    told: RunReport


def run_section(reckoning: Reckoning) -> RunSection:
    """A run from the full spool. Its heat stays in the stack, and in gear and spool where they were weighed."""
    line, setup = reckoning.line, reckoning.setup
    if line is None:
        raise NotDeterminedError("The spool's sizes are not in the pattern book.")
    if not reckoning.reel.line_known:
        raise NotDeterminedError("The line's diameter is not known, so neither is how fast the spool turns.")
    length = min(setup.number("run_m") or 0.0, line.filled.length_m)
    speed = setup.number("run_m_s") or 1.0
    seconds, spool_rad = run_steps(line.filled, line.filled.length_m, length, speed, STEPS)
    drive = reckoning.reel.drive
    slip = spool_rad / drive.gear_ratio if drive.geared else spool_rad
    known = {name: row.solid for name, row in solids().items()}
    beside = lumps(reckoning.stack, setup, drive.geared)
    told = run_report(
        reckoning.stack,
        reckoning.contacts,
        reckoning.clamp_N.value,
        reckoning.torque.run_in_Nm,
        (seconds, slip),
        known,
        beside,
        stands_C=stands_C(),
    )
    out = np.linspace(0.0, length, len(seconds) + 1)[1:]
    per = reckoning.spool_per_drag.value * line.guides / radius_at_length_m(line.filled, line.filled.length_m - out)
    warming = told.warming
    hottest = warming.names.index(warming.hottest[0])
    return RunSection(
        out_m=out,
        warm_N=warming.torque_Nm * per,
        cold_N=np.asarray(warming.torque_Nm[0] * per),
        hottest_C=warming.temperature_C[1:, hottest],
        takes_up=tuple(lump.name for lump in beside),
        told=told,
    )


def lumps(stack: Stack, setup: Setup, geared: bool) -> tuple[Lump, ...]:
    """The rest of gear and spool, where they were weighed; what of them lies in the stack is counted there.

    Raises InputError for one said to weigh no more than its floor in the stack.
    """
    place = next(n for n, body in enumerate(stack.bodies) if body.tie is Tie.GEAR)
    floor = stack.bodies[place]
    gear_g, spool_g = setup.number("gear_g") if geared else None, setup.number("spool_g")
    spool = solids()[setup.materials.get("spool_of", MATERIALS_OF["spool_of"])].solid
    found = []
    if gear_g is not None:
        solid = solids()[floor.material].solid
        found.append(
            Lump("rest of the main gear", _rest_kg("main gear", floor, solid, gear_g), solid, place, ONE_PIECE_W_K)
        )
    if spool_g is not None and geared:
        found.append(Lump("spool", spool_g / 1000, spool, place, THROUGH_MESH_W_K))
    elif spool_g is not None:
        rest = _rest_kg("spool", floor, solids()[floor.material].solid, spool_g)
        found.append(Lump("rest of the spool", rest, spool, place, ONE_PIECE_W_K))
    return tuple(found)


def _rest_kg(name: str, floor: Body, solid: Solid, weight_g: float) -> float:
    ring_m2 = pi * (floor.outer_radius_m**2 - floor.inner_radius_m**2)
    floor_kg = ring_m2 * floor.thickness_m * solid.density_kg_m3
    if weight_g / 1000 <= floor_kg:
        raise InputError(
            f"weight of the {name}",
            f"{weight_g:g} g",
            f"more than the {1000 * floor_kg:.0f} g that {floor.name} weighs in the stack",
        )
    return weight_g / 1000 - floor_kg
