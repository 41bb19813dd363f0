"""Clamp force from whatever squeezes a drag, and along all that a hand can set it to."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.drag.clamp import clamp_from_torque
from levelwind.core.drag.draws import Generator
from levelwind.core.drag.lever import Lever, finest_lever_step_N, lift_m
from levelwind.core.drag.rings import Floats
from levelwind.core.drag.springs import (
    HAND_STEP_DEG,
    CoilSpring,
    SpringPack,
    finest_step_N,
    pack_force,
    spring_force,
    turns_to_flat,
)
from levelwind.core.drag_system.model import DRAWS, Clamp, GivenForce, HandTorque, KnobSpring, Screw
from levelwind.core.drag_system.usual import knob_force
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

SETTINGS = 21
"""Points of the drag against turns or a lever: enough to draw a curve. Our choice."""

COIL_TURNS = 6.0
"""Turns as far as which a coil spring, which is never flat, is drawn: our choice."""


@dataclass(frozen=True, slots=True)
class Settings:
    """The clamp force at all that a hand can set: turns from where the springs touch, or degrees of a lever.

    ``at`` and ``force_N`` have the shape (settings,). ``flat_at`` is where disc springs lie flat, ``here`` what is set;
    ``step_N`` is what the smallest move of a hand changes of the clamp force there, None at the ends of the travel.
    """

    by_lever: bool
    at: Floats
    force_N: tuple[Quantity, ...]
    flat_at: float | None
    here: float | None
    step_N: float | None


def clamp_force(clamp: Clamp, rng: Generator) -> Quantity:
    """Clamp force in N with its 90 % interval.

    >>> clamp_force(Screw(CoilSpring(30e3), 1e-3, turns=2.0), np.random.default_rng(1))
    Quantity(value=60.0, low=54.0, high=66.0)
    """
    if isinstance(clamp, GivenForce):
        return clamp.force_N
    if isinstance(clamp, HandTorque):
        return clamp_from_torque(clamp.thread, clamp.torque_Nm, clamp.mu, clamp.collar_mu, rng, DRAWS)
    if isinstance(clamp, KnobSpring):
        return knob_force(clamp)
    if isinstance(clamp, Lever):
        return pack_force(clamp.springs, max(float(lift_m(clamp.cam, clamp.angle_deg)) - clamp.cam.gap_m, 0.0))
    if clamp.turns is None:
        raise InputError("turns from first touch", "not said", "a number, or a clamp force given otherwise")
    return spring_force(clamp.springs, clamp.turns * clamp.lead_m)


def most_by_hand_N(hand: HandTorque | KnobSpring | Lever, rng: Generator) -> float:
    """The most clamp force in N that a hand gives: the upper end of its turn, or the lever at the end of its way.

    >>> most_by_hand_N(KnobSpring(Quantity.exact(30e3), Quantity(4e-3, 3e-3, 5e-3)), np.random.default_rng(1))
    150.0
    """
    if isinstance(hand, Lever):
        return max(force.high for force in settings_of(hand).force_N)
    return clamp_force(hand, rng).high


def settings_of(setting: Screw | Lever) -> Settings:
    """Every setting from where nothing is pressed to where disc springs lie flat, or to the end of the cam."""
    return _of_lever(setting) if isinstance(setting, Lever) else _of_screw(setting)


def _of_screw(screw: Screw) -> Settings:
    springs, here = screw.springs, screw.turns
    flat = turns_to_flat(springs, screw.lead_m) if isinstance(springs, SpringPack) else None
    turns = np.linspace(0.0, flat or max(COIL_TURNS, 1.5 * (here or 0.0)), SETTINGS)
    forces = tuple(spring_force(springs, float(turn) * screw.lead_m) for turn in turns)
    step = hand_step_N(screw) if here and here < (flat or np.inf) else None
    return Settings(False, turns, forces, flat, here, step)


def _of_lever(lever: Lever) -> Settings:
    first, last = lever.cam.angles_deg[0], lever.cam.angles_deg[-1]
    angles = np.linspace(first, last, SETTINGS)
    pressed = np.maximum(lift_m(lever.cam, angles) - lever.cam.gap_m, 0.0)
    within = pressed <= lever.springs.travel_m
    forces = tuple(pack_force(lever.springs, float(each)) for each in pressed[within])
    flat = None if within.all() else float(angles[within][-1])
    inside = first < lever.angle_deg < (last if flat is None else flat)
    return Settings(True, angles[within], forces, flat, lever.angle_deg, hand_step_N(lever) if inside else None)


def hand_step_N(setting: Screw | Lever) -> float:
    """Clamp force in N that the smallest move a hand can set changes. Raises InputError at the ends of the travel.

    >>> hand_step_N(Screw(CoilSpring(30e3), 1e-3, turns=2.0))
    0.4167
    """
    if isinstance(setting, Lever):
        return finest_lever_step_N(setting.cam, setting.springs, setting.angle_deg)
    if isinstance(setting.springs, CoilSpring):
        return setting.springs.rate_N_m * setting.lead_m * HAND_STEP_DEG / 360
    return finest_step_N(setting.springs, setting.turns or 0.0, setting.lead_m)
