"""The drag against what a hand sets: turns of star or knob, or the angle of a lever."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.clamp import Thread
from levelwind.core.drag.draws import independent_product
from levelwind.core.drag.lever import finest_lever_step_N, lift_m
from levelwind.core.drag.rings import Floats
from levelwind.core.drag.springs import HAND_STEP_DEG, finest_step_N, pack_force, turns_to_flat
from levelwind.core.errors import NotDeterminedError
from levelwind.core.quantities import Quantity
from levelwind.shop.drag.selectors.drags import Reckoning, lever_of, thread_of
from levelwind.shop.drag.selectors.setup import Setup

POINTS = 41
COIL_TURNS = 6.0
"""Points of a curve, and how far a coil spring is drawn: enough to see, few enough to answer while a washer moves."""


@dataclass(frozen=True, slots=True)
class TurnsSection:
    """Line tension, run in, spool full, against turns from first touch, or against a lever's angle in degrees.

    ``flat_at`` is where disc springs lie flat; ``step_N`` what the smallest move a hand can make changes at the line,
    None at the ends of the springs' travel.
    """

    by_lever: bool
    turns: Floats
    tension_N: Floats
    low_N: Floats
    high_N: Floats
    flat_at: float | None
    here: float | None
    step_N: float | None


def turns_section(reckoning: Reckoning) -> TurnsSection:
    """Raises NotDeterminedError while springs, thread or spool are not known."""
    if reckoning.reel.family.lever is not None:
        return _lever_section(reckoning)
    setup, thread = reckoning.setup, thread_of(reckoning.setup, reckoning.reel.family)
    if thread is None:
        raise NotDeterminedError("No thread squeezes this drag.")
    if setup.spring_force(0.0) is None:
        raise NotDeterminedError(
            "Measure one disc spring (outer, inner, thickness, height over flat), or say how stiff a coil spring is."
        )
    pack, here = setup.springs(), setup.number("turns")
    flat = turns_to_flat(pack, thread.lead_m) if pack else None
    turns = np.linspace(0.0, flat or max(COIL_TURNS, 1.5 * (here or 0.0)), POINTS)
    forces = [setup.spring_force(float(turn) * thread.lead_m) or Quantity.exact(0.0) for turn in turns]
    step = _hand_step_N(setup, thread, here) if here and here < (flat or np.inf) else None
    return _section(reckoning, turns, forces, flat_at=flat, here=here, step=step)


def _lever_section(reckoning: Reckoning) -> TurnsSection:
    """Against the lever's angle, from rest to the end of its cam or to where the springs lie flat."""
    lever, here = lever_of(reckoning.setup, reckoning.reel.family)
    ends = lever.cam.angles_deg[0], lever.cam.angles_deg[-1]
    angles = np.linspace(*ends, POINTS)
    pressed = np.maximum(lift_m(lever.cam, angles) - lever.cam.gap_m, 0.0)
    within = pressed <= lever.springs.travel_m
    forces = [pack_force(lever.springs, float(way)) for way in pressed[within]]
    flat = None if within.all() else float(angles[within][-1])
    inside = ends[0] < here < (ends[1] if flat is None else flat)
    step = finest_lever_step_N(lever.cam, lever.springs, here) if inside else None
    return _section(reckoning, angles[within], forces, by_lever=True, flat_at=flat, here=here, step=step)


def _section(
    reckoning: Reckoning,
    turns: Floats,
    forces: list[Quantity],
    *,
    flat_at: float | None,
    here: float | None,
    step: float | None,
    by_lever: bool = False,
) -> TurnsSection:
    if not reckoning.clamp_N.value:
        raise NotDeterminedError("Nothing is pressed here: set it past where the springs touch.")
    per_torque = tension_per_torque(reckoning)
    per_N = reckoning.per_newton_Nm * per_torque
    bands = [_band(force, reckoning) for force in forces]
    return TurnsSection(
        by_lever=by_lever,
        turns=turns,
        tension_N=np.array([force.value for force in forces]) * per_N,
        low_N=np.array([band.low for band in bands]) * per_torque,
        high_N=np.array([band.high for band in bands]) * per_torque,
        flat_at=flat_at,
        here=here,
        step_N=None if step is None else step * per_N,
    )


def _hand_step_N(setup: Setup, thread: Thread, here: float) -> float:
    """Clamp force that the smallest turn a hand can set changes, at ``here`` turns."""
    pack, rate = setup.springs(), setup.number("coil_N_mm") or 0.0
    if pack is not None:
        return finest_step_N(pack, here, thread.lead_m)
    return 1000 * rate * thread.lead_m * HAND_STEP_DEG / 360


def _band(force_N: Quantity, reckoning: Reckoning) -> Quantity:
    """Torque at the drag for an uncertain force, with what is not known of the friction."""
    share = reckoning.torque.run_in_Nm.scaled(1 / reckoning.clamp_N.value)
    return independent_product(share, force_N) if force_N.value else Quantity.exact(0.0)


def tension_per_torque(reckoning: Reckoning) -> float:
    """Line tension, spool full, for one N m at the drag."""
    line = reckoning.line
    if line is None:
        raise NotDeterminedError("The spool's sizes are not in the pattern book.")
    return reckoning.spool_per_drag.value * line.guides * 1000 / line.fills[0].radius_mm
