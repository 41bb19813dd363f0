"""What a hand usually makes of a drag, family by family, where nobody measured it: common practice, no source.

A star gives its hand arms to turn by, a knob does not; the knob of a fixed spool bottoms its spring, which is what sets
how hard it presses. Each number stands only until a clamp force, a turn, a spring or a pull was measured.
"""

from dataclasses import replace
from math import sqrt

from levelwind.core.drag.clamp import Thread
from levelwind.core.drag.draws import independent_product
from levelwind.core.drag.families import Family
from levelwind.core.drag.model import Body, Kind
from levelwind.core.drag_system.model import HandTorque, KnobSpring
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

HAND_NM = {
    Family.STAR: Quantity(2.5, 2.0, 3.0),
    Family.LOW_PROFILE: Quantity(2.0, 1.5, 2.5),
    Family.FLY_DISC: Quantity(0.4, 0.3, 0.5),
}
"""N m, a firm hand on a star, on the shorter star of a low-profile reel, on a knob 25 mm across: common practice, no
source."""

HUB_PER_THREAD = 1.45
"""Mean diameter of the ring on which a star's hub rubs, in diameters of its thread: common practice, no source. A nut's
washer face gives 1.25 (J. E. Shigley, Mechanical Engineering Design, section 8-8, from memory)."""

KNOB_RATE_N_M, KNOB_TRAVEL_M = Quantity(35e3, 25e3, 50e3), Quantity(4e-3, 3e-3, 5e-3)
"""N/m and m, spring under the knob of a fixed spool reel and how far the knob goes down on it: common practice, no
source."""

BY_KNOB = frozenset({Family.FIXED_SPOOL_FRONT, Family.FIXED_SPOOL_REAR})
"""Kinds whose knob presses through its spring as far as it goes, whatever the hand."""

EVER_HELD_N = {
    Family.STAR: 250.0,
    Family.LOW_PROFILE: 120.0,
    Family.LEVER: 500.0,
    Family.FIXED_SPOOL_FRONT: 150.0,
    Family.FIXED_SPOOL_REAR: 90.0,
    Family.FLY_DISC: 100.0,
}
"""N at the line, spool full, more than which hardly a reel of the kind ever holds: common practice, no source."""


def rubbing_on(thread: Thread, outermost: Body) -> Thread:
    """The thread with the ring its star rubs on, where nobody measured that: the cap's that ends the stack, else usual.

    >>> from levelwind.core.drag.model import Tie
    >>> hub = Body("star hub", Kind.CAP, Tie.SLEEVE, 8e-3, 5.75e-3, 4e-3, "steel")
    >>> 2000 * rubbing_on(Thread(4.675e-3, 1e-3), hub).collar_radius_m
    13.75
    """
    if outermost.kind is Kind.CAP:
        return replace(thread, collar_radius_m=(outermost.outer_radius_m + outermost.inner_radius_m) / 2)
    major_m = 2 * thread.pitch_radius_m + 3 * sqrt(3) / 8 * thread.lead_m
    return replace(thread, collar_radius_m=HUB_PER_THREAD * major_m / 2)


def usual_clamp(
    family: Family, thread: Thread | None, knob_rate_N_m: Quantity | None = None
) -> HandTorque | KnobSpring:
    """What squeezes a drag as a hand usually sets it; ``knob_rate_N_m`` where the knob's spring was measured.

    Raises InputError for a kind that no hand's turn clamps, and for a star without its thread.

    >>> usual_clamp(Family.FIXED_SPOOL_FRONT, None).travel_m.value
    0.004
    """
    if family in BY_KNOB:
        return KnobSpring(knob_rate_N_m or KNOB_RATE_N_M, KNOB_TRAVEL_M)
    if family not in HAND_NM or thread is None:
        raise InputError("clamp force", "not said", "a force in N: no thread squeezes this drag")
    return HandTorque(HAND_NM[family], thread)


def knob_force(knob: KnobSpring) -> Quantity:
    """Clamp force in N: rate times travel, F = c s.

    >>> knob_force(KnobSpring(Quantity.exact(30e3), Quantity.exact(4e-3)))
    Quantity(value=120.0, low=120.0, high=120.0)
    """
    return independent_product(knob.rate_N_m, knob.travel_m)
