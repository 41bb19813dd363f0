"""What else can be told of a stack: against turns of the star, through a run, what gives first, how high it stands."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from levelwind.core.drag.clamp import Thread
from levelwind.core.drag.draws import product
from levelwind.core.drag.height import HeightCheck, Thickness, check_height
from levelwind.core.drag.model import WORKING, Stack
from levelwind.core.drag.rings import Floats
from levelwind.core.drag.run_report import RunReport, run_report
from levelwind.core.drag.springs import HAND_STEP_DEG, finest_step_N, turns_to_flat
from levelwind.core.drag.weakest import Weakest, weakest
from levelwind.core.errors import LevelwindError, NotDeterminedError
from levelwind.core.line import run_steps
from levelwind.core.line.radius import radius_at_length_m
from levelwind.core.quantities import Quantity
from levelwind.reference.materials import solids, stands_C
from levelwind.shop.selectors.drag_setup import Setup
from levelwind.shop.selectors.drags import SEED, Reckoning, thread_of

POINTS = 41
STEPS = 24
COIL_TURNS = 6.0
"""Points of a curve against turns, steps of a run, and how far a coil spring is drawn: enough to see, few enough to
answer while a washer moves."""


@dataclass(frozen=True, slots=True)
class TurnsSection:
    """Line tension, run in, spool full, against turns of the star from where the springs just touch.

    ``flat_at`` is where disc springs lie flat; ``step_N`` what the smallest turn a hand can set changes at the line,
    None at the ends of the springs' travel.
    """

    turns: Floats
    tension_N: Floats
    low_N: Floats
    high_N: Floats
    flat_at: float | None
    here: float | None
    step_N: float | None


@dataclass(frozen=True, slots=True)
class RunSection:
    """Tension as the line runs out, with the heat and without, and the hottest part's temperature; (steps,) each."""

    out_m: Floats
    warm_N: Floats
    cold_N: Floats
    hottest_C: Floats
    told: RunReport


@dataclass(frozen=True, slots=True)
class Sections:
    """What each section tells, None where something is missing for it; ``lacks`` says what, by the section's name."""

    turns: TurnsSection | None
    run: RunSection | None
    strength: Weakest | None
    height: HeightCheck | None
    lacks: Mapping[str, str]


def sections(reckoning: Reckoning, old: Stack) -> Sections:
    """Every section that what is known allows; ``old`` is the stack whose height the star is used to."""
    makers: dict[str, Callable[[], object]] = {
        "turns": lambda: turns_section(reckoning),
        "run": lambda: run_section(reckoning),
        "strength": lambda: strength_section(reckoning),
        "height": lambda: height_section(reckoning, old),
    }
    told: dict[str, Any] = {}
    lacks: dict[str, str] = {}
    for name, make in makers.items():
        try:
            told[name] = make()
        except LevelwindError as refusal:
            told[name], lacks[name] = None, str(refusal)
    return Sections(**told, lacks=lacks)


def turns_section(reckoning: Reckoning) -> TurnsSection:
    """Raises NotDeterminedError while springs, thread or spool are not known."""
    setup, thread = reckoning.setup, thread_of(reckoning.reel.family)
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
    per_torque, per_N = _per_torque(reckoning), reckoning.per_newton_Nm * _per_torque(reckoning)
    bands = [_band(force, reckoning) for force in forces[1:]]
    return TurnsSection(
        turns=turns,
        tension_N=np.array([force.value for force in forces]) * per_N,
        low_N=np.array([0.0, *(band.low for band in bands)]) * per_torque,
        high_N=np.array([0.0, *(band.high for band in bands)]) * per_torque,
        flat_at=flat,
        here=here,
        step_N=_hand_step_N(setup, thread, here) * per_N if here and here < (flat or np.inf) else None,
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
    return product(share, force_N)


def _per_torque(reckoning: Reckoning) -> float:
    """Line tension, spool full, for one N m at the drag."""
    line = reckoning.line
    if line is None:
        raise NotDeterminedError("The spool's sizes are not in the pattern book.")
    return reckoning.spool_per_drag.value * line.guides * 1000 / line.fills[0].radius_mm


def run_section(reckoning: Reckoning) -> RunSection:
    """A run from the full spool; all its heat stays in the stack, for nothing is known of what it flows into."""
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
    told = run_report(
        reckoning.stack,
        reckoning.touching,
        reckoning.clamp_N.value,
        reckoning.torque.run_in_Nm,
        (seconds, slip),
        known,
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
        told=told,
    )


def strength_section(reckoning: Reckoning) -> Weakest:
    """Raises NotDeterminedError while no part behind the drag is measured."""
    line = reckoning.line
    if line is None:
        raise NotDeterminedError("The spool's sizes are not in the pattern book.")
    links = reckoning.setup.links(reckoning.reel.drive.handle_per_spool())
    if not links:
        raise NotDeterminedError("Measure the main gear, the dog, the gear sleeve or the handle arm: any one will do.")
    full, bare = (line.guides * 1000 / fill.radius_mm for fill in (line.fills[0], line.fills[-1]))
    return weakest(links, (full, bare), product(reckoning.torque.run_in_Nm, reckoning.spool_per_drag))


def height_section(reckoning: Reckoning, old: Stack) -> HeightCheck:
    """The new washers and plates against the old ones, within what the star takes up."""
    setup = reckoning.setup
    lower, higher = setup.number("lower_mm"), setup.number("higher_mm")
    if lower is None or higher is None:
        raise NotDeterminedError("Say how much lower and how much higher a stack the star or knob can take up.")
    off = (setup.number("off_mm") or 0.0) / 1000
    before, after = _pieces(old, off), _pieces(reckoning.stack, off)
    rng = np.random.default_rng(SEED)
    return check_height(before, after, lower / 1000, higher / 1000, setup.shims(), rng, draws=4000)


def _pieces(stack: Stack, off_m: float) -> Sequence[Thickness]:
    return [
        Thickness(body.name, body.thickness_m, min(off_m, body.thickness_m / 2))
        for body in stack.bodies
        if body.kind in WORKING
    ]
