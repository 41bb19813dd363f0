"""A job's drag, reckoned: the stack chosen, what squeezes it, and the spool it holds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import radians
from typing import Any

import numpy as np

from levelwind.core.drag.clamp import Thread, clamp_from_torque, pitch_radius_m
from levelwind.core.drag.contacts import Contact, find_contacts
from levelwind.core.drag.draws import sampled
from levelwind.core.drag.families import Drive
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.lever import Lever, lift_m
from levelwind.core.drag.model import Stack
from levelwind.core.drag.order import Order, right_order
from levelwind.core.drag.rings import Assumption, Floats, friction_radius_m
from levelwind.core.drag.section import section
from levelwind.core.drag.springs import pack_force
from levelwind.core.drag.torque import StackTorque, evaluate, torque_draws_Nm, torque_Nm
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.line import (
    SQUARE_PACKING,
    FillCurve,
    Filled,
    Line,
    Setting,
    Spool,
    capacity_m,
    capstan,
    fill_curve,
    line_report,
    setting,
)
from levelwind.core.line.report import LineRow
from levelwind.core.quantities import Quantity
from levelwind.reference.families import Family, family
from levelwind.reference.materials import coefficient
from levelwind.reference.threads import thread as standard_thread
from levelwind.shop.drag.selectors.drawings import Drawing, drawing
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.models import Job, Pattern

DRAWS = 2000
SEED = 20
"""The same dice each time, so that a number moves only when something typed has moved it."""

HAND_SPREAD = 0.3
"""How far a hand torque given as one number may be off, as a share. A judgement."""

THREAD_FRICTION = Quantity(0.14, 0.08, 0.20)
"""Greased to barely greased steel threads and collars; handbook range, from memory."""

PACKING = Quantity(SQUARE_PACKING, 0.70, 0.86)
"""How closely line lies on a spool: plain layers, from loose to pressed in. A judgement."""

FULL_SHARE = 0.95
"""A spool counts as full with a little of its room left under the rim: common practice, no source."""

FEW, MANY = 11, 41
"""Fills computed: enough to hold full, half and a tenth exactly, and enough to draw a curve."""

UNKNOWN_LINE_MM = 0.4
"""Stands in for a line whose diameter nobody gave: the radius at a share of the line does not depend on it."""


@dataclass(frozen=True, slots=True)
class Reel:
    """What of the reel itself the drag works against; None where pattern and job do not say."""

    family: Family
    drive: Drive
    ratio_known: bool
    spool: Spool | None
    line: Line
    line_known: bool
    strength_N: float | None


@dataclass(frozen=True, slots=True)
class AtFill:
    """Line tension at one fill of the spool; ``share`` is of the line's strength, run in."""

    name: str
    left_m: float
    radius_mm: float
    new_N: Quantity
    run_in_N: Quantity
    share: float | None


@dataclass(frozen=True, slots=True)
class AtLine:
    """All that needs the spool: the curve run in, the three fills, how they were worked out, the line's setting."""

    filled: Filled
    guides: float
    curve: FillCurve
    fills: tuple[AtFill, ...]
    rows: tuple[LineRow, ...]
    parts_at_left_m: float | None
    setting: Setting | None


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
    """What a stack does. ``per_newton_Nm`` is its torque, run in, for one newton of clamp force."""

    stack: Stack
    setup: Setup
    reel: Reel
    contacts: tuple[Contact, ...]
    clamp_N: Quantity
    clamp_from: str
    torque: StackTorque
    per_newton_Nm: float
    drawing: Drawing
    order: Order | None
    spool_per_drag: Quantity
    line: AtLine | None
    faces: tuple[FaceRow, ...]

    @property
    def fills(self) -> tuple[AtFill, ...]:
        return self.line.fills if self.line else ()

    def as_dict(self) -> dict[str, Any]:
        """What a plan keeps of it, for the proof sheet and for comparing with readings."""
        return {
            "clamp_N": self.clamp_N.as_dict(),
            "torque_new_Nm": self.torque.new_Nm.as_dict(),
            "torque_run_in_Nm": self.torque.run_in_Nm.as_dict(),
            "spool_per_drag": self.spool_per_drag.as_dict(),
            "past_rod_guides": rod_guides_of(self.setup),
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
    which = DragFamily.STAR if is_geared(kin) else DragFamily.LEVER
    diameter = (job.line_diameter_mm or UNKNOWN_LINE_MM) / 1000
    return Reel(
        family=kin,
        drive=Drive(which, pattern.gear_ratio or kin.gear_ratio),
        ratio_known=pattern.gear_ratio is not None,
        spool=spool_of(pattern),
        line=Line(job.line_name or "the line", diameter, job.line_strength_N or 1.0),
        line_known=bool(job.line_diameter_mm),
        strength_N=job.line_strength_N,
    )


def spool_of(pattern: Pattern) -> Spool | None:
    arbor, flange, width = pattern.spool_arbor_mm, pattern.spool_flange_mm, pattern.spool_width_mm
    if not (arbor and flange and width):
        return None
    return Spool(arbor / 2000, flange / 2000, width / 1000)


def is_geared(kin: Family) -> bool:
    """Whether the drag sits in the main gear, with the gear mesh between it and the spool."""
    for body, place in zip(kin.drag["bodies"], kin.drag_places, strict=True):
        if body["kind"] == "gear":
            return kin.place(place).kind == "gear"
    return False


@lru_cache(maxsize=32)
def reckon(*, stack: Stack, setup: Setup, reel: Reel, order: bool = True, fills: int = MANY) -> Reckoning:
    """All the numbers of one stack, and whether another ``order`` of it is better, unless that is not asked.

    ``fills`` is how many its curve has; the numbers at full, half and near empty do not depend on it.
    Kept between two looks: while a washer is moved about, the old stack stays what it was.
    Raises InputError that names the value at fault.
    """
    contacts = find_contacts(stack, coefficient)
    clamp, clamp_from = clamp_force(setup, reel.family)
    torque = evaluate(stack, contacts, clamp, np.random.default_rng(SEED), DRAWS)
    per_drag = reel.drive.spool_per_drag()
    return Reckoning(
        stack=stack,
        setup=setup,
        reel=reel,
        contacts=contacts,
        clamp_N=clamp,
        clamp_from=clamp_from,
        torque=torque,
        per_newton_Nm=torque_Nm(stack, contacts, 1.0, Assumption.WEAR),
        drawing=drawing(section(stack, torque.slipping, torque.idle)),
        order=order_of(stack) if order else None,
        spool_per_drag=per_drag,
        line=_at_line(stack, contacts, clamp, per_drag, setup, reel, fills),
        faces=face_rows(stack, contacts, clamp, torque),
    )


@lru_cache(maxsize=64)
def order_of(stack: Stack) -> Order | None:
    """The right order, kept between two looks: it hangs on the washers alone, not on what squeezes them."""
    return right_order(stack, coefficient)


def _at_line(
    stack: Stack,
    contacts: tuple[Contact, ...],
    clamp_N: Quantity,
    per_drag: Quantity,
    setup: Setup,
    reel: Reel,
    points: int,
) -> AtLine | None:
    filled = filled_of(reel, setup)
    if filled is None:
        return None
    guides = guides_of(setup)
    curves, middles = {}, {}
    for assumption in Assumption:
        rng = np.random.default_rng(SEED)
        drawn = torque_draws_Nm(stack, contacts, clamp_N, assumption, rng, DRAWS)
        drawn = drawn * sampled(per_drag, rng.standard_normal(DRAWS))
        packing = sampled(PACKING, rng.standard_normal(DRAWS))
        middles[assumption] = torque_Nm(stack, contacts, clamp_N.value, assumption) * per_drag.value
        curves[assumption] = fill_curve(filled, middles[assumption], drawn, packing, guides, points)
    wear, new = (line_report(filled, curves[t], middles[t], guides) for t in (Assumption.WEAR, Assumption.PRESSURE))
    strength = reel.strength_N
    fills = tuple(
        AtFill(
            name=run_in.fill,
            left_m=run_in.left_m,
            radius_mm=1000 * run_in.radius_m,
            new_N=fresh.tension_N,
            run_in_N=run_in.tension_N,
            share=run_in.tension_N.value / strength if strength else None,
        )
        for run_in, fresh in zip(wear.rows, new.rows, strict=True)
    )
    return AtLine(
        filled=filled,
        guides=guides,
        curve=curves[Assumption.WEAR],
        fills=fills,
        rows=wear.rows,
        parts_at_left_m=wear.parts_at_left_m if strength else None,
        setting=setting(filled, strength) if strength else None,
    )


def roller_of(setup: Setup) -> float:
    """How many times greater the tension is past the reel's own roller; 1 where no wrap is given."""
    return _past(setup, "roller_deg", "roller_mu")


def guides_of(setup: Setup) -> float:
    """The same past the roller and the rod's guides, one after the other."""
    return roller_of(setup) * rod_guides_of(setup)


def rod_guides_of(setup: Setup) -> float:
    """The same past the rod's guides alone: what a scale on the line straight off the reel does not see."""
    return _past(setup, "wrap_deg", "guide_mu")


def _past(setup: Setup, wrap_key: str, mu_key: str) -> float:
    wrap = setup.number(wrap_key)
    return float(capstan(setup.number(mu_key) or 0.0, radians(wrap))) if wrap else 1.0


def filled_of(reel: Reel, setup: Setup) -> Filled | None:
    """The line on the spool: as much as was said, else as much as leaves a little room under the rim."""
    if reel.spool is None:
        return None
    across, length = setup.number("backing_mm"), setup.number("backing_m") or 0.0
    backing = Line("the backing", across / 1000, 1.0) if across and length else None
    line_m = setup.number("line_m") if reel.line_known else None
    if line_m is None:
        taken = backing.volume_per_m_m3() * length if backing else 0.0
        line_m = FULL_SHARE * capacity_m(reel.spool, reel.line, SQUARE_PACKING) - taken / reel.line.volume_per_m_m3()
        if line_m <= 0:
            raise InputError("backing, length", f"{length:g} m", "what leaves room for the line on this spool")
    return Filled(reel.spool, reel.line, line_m, backing, length if backing else 0.0)


def clamp_force(setup: Setup, kin: Family, moment: str = "") -> tuple[Quantity, str]:
    """Clamp force in N with its interval, and where it comes from: given, through the springs, or by hand.

    ``moment``, found or left, asks for what was set at that pull; where nothing was said of it, today's stands.
    """
    then = f"{moment}_" if moment and setup.said_of_clamp(moment) else ""
    given, turns = setup.number(f"{then}clamp_N"), setup.number(f"{then}turns")
    if given is not None:
        return Quantity.exact(given), "as given"
    if kin.lever is not None:
        lever, angle = lever_of(setup, kin, then)
        pressed = max(float(lift_m(lever.cam, angle)) - lever.cam.gap_m, 0.0)
        return pack_force(lever.springs, pressed), f"the lever at {angle:g}°, its cam pressing the springs"
    thread = thread_of(setup, kin)
    sprung = setup.spring_force(turns * thread.lead_m) if turns and thread else None
    if sprung is not None:
        return sprung, f"{turns:g} turns on the thread, pressing the springs"
    if then:
        raise NotDeterminedError("Turns say nothing of the clamp force until the springs are measured.")
    if thread is None:
        raise InputError("clamp force", "not said", "a force in N: no thread squeezes this drag")
    hand = setup.number("hand_Nm") or 0.0
    torque = Quantity(hand, hand * (1 - HAND_SPREAD), hand * (1 + HAND_SPREAD))
    rng = np.random.default_rng(SEED)
    force = clamp_from_torque(thread, torque, THREAD_FRICTION, THREAD_FRICTION, rng, DRAWS)
    return force, f"a hand's {hand:g} N m through the thread"


def lever_of(setup: Setup, kin: Family, then: str = "") -> tuple[Lever, float]:
    """The family's lever, with the springs measured if they were, and its angle: the strike's where none was said."""
    assert kin.lever is not None
    angle = setup.number(f"{then}lever_deg")
    lever = replace(kin.lever, springs=setup.springs() or kin.lever.springs)
    return lever, lever.angle_deg if angle is None else angle


def thread_of(setup: Setup, kin: Family) -> Thread | None:
    """The thread said, else the family's usual one, with the collar it rubs on, which is the cap's ring.

    None in a drag that no thread squeezes.
    """
    if "thread_pitch_mm" not in kin.clamp:
        return None
    cap = kin.drag["bodies"][-1]
    collar = (cap["outer_diameter_mm"] + cap["inner_diameter_mm"]) / 4000
    if named := setup.said.get("thread"):
        return standard_thread(named).turning(collar)
    major, pitch = kin.clamp["thread_diameter_mm"] / 1000, kin.clamp["thread_pitch_mm"] / 1000
    return Thread(pitch_radius_m(major, pitch), pitch, collar_radius_m=collar)


def face_rows(stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, torque: StackTorque) -> tuple[FaceRow, ...]:
    """The surfaces that slip, each with its own share of the torque, losses along keys left out."""
    rows = []
    for surface in (contacts[index] for index in torque.slipping):
        if surface.coefficient is None:
            continue
        ring: tuple[Floats | float, Floats | float] = (surface.inner_radius_m, surface.outer_radius_m)
        new, run_in = (
            float(friction_radius_m(*ring, assumption)) for assumption in (Assumption.PRESSURE, Assumption.WEAR)
        )
        rows.append(
            FaceRow(
                below=stack.bodies[surface.index].name,
                above=stack.bodies[surface.index + 1].name,
                mu=surface.coefficient.mu,
                source=surface.coefficient.source,
                inner_mm=2000 * surface.inner_radius_m,
                outer_mm=2000 * surface.outer_radius_m,
                new_radius_mm=1000 * new,
                run_in_radius_mm=1000 * run_in,
                run_in_Nm=surface.coefficient.mu.value * clamp_N.value * run_in,
            )
        )
    return tuple(rows)


def in_right_order(stack: Stack, setup: Setup) -> tuple[Stack, Setup]:
    """The same bodies in the order that carries most, each with the part chosen for it."""
    order = order_of(stack)
    if order is None:
        raise LevelwindError("There are too many ways to lay these washers to try them all.")
    parts = tuple(setup.parts[place] for place in order.places) if setup.parts else ()
    return stack.in_order(order.places), replace(setup, parts=parts)
