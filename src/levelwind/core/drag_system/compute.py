"""What a drag system does: its clamp force, torque and line tension, and every part asked for besides."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from levelwind.core.drag.compared import times_as_much
from levelwind.core.drag.contacts import Contact, find_contacts
from levelwind.core.drag.draws import Generator, independent_product, sampled
from levelwind.core.drag.height import HeightCheck, Thickness, check_height
from levelwind.core.drag.infer import Inferred, weighed
from levelwind.core.drag.model import WORKING, Stack
from levelwind.core.drag.order import Order, right_order
from levelwind.core.drag.rings import Assumption, Floats
from levelwind.core.drag.run_report import RunReport, run_report
from levelwind.core.drag.torque import TORQUE_DRAWS, StackTorque, evaluate, torque_draws_Nm, torque_Nm
from levelwind.core.drag.weakest import Weakest, weakest
from levelwind.core.drag_system.cautions import cautions_of
from levelwind.core.drag_system.clamping import Settings, clamp_force, most_by_hand_N, settings_of
from levelwind.core.drag_system.friction import lining_likelihood, priors, torque_pulled
from levelwind.core.drag_system.model import DRAWS, DragSystem, LoadedSpool, Pull, Room, Run, Tables
from levelwind.core.errors import LevelwindError
from levelwind.core.line import (
    FillCurve,
    LineReport,
    Setting,
    fill_curve,
    line_report,
    radius_at_length_m,
    run_steps,
    setting,
)
from levelwind.core.notes import Note
from levelwind.core.quantities import Quantity

FEW, MANY = 11, 61
"""Fills computed along the spool: both hold full, half and near empty exactly; MANY draw a curve. Our choice."""


@dataclass(frozen=True, slots=True)
class AtFill:
    """Line tension at one fill of the spool, with new faces and with faces run in."""

    fill: str
    left_m: float
    radius_mm: float
    new_N: Quantity
    run_in_N: Quantity


@dataclass(frozen=True, slots=True)
class Band:
    """Line tension in N with the ends of its interval, each of the shape of what it is against."""

    middle_N: Floats
    low_N: Floats
    high_N: Floats


@dataclass(frozen=True, slots=True)
class AtLine:
    """All that needs the spool. ``curve`` and ``report`` are run in; ``setting`` is None for a line, or a fly reel's
    tippet, of unknown strength.

    ``per_spool_Nm`` is line tension in N for one N m at the spool, full and near empty; ``per_clamp_N`` the same, full
    and run in, for one newton of clamp force.
    """

    fills: tuple[AtFill, ...]
    curve: FillCurve
    report: LineReport
    setting: Setting | None
    per_spool_Nm: tuple[float, float]
    per_clamp_N: float


@dataclass(frozen=True, slots=True)
class RunResult:
    """A run: line tension in N warm and cold, and the hottest part's temperature, each of shape (steps,)."""

    out_m: Floats
    warm_N: Floats
    cold_N: Floats
    hottest_C: Floats
    report: RunReport


@dataclass(frozen=True, slots=True)
class DragResult:
    """What a drag system does. A part that was not asked for is None; one that could not be told is in ``refusals``.

    ``turns`` is the clamp force at all that a hand can set, ``turns_N`` the line tension there, run in, spool full;
    None without a spool, and while nothing is pressed. ``times_old`` is the stack's torque over the old one's at the
    same clamp force, ``most_clamp_N`` the most a hand clamps; ``notes`` what to know of these numbers before leaning on
    them.
    """

    system: DragSystem
    contacts: tuple[Contact, ...]
    clamp_N: Quantity
    torque: StackTorque
    order: Order | None
    line: AtLine | None
    turns: Settings | None = None
    turns_N: Band | None = None
    pull: Inferred | None = None
    run: RunResult | None = None
    strength: Weakest | None = None
    height: HeightCheck | None = None
    times_old: Quantity | None = None
    most_clamp_N: float | None = None
    notes: tuple[Note, ...] = ()
    refusals: Mapping[str, LevelwindError] = field(default_factory=dict)

    @property
    def fills(self) -> tuple[AtFill, ...]:
        return self.line.fills if self.line else ()


def compute(
    system: DragSystem, tables: Tables, rng: Generator, *, points: int = MANY, with_order: bool = True
) -> DragResult:
    """Everything asked of a drag system, from one stream of dice in one order, so that every caller gets the same.

    ``points`` is how many fills the curve along the spool has; ``with_order`` whether every order of the washers is
    tried. Raises InputError where clamp, stack or spool cannot be; a part that cannot be told is in ``refusals``.
    """
    contacts = find_contacts(system.stack, tables.friction)
    clamp = clamp_force(system.clamp, rng)
    torque = evaluate(system.stack, contacts, clamp, rng)
    order = right_order(system.stack, tables.friction) if with_order else None
    result = DragResult(system, contacts, clamp, torque, order, None)
    if system.spool is not None:
        result = replace(result, line=_at_line(result, system.spool, rng, points))
    return _with_parts(result, tables, rng)


def _with_parts(result: DragResult, tables: Tables, rng: Generator) -> DragResult:
    """Each part asked for, in the order in which they take from the dice."""
    system, spool, line = result.system, result.system.spool, result.line
    makers: dict[str, Callable[[], object]] = {}
    if (against := system.against) is not None:
        makers["turns"] = lambda: settings_of(against)
    if spool is not None and line is not None:
        if (pull := system.pull) is not None:
            makers["pull"] = lambda: _pull(result, spool, pull, tables, rng)
        if (run := system.run) is not None:
            makers["run"] = lambda: _run(result, spool, run, tables)
        if system.links:
            makers["strength"] = lambda: weakest(system.links, line.per_spool_Nm, _at_spool_Nm(result))
    if (room := system.room) is not None:
        makers["height"] = lambda: _height(system.stack, room, rng)
    if (old := system.old) is not None:
        makers["times_old"] = lambda: _times_old(result, old, tables, rng)
    if (hand := system.hand) is not None:
        makers["most_clamp_N"] = lambda: most_by_hand_N(hand, rng)
    made: dict[str, Any] = {}
    refusals: dict[str, LevelwindError] = {}
    for part, make in makers.items():
        try:
            made[part] = make()
        except LevelwindError as refusal:
            refusals[part] = refusal
    whole = replace(result, **made, refusals=refusals)
    full_N = line.fills[0].run_in_N if line else None
    notes = cautions_of(system, result.contacts, result.torque.slipping, result.clamp_N, full_N, tables)
    return replace(whole, turns_N=_turns_N(whole), notes=notes)


def _times_old(result: DragResult, old: Stack, tables: Tables, rng: Generator) -> Quantity:
    new = result.system.stack, result.contacts
    return times_as_much(new, (old, find_contacts(old, tables.friction)), rng, TORQUE_DRAWS)


def _at_spool_Nm(result: DragResult) -> Quantity:
    """Torque at the spool, run in."""
    return independent_product(result.torque.run_in_Nm, result.system.drive.spool_per_drag())


def _at_line(result: DragResult, spool: LoadedSpool, rng: Generator, points: int) -> AtLine:
    stack, contacts, torque = result.system.stack, result.contacts, result.torque
    per_drag = result.system.drive.spool_per_drag()
    drawn = torque_draws_Nm(stack, contacts, result.clamp_N, rng, DRAWS)
    gears = sampled(per_drag, rng.standard_normal(DRAWS))
    packing = sampled(spool.packing, rng.standard_normal(DRAWS))
    curves, reports = {}, {}
    for assumption, at_drag in ((Assumption.PRESSURE, torque.new_Nm), (Assumption.WEAR, torque.run_in_Nm)):
        middle = at_drag.value * per_drag.value
        fills = points if assumption is Assumption.WEAR else FEW
        at_spool = drawn[assumption] * gears
        curves[assumption] = fill_curve(spool.filled, middle, at_spool, packing, spool.past, fills)
        reports[assumption] = line_report(spool.filled, curves[assumption], middle, spool.past)
    worn, strength = reports[Assumption.WEAR], result.system.set_to_N
    per_spool = spool.past / worn.rows[0].radius_m, spool.past / worn.rows[-1].radius_m
    return AtLine(
        fills=tuple(
            AtFill(old.fill, old.left_m, 1000 * old.radius_m, new.tension_N, old.tension_N)
            for old, new in zip(worn.rows, reports[Assumption.PRESSURE].rows, strict=True)
        ),
        curve=curves[Assumption.WEAR],
        report=worn,
        setting=None if strength is None else setting(spool.filled, strength),
        per_spool_Nm=per_spool,
        per_clamp_N=torque_Nm(stack, contacts, 1.0, Assumption.WEAR) * per_drag.value * per_spool[0],
    )


def _turns_N(result: DragResult) -> Band | None:
    """What is not known of the friction widens what is not known of the springs."""
    turns, line = result.turns, result.line
    if turns is None or line is None or not result.clamp_N.value:
        return None
    per_N = result.torque.run_in_Nm.scaled(1 / result.clamp_N.value)
    per_drag = result.system.drive.spool_per_drag().value * line.per_spool_Nm[0]
    torques = [independent_product(per_N, force) if force.value else Quantity.exact(0.0) for force in turns.force_N]
    low, high = (per_drag * np.array([getattr(torque, end) for torque in torques]) for end in ("low", "high"))
    return Band(line.per_clamp_N * np.array([force.value for force in turns.force_N]), low, high)


def _pull(result: DragResult, spool: LoadedSpool, pull: Pull, tables: Tables, rng: Generator) -> Inferred:
    stack, contacts = result.system.stack, result.contacts
    before = priors(stack, contacts, pull.material, tables)
    torque = torque_pulled(pull, spool, result.system.drive)
    likely = lining_likelihood(stack, contacts, pull.material, torque, result.clamp_N, rng)
    return weighed(likely, before, result.clamp_N)


def _run(result: DragResult, spool: LoadedSpool, run: Run, tables: Tables) -> RunResult:
    filled, drive = spool.filled, result.system.drive
    seconds, spool_rad = run_steps(filled, filled.length_m, run.length_m, run.speed_m_s)
    slip = spool_rad / drive.gear_ratio if drive.geared else spool_rad
    stack, torque = result.system.stack, result.torque.run_in_Nm
    said = run_report(
        *(stack, result.contacts, result.clamp_N.value, torque, (seconds, slip), tables.solids, run.lumps),
        stands_C=tables.stands_C,
    )
    out = np.linspace(0.0, run.length_m, len(seconds) + 1)[1:]
    per_Nm = drive.spool_per_drag().value * spool.past / radius_at_length_m(filled, filled.length_m - out)
    warming = said.warming
    return RunResult(
        out_m=out,
        warm_N=warming.torque_Nm * per_Nm,
        cold_N=np.asarray(warming.torque_Nm[0] * per_Nm),
        hottest_C=warming.temperature_C[1:, warming.names.index(warming.hottest[0])],
        report=said,
    )


def _height(stack: Stack, room: Room, rng: Generator) -> HeightCheck:
    new = pieces(stack, room.off_m)
    return check_height(room.old, new, room.lower_m, room.higher_m, room.shims, rng, DRAWS)


def pieces(stack: Stack, off_m: float) -> tuple[Thickness, ...]:
    """The washers and plates of a stack, each off by as much as said, at most by half of itself."""
    return tuple(
        Thickness(body.name, body.thickness_m, min(off_m, body.thickness_m / 2))
        for body in stack.bodies
        if body.kind in WORKING
    )
