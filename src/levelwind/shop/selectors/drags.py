"""A job's drag, reckoned: the stack chosen, what squeezes it, and the spool it holds."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from levelwind.core.drag.clamp import Thread, force_from_torque_N, pitch_radius_m
from levelwind.core.drag.draws import interval, spread
from levelwind.core.drag.families import MESH_EFFICIENCY, Drive
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.core.drag.order import Order, right_order
from levelwind.core.drag.rings import Theory, friction_radius_m
from levelwind.core.drag.section import section
from levelwind.core.drag.torque import StackTorque, evaluate, torque_draws_Nm, torque_Nm
from levelwind.core.drag.touching import Surface, surfaces
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.line import SQUARE_PACKING, Filled, Line, Spool, capacity_m, tension_N
from levelwind.core.line.radius import radius_at_length_m
from levelwind.core.quantities import Quantity
from levelwind.reference.families import Family, family
from levelwind.reference.materials import coefficient, known_materials
from levelwind.shop.models import DragPlan, Job, Pattern
from levelwind.shop.selectors.drag_drawings import Drawing, drawing

DRAWS = 2000
SEED = 20
"""The same dice each time, so that a number moves only when something typed has moved it."""

HAND_NM = Quantity(1.0, 0.7, 1.4)
"""A hand's firm turn of a star or knob. A judgement, no source."""

THREAD_FRICTION = Quantity(0.14, 0.08, 0.20)
"""Greased to barely greased steel threads and collars; handbook range, from memory."""

HAND_SPREAD = 0.3
"""How far a hand torque given as one number may be off, as a share. A judgement."""

FULL_SHARE = 0.95
"""A spool counts as full with a little of its room left under the rim: common practice, no source."""

FILLS = [("full", 1.0), ("half", 0.5), ("near empty", 0.1)]
STRIKE_LOW, STRIKE_HIGH = 0.25, 0.33
"""Setting at the strike as a share of the line's strength: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Setup:
    """How the stack is clamped and wound, and which part of the shelf each body is (empty text: none chosen).

    A clamp force given outright wins over the hand torque on the star.
    """

    hand_Nm: float = HAND_NM.value
    clamp_N: float | None = None
    line_m: float | None = None
    parts: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        return {"hand_Nm": self.hand_Nm, "clamp_N": self.clamp_N, "line_m": self.line_m, "parts": list(self.parts)}


@dataclass(frozen=True, slots=True)
class Reel:
    """What of the reel itself the drag works against; None where the pattern does not say."""

    family: Family
    gear_ratio: float
    ratio_known: bool
    spool: Spool | None
    line: Line | None
    line_known: bool
    strength_N: float | None


@dataclass(frozen=True, slots=True)
class AtFill:
    """Line tension at one fill of the spool."""

    name: str
    left_m: float
    radius_mm: float
    new_N: Quantity
    run_in_N: Quantity
    share: float | None


@dataclass(frozen=True, slots=True)
class Setting:
    """The setting at the strike for the line on the reel, and the clamp force that gives it."""

    low_N: float
    high_N: float
    empty_low_N: float
    empty_high_N: float
    empty_share: float
    clamp_N: Quantity | None


@dataclass(frozen=True, slots=True)
class FaceRow:
    """One slipping surface, with the numbers its torque is made of."""

    below: str
    above: str
    mu: Quantity
    source: str
    inner_mm: float
    outer_mm: float
    new_radius_mm: float
    run_in_radius_mm: float
    run_in_Nm: float


@dataclass(frozen=True, slots=True)
class Reckoning:
    stack: Stack
    setup: Setup
    reel: Reel
    clamp_N: Quantity
    torque: StackTorque
    drawing: Drawing
    order: Order | None
    spool_per_drag: Quantity
    fills: tuple[AtFill, ...]
    setting: Setting | None
    faces: tuple[FaceRow, ...]

    @property
    def geared(self) -> bool:
        return is_geared(self.reel.family)

    def as_dict(self) -> dict[str, Any]:
        """What a plan keeps of it, for the proof sheet and for comparing with readings."""
        return {
            "clamp_N": self.clamp_N.as_dict(),
            "torque_new_Nm": self.torque.new_Nm.as_dict(),
            "torque_run_in_Nm": self.torque.run_in_Nm.as_dict(),
            "spool_per_drag": self.spool_per_drag.as_dict(),
            "idle": list(self.torque.idle),
            "slipping": list(self.torque.slipping),
            "share_lost": self.order.share_lost if self.order else None,
            "tension": [
                {
                    "fill": fill.name,
                    "left_m": fill.left_m,
                    "radius_mm": fill.radius_mm,
                    "new_N": fill.new_N.as_dict(),
                    "run_in_N": fill.run_in_N.as_dict(),
                }
                for fill in self.fills
            ],
            "cautions": list(self.torque.cautions),
        }


def reel_of(job: Job) -> Reel:
    """The job's reel as far as its pattern and its line are known. Raises LevelwindError while it has no pattern."""
    if job.pattern is None:
        raise LevelwindError("Say first which pattern this reel is: its drag is laid out from there.")
    pattern, kin = job.pattern, family(job.pattern.family)
    known = bool(job.line_diameter_mm)
    line = Line(job.line_name or "the line", (job.line_diameter_mm or 0.4) / 1000, job.line_strength_N or 100.0)
    return Reel(
        family=kin,
        gear_ratio=pattern.gear_ratio or kin.gear_ratio,
        ratio_known=pattern.gear_ratio is not None,
        spool=spool_of(pattern),
        line=line,
        line_known=known,
        strength_N=job.line_strength_N,
    )


def spool_of(pattern: Pattern) -> Spool | None:
    arbor, flange, width = pattern.spool_arbor_mm, pattern.spool_flange_mm, pattern.spool_width_mm
    if not (arbor and flange and width):
        return None
    return Spool(arbor / 2000, flange / 2000, width / 1000)


def standard_stack(pattern: Pattern) -> Stack:
    """The pattern's standard stack: its own where it has one, else its family's with friction from the tables."""
    if pattern.drag:
        return stack_from_dict(pattern.drag)
    plain = family(pattern.family).drag
    return stack_from_dict({**plain, "bodies": [_by_material(body) for body in plain["bodies"]]})


def _by_material(body: Mapping[str, Any]) -> dict[str, Any]:
    """Without the family's own figure where the tables have the material, so that its condition can be changed."""
    known = body.get("material") in known_materials()
    return {key: value for key, value in body.items() if not (known and key == "friction")}


@dataclass(frozen=True, slots=True)
class StandardDrag:
    """A pattern's standard stack, drawn; ``refusal`` says why it could not be."""

    stack: Stack | None
    drawing: Drawing | None
    own: bool
    refusal: str = ""


def standard_drag(pattern: Pattern) -> StandardDrag:
    try:
        stack = standard_stack(pattern)
        torque = evaluate(
            stack, surfaces(stack, coefficient), Quantity.exact(100.0), np.random.default_rng(SEED), draws=50
        )
        return StandardDrag(stack, drawing(section(stack, torque)), bool(pattern.drag))
    except LevelwindError as refusal:
        return StandardDrag(None, None, bool(pattern.drag), str(refusal))


def plan_latest(job: Job) -> DragPlan | None:
    """The plan that counts."""
    return job.drag_plans.last()


def setup_from_dict(data: Mapping[str, Any], bodies: int) -> Setup:
    """A setup as a plan keeps it; parts that no longer match the bodies are let go."""
    parts = tuple(str(part) for part in data.get("parts", ()))
    return Setup(
        hand_Nm=float(data.get("hand_Nm") or HAND_NM.value),
        clamp_N=data.get("clamp_N"),
        line_m=data.get("line_m"),
        parts=parts if len(parts) == bodies else ("",) * bodies,
    )


def is_geared(kin: Family) -> bool:
    """Whether the drag sits in the main gear, with the gear mesh between it and the spool."""
    for body, place in zip(kin.drag["bodies"], kin.drag_places, strict=True):
        if body["kind"] == "gear":
            return kin.place(place).kind == "gear"
    return False


def reckon(*, stack: Stack, setup: Setup, reel: Reel) -> Reckoning:
    """All the numbers of one stack. Raises InputError that names the value at fault."""
    touching = surfaces(stack, coefficient)
    clamp = clamp_force(setup, reel.family)
    torque = evaluate(stack, touching, clamp, np.random.default_rng(SEED), DRAWS)
    per_drag = spool_per_drag(reel)
    per_newton = torque_Nm(stack, touching, 1.0, Theory.WEAR) * per_drag.value
    filled = filled_of(reel, setup)
    fills: tuple[AtFill, ...] = ()
    if filled is not None:
        at_spool = {}
        for theory in Theory:
            rng = np.random.default_rng(SEED)
            drawn = torque_draws_Nm(stack, touching, clamp, theory, rng, DRAWS)
            middle = torque_Nm(stack, touching, clamp.value, theory) * per_drag.value
            at_spool[theory] = (middle, drawn * spread(per_drag, rng.standard_normal(DRAWS)))
        fills = tuple(at_fill(name, share, filled, at_spool, reel.strength_N) for name, share in FILLS)
    return Reckoning(
        stack=stack,
        setup=setup,
        reel=reel,
        clamp_N=clamp,
        torque=torque,
        drawing=drawing(section(stack, torque)),
        order=right_order(stack, coefficient),
        spool_per_drag=per_drag,
        fills=fills,
        setting=setting_for(reel, fills, per_newton),
        faces=face_rows(stack, touching, clamp, torque),
    )


def face_rows(stack: Stack, touching: Sequence[Surface], clamp_N: Quantity, torque: StackTorque) -> tuple[FaceRow, ...]:
    """The surfaces that slip, each with its own share of the torque, losses along keys left out."""
    rows = []
    for surface in (touching[index] for index in torque.slipping):
        if surface.coefficient is None:
            continue
        radius = {
            theory: float(friction_radius_m(surface.inner_radius_m, surface.outer_radius_m, theory))
            for theory in Theory
        }
        rows.append(
            FaceRow(
                below=stack.bodies[surface.index].name,
                above=stack.bodies[surface.index + 1].name,
                mu=surface.coefficient.mu,
                source=surface.coefficient.source,
                inner_mm=2000 * surface.inner_radius_m,
                outer_mm=2000 * surface.outer_radius_m,
                new_radius_mm=1000 * radius[Theory.PRESSURE],
                run_in_radius_mm=1000 * radius[Theory.WEAR],
                run_in_Nm=surface.coefficient.mu.value * clamp_N.value * radius[Theory.WEAR],
            )
        )
    return tuple(rows)


def clamp_force(setup: Setup, kin: Family) -> Quantity:
    """Clamp force in N with its interval: as given, or from the hand's torque through the thread."""
    if setup.clamp_N is not None:
        if not 0 < setup.clamp_N <= 20_000:
            raise InputError("clamp force", f"{setup.clamp_N:g} N", "over 0 and up to 20000 N")
        return Quantity.exact(setup.clamp_N)
    if not 0 < setup.hand_Nm <= 20:
        raise InputError("torque on the star", f"{setup.hand_Nm:g} N m", "over 0 and up to 20 N m")
    thread = thread_of(kin)
    hand = Quantity(setup.hand_Nm, setup.hand_Nm * (1 - HAND_SPREAD), setup.hand_Nm * (1 + HAND_SPREAD))
    rng = np.random.default_rng(SEED)
    mu = spread(THREAD_FRICTION, rng.standard_normal(DRAWS))
    drawn = force_from_torque_N(thread, spread(hand, rng.standard_normal(DRAWS)), mu, mu)
    middle = force_from_torque_N(thread, hand.value, THREAD_FRICTION.value, THREAD_FRICTION.value)
    return interval(float(middle), drawn)


def thread_of(kin: Family) -> Thread:
    """The star's thread, and the collar it rubs on: the cap's ring."""
    major, pitch = kin.clamp["thread_diameter_mm"] / 1000, kin.clamp["thread_pitch_mm"] / 1000
    cap = kin.drag["bodies"][-1]
    collar = (cap["outer_diameter_mm"] + cap["inner_diameter_mm"]) / 4000
    return Thread(pitch_radius_m(major, pitch), pitch, collar_radius_m=collar)


def spool_per_drag(reel: Reel) -> Quantity:
    which = DragFamily.STAR if is_geared(reel.family) else DragFamily.LEVER
    return Drive(which, reel.gear_ratio, MESH_EFFICIENCY).spool_per_drag()


def filled_of(reel: Reel, setup: Setup) -> Filled | None:
    """The line on the spool: as much as was said, else as much as leaves a little room under the rim."""
    if reel.spool is None or reel.line is None:
        return None
    length = setup.line_m if setup.line_m and reel.line_known else None
    if length is None:
        length = FULL_SHARE * capacity_m(reel.spool, reel.line, SQUARE_PACKING)
    return Filled(reel.spool, reel.line, length)


def at_fill(
    name: str,
    share: float,
    filled: Filled,
    at_spool: Mapping[Theory, tuple[float, np.ndarray]],
    strength_N: float | None,
) -> AtFill:
    left = share * filled.length_m
    radius = float(radius_at_length_m(filled, left))
    tension = {
        theory: interval(float(tension_N(middle, radius)), np.asarray(tension_N(drawn, radius)))
        for theory, (middle, drawn) in at_spool.items()
    }
    new, run_in = tension[Theory.PRESSURE], tension[Theory.WEAR]
    return AtFill(name, left, 1000 * radius, new, run_in, run_in.value / strength_N if strength_N else None)


def setting_for(reel: Reel, fills: Sequence[AtFill], per_newton_Nm: float) -> Setting | None:
    """What the line asks for at the strike, full spool, and what that becomes near the bare arbor."""
    if reel.strength_N is None or not fills:
        return None
    low, high = (share * reel.strength_N for share in (STRIKE_LOW, STRIKE_HIGH))
    grows = fills[0].radius_mm / fills[-1].radius_mm
    clamp = None
    if per_newton_Nm > 0:
        low_clamp, high_clamp = (t * fills[0].radius_mm / 1000 / per_newton_Nm for t in (low, high))
        clamp = Quantity((low_clamp + high_clamp) / 2, low_clamp, high_clamp)
    return Setting(low, high, low * grows, high * grows, STRIKE_HIGH * grows, clamp)


def in_right_order(stack: Stack, setup: Setup) -> tuple[Stack, Setup]:
    """The same bodies in the order that carries most, each with the part chosen for it."""
    order = right_order(stack, coefficient)
    if order is None:
        raise LevelwindError("There are too many ways to lay these washers to try them all.")
    parts = tuple(setup.parts[place] for place in order.places) if setup.parts else ()
    return stack.in_order(order.places), replace(setup, parts=parts)
