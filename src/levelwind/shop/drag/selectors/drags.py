"""A job's drag: what was said of it as one drag system, and what that comes to."""

from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from math import pi, radians
from typing import Any

import numpy as np

from levelwind.core.codec import as_stored
from levelwind.core.drag.clamp import Thread, by_hand
from levelwind.core.drag.heat import ONE_PIECE_W_K, THROUGH_MESH_W_K, Lump
from levelwind.core.drag.lever import Lever
from levelwind.core.drag.model import Body, Solid, Stack, Tie
from levelwind.core.drag.order import right_order
from levelwind.core.drag.weakest import Link
from levelwind.core.drag_system.compute import MANY, DragResult, compute, pieces
from levelwind.core.drag_system.model import (
    SEED,
    Clamp,
    DragSystem,
    GivenForce,
    HandTorque,
    KnobSpring,
    LoadedSpool,
    Room,
    Run,
    Screw,
)
from levelwind.core.drag_system.usual import usual_clamp
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.line import Filled, Line, capstan, filled_to_the_rim
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written
from levelwind.reference.families import Family
from levelwind.reference.materials import coefficient, drag_tables, solids
from levelwind.reference.threads import thread as standard_thread
from levelwind.shop.drag.selectors.reels import Reel
from levelwind.shop.drag.selectors.setup import MATERIALS_OF, Setup

NO_SPOOL = "The spool's sizes are not in the pattern book."
NOTHING_PRESSED = "Nothing is pressed here: set it past where the springs touch."

PARTS = ("turns", "run", "strength", "height")
"""What a drag may be asked for besides its torque and the line."""


@dataclass(frozen=True, slots=True)
class JobDrag:
    """A drag as it was said and as it was computed; ``lacks`` says, by the part asked for, why it could not be told."""

    reel: Reel
    setup: Setup
    result: DragResult
    lacks: Mapping[str, str]

    def kept(self) -> Any:
        """What a plan keeps of it, for the proof sheet and for comparing with readings."""
        torque, spool = self.result.torque, self.result.system.spool
        return as_stored(
            {
                "clamp_N": self.result.clamp_N,
                "torque_new_Nm": torque.new_Nm,
                "torque_run_in_Nm": torque.run_in_Nm,
                "spool_per_drag": self.reel.drive.spool_per_drag(),
                "past_rod_guides": spool.guides if spool else rod_guides(self.setup),
                "idle": torque.idle,
                "slipping": torque.slipping,
                "share_lost": self.result.order.share_lost if self.result.order else None,
                "tension": self.result.fills,
                "cautions": torque.cautions,
                "notes": self.result.notes,
            }
        )


def drag_computed(
    *,
    stack: Stack,
    setup: Setup,
    reel: Reel,
    asked: Container[str] = PARTS,
    old: Stack | None = None,
    points: int = MANY,
    with_order: bool = True,
) -> JobDrag:
    """Everything asked of a stack in this reel; ``old`` is the one before it, whose height the star is used to.

    Kept between two looks: while a washer is moved about, the old stack stays what it was. Raises InputError that names
    the value at fault.
    """
    spool = loaded_spool(setup, reel)
    parts, lacks = _parts(stack, setup, reel, spool, asked, old or stack)
    before = old if old != stack else None
    clamp, usual = clamp_of(setup, reel), clamp_is_usual(setup, reel)
    parts |= {"old": before, "usual": usual, "tippet_N": reel.tippet_N, "hand": _hand_of(setup, reel)}
    system = DragSystem(stack, reel.drive, clamp, spool, **parts)
    result = _computed(system, points, with_order)
    lacks |= {part: str(refusal) for part, refusal in result.refusals.items()}
    if result.turns is not None and result.turns_N is None:
        lacks["turns"] = NOTHING_PRESSED
    return JobDrag(reel, setup, result, lacks)


@lru_cache(maxsize=32)
def _computed(system: DragSystem, points: int, with_order: bool) -> DragResult:
    return compute(system, drag_tables(), np.random.default_rng(SEED), points=points, with_order=with_order)


def _parts(
    stack: Stack, setup: Setup, reel: Reel, spool: LoadedSpool | None, asked: Container[str], old: Stack
) -> tuple[dict[str, Any], dict[str, str]]:
    """What a drag system takes for each part asked for, and what is missing for the others."""

    def spooled() -> LoadedSpool:
        if spool is None:
            raise NotDeterminedError(NO_SPOOL)
        return spool

    makers: dict[str, tuple[str, Callable[[], object]]] = {
        "turns": ("against", lambda: spooled() and _against(setup, reel)),
        "run": ("run", lambda: _run(stack, setup, reel, spooled())),
        "strength": ("links", lambda: spooled() and _links(setup, reel)),
        "height": ("room", lambda: _room(setup, old)),
    }
    given: dict[str, Any] = {}
    lacks: dict[str, str] = {}
    for part, (field, make) in makers.items():
        try:
            given |= {field: make()} if part in asked else {}
        except LevelwindError as refusal:
            lacks[part] = str(refusal)
    return given, lacks


def clamp_of(setup: Setup, reel: Reel, moment: str = "") -> Clamp:
    """What squeezes the drag: a force as given, the lever, turns through the springs, or a hand on the thread.

    ``moment``, found or left, asks for what was set at that pull; where nothing was said of it, today's stands.
    """
    then = f"{moment}_" if moment and setup.said_of_clamp(moment) else ""
    given, turns = setup.number(f"{then}clamp_N"), setup.number(f"{then}turns")
    if given is not None:
        return GivenForce(Quantity.exact(given))
    if reel.family.lever is not None:
        return _lever(setup, reel.family.lever, then)
    thread, springs = thread_of(setup, reel.family), setup.springs()
    if turns and thread and springs:
        return Screw(springs, thread.lead_m, turns)
    if then:
        raise NotDeterminedError("Turns say nothing of the clamp force until the springs are measured.")
    return _by_hand(setup, reel)


def _by_hand(setup: Setup, reel: Reel) -> HandTorque | KnobSpring:
    """A hand's turn as it was said, else as it usually is."""
    thread, hand = thread_of(setup, reel.family), setup.number("hand_Nm")
    if hand is not None and thread is not None:
        return HandTorque(by_hand(hand), thread)
    return usual_clamp(reel.drive.family, thread, setup.knob_rate_N_m())


def _hand_of(setup: Setup, reel: Reel) -> HandTorque | KnobSpring | Lever | None:
    """What a hand can make of the clamp; None in a drag that neither thread nor lever squeezes."""
    if reel.family.lever is not None:
        return _lever(setup, reel.family.lever)
    try:
        return _by_hand(setup, reel)
    except InputError:
        return None


def clamp_is_usual(setup: Setup, reel: Reel) -> bool:
    """Whether nothing was said of what squeezes the drag, so that what such a reel usually has stands."""
    said = setup.numbers.keys()
    if reel.family.lever is not None:
        return not {"clamp_N", "lever_deg"} & said and setup.disc_springs() is None
    turned = bool(setup.number("turns") and setup.springs())
    return not turned and not {"clamp_N", "hand_Nm"} & said


def _lever(setup: Setup, usual: Lever, then: str = "") -> Lever:
    """The family's lever, with the springs measured if they were, and its angle: the strike's where none was said."""
    angle = setup.number(f"{then}lever_deg")
    return replace(
        usual, springs=setup.disc_springs() or usual.springs, angle_deg=usual.angle_deg if angle is None else angle
    )


def thread_of(setup: Setup, kin: Family) -> Thread | None:
    """The thread said, rubbing where the family's does, else the family's; None in a drag that no thread squeezes."""
    usual, named = kin.usual_thread(), setup.said.get("thread")
    return standard_thread(named).turning(usual.collar_radius_m) if usual and named else usual


def loaded_spool(setup: Setup, reel: Reel) -> LoadedSpool | None:
    """The line on the spool: as much as was said, else as much as leaves a little room under the rim."""
    if reel.spool is None:
        return None
    across, length = setup.number("backing_mm"), setup.number("backing_m") or 0.0
    backing = Line("the backing", across / 1000) if across and length else None
    backing_m = length if backing else 0.0
    line_m = setup.number("line_m") if reel.line_known else None
    filled = (
        filled_to_the_rim(reel.spool, reel.line, backing, backing_m)
        if line_m is None
        else Filled(reel.spool, reel.line, line_m, backing, backing_m)
    )
    roller = _past(setup, "roller_deg", "roller_mu")
    return LoadedSpool(filled, roller, rod_guides(setup), known=reel.line_known)


def rod_guides(setup: Setup) -> float:
    """How many times greater the tension is past the rod's guides: what a scale straight off the reel does not see."""
    return _past(setup, "wrap_deg", "guide_mu")


def _past(setup: Setup, wrap_key: str, mu_key: str) -> float:
    wrap = setup.number(wrap_key)
    return float(capstan(setup.number(mu_key) or 0.0, radians(wrap))) if wrap else 1.0


def _against(setup: Setup, reel: Reel) -> Screw | Lever:
    """What a hand sets, whatever else the clamp force of the day is had from."""
    if reel.family.lever is not None:
        return _lever(setup, reel.family.lever)
    thread, springs = thread_of(setup, reel.family), setup.springs()
    if thread is None:
        raise NotDeterminedError("No thread squeezes this drag.")
    if springs is None:
        raise NotDeterminedError(
            "Measure one disc spring (outer, inner, thickness, height over flat), or say how stiff a coil spring is."
        )
    return Screw(springs, thread.lead_m, setup.number("turns"))


def _run(stack: Stack, setup: Setup, reel: Reel, spool: LoadedSpool) -> Run:
    """A run from the full spool. Its heat stays in the stack, and in gear and spool where they were weighed."""
    if not reel.line_known:
        raise NotDeterminedError("The line's diameter is not known, so neither is how fast the spool turns.")
    length, speed = setup.number("run_m") or 0.0, setup.number("run_m_s") or 1.0
    return Run(speed, min(length, spool.filled.length_m), lumps(stack, setup, reel.drive.geared))


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
        rest = _rest_kg("main gear", floor, solid, gear_g)
        found.append(Lump("rest of the main gear", rest, solid, place, ONE_PIECE_W_K))
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
            f"{written(weight_g)} g",
            f"more than the {1000 * floor_kg:.0f} g that {floor.name} weighs in the stack",
        )
    return weight_g / 1000 - floor_kg


def _links(setup: Setup, reel: Reel) -> tuple[Link, ...]:
    links = tuple(setup.links(reel.drive))
    if not links:
        raise NotDeterminedError("Measure the main gear, the dog, the gear sleeve or the handle arm: any one will do.")
    return links


def _room(setup: Setup, old: Stack) -> Room:
    """The new washers and plates are held against the old ones, within what the star takes up."""
    lower, higher = setup.number("lower_mm"), setup.number("higher_mm")
    if lower is None or higher is None:
        raise NotDeterminedError("Enter how much lower and how much higher a stack the star or knob can take up.")
    off = (setup.number("off_mm") or 0.0) / 1000
    return Room(pieces(old, off), lower / 1000, higher / 1000, off, tuple(setup.shims()))


def in_right_order(stack: Stack, setup: Setup) -> tuple[Stack, Setup]:
    """The same bodies in the order that holds most, each with the part chosen for it."""
    order = right_order(stack, coefficient)
    parts = tuple(setup.parts[place] for place in order.places) if setup.parts else ()
    return stack.in_order(order.places), replace(setup, parts=parts)
