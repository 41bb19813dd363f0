"""A drag described in TOML, read into typed things; every refusal names the table and the key."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import radians
from pathlib import Path
from typing import Any

import numpy as np
from numpy.random import Generator

from levelwind.core.drag import weakest
from levelwind.core.drag.clamp import clamp_from_torque
from levelwind.core.drag.click import Click
from levelwind.core.drag.families import MESH_EFFICIENCY, Drive, Family
from levelwind.core.drag.heat import Lump
from levelwind.core.drag.height import Thickness
from levelwind.core.drag.lever import finest_lever_step_N, force_at_lever_N, lift_m
from levelwind.core.drag.model import WORKING, Stack, stack_from_dict
from levelwind.core.drag.springs import (
    finest_step_N,
    force_against_turns_N,
    pack_force,
    turns_to_flat,
)
from levelwind.core.drag.weakest import Link
from levelwind.core.errors import InputError
from levelwind.core.line import SQUARE_PACKING, Filled, Line, Spool, guides_factor
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.reference.clamps import read_cam, read_click, read_springs, read_thread
from levelwind.reference.gears import lewis_both
from levelwind.reference.materials import solids
from levelwind.reference.toml_rows import TomlTable, read_toml

LARGEST_FILE_BYTES = 1_000_000
CLAMP_DRAWS = 10_000

HeightAsked = tuple[Sequence[Thickness], Sequence[Thickness], float, float, Sequence[Thickness]]
"""Old stack, new stack, how much lower and higher the star takes up, shims at hand."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the file describes."""

    stack: Stack
    drive: Drive
    clamp_N: Quantity
    clamp_words: str
    clamp_curve: dict[str, Any]
    filled: Filled | None
    guides: float
    packing: Quantity
    run: "Run | None"
    links: tuple[Link, ...]
    height: HeightAsked | None
    pull: "Pull | None"


@dataclass(frozen=True, slots=True)
class Pull:
    """A running drag read at the line with so much of it left, and the lining whose friction it tells of."""

    tension_N: Quantity
    left_m: float
    material: str


@dataclass(frozen=True, slots=True)
class Run:
    """A run to be warmed through, from the full spool."""

    speed_m_s: float
    length_m: float
    lumps: tuple[Lump, ...]


@dataclass(frozen=True, slots=True)
class ClickAsked:
    """A click and pawl, with the spool where it is given."""

    click: Click
    filled: Filled | None
    guides: float


def read(path: Path, rng: Generator) -> Asked | ClickAsked:
    """The file as typed things; InputError names the table and the key."""
    file = read_toml(path.name, _text(path))
    drive = _drive(file.row("reel"))
    asked = _read_click(file) if drive.family is Family.FLY_CLICK else _read_stack(file, drive, rng)
    file.done()
    return asked


def _read_click(file: TomlTable) -> ClickAsked:
    click = read_click(file.row("click"))
    filled, guides, _ = _line(file)
    return ClickAsked(click, filled, guides)


def _read_stack(file: TomlTable, drive: Drive, rng: Generator) -> Asked:
    clamp, words, curve = _clamp(file.row("clamp"), rng)
    stack = stack_from_dict(file.row("stack").values)
    run = _run(file.row("run")) if "run" in file.values else None
    links = tuple(_link(row, drive) for row in file.rows("strength"))
    height = _height(file.row("height"), stack) if "height" in file.values else None
    pull = _pull(file.row("pull")) if "pull" in file.values else None
    asked = Asked(stack, drive, clamp, words, curve, *_line(file), run, links, height, pull)
    if asked.filled is None and (run or links or pull):
        raise InputError(file.where, "a run, pull or strength without a spool", "a [spool] and a [line] beside them")
    return asked


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            raise InputError("file", repr(str(path)), "a TOML file that describes a drag")
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise InputError(path.name, f"{path.stat().st_size} bytes", f"a text of up to {LARGEST_FILE_BYTES} bytes")
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise InputError(path.name, "not text", "a TOML file in UTF-8") from error
    except OSError as error:
        raise InputError(path.name, f"not readable: {error.strerror}", "a file this account may read") from error


def _drive(row: TomlTable) -> Drive:
    family = Family(row.text("family", allowed=[f.value for f in Family]))
    ratio = row.number("gear_ratio") if "gear_ratio" in row.values else 1.0
    eta = _quantity(row, "mesh_efficiency") if "mesh_efficiency" in row.values else MESH_EFFICIENCY
    row.done()
    return Drive(family, ratio, eta)


def _clamp(row: TomlTable, rng: Generator) -> tuple[Quantity, str, dict[str, Any]]:
    """From a force, from hand torque on a thread, from turns through springs, or from a lever through a cam."""
    curve: dict[str, Any] = {}
    if "force_N" in row.values:
        force, words = _quantity(row, "force_N"), "as given"
    elif "torque_Nm" in row.values:
        force, words = _by_hand(row, rng), "hand torque through the thread"
    elif "turns" in row.values:
        force, curve = _by_turns(row)
        words = "turns of the star through the springs"
    elif "lever_deg" in row.values:
        force, curve = _by_lever(row)
        words = "lever through its cam and the springs"
    else:
        raise InputError(row.where, "without a force", "one of force_N, torque_Nm, turns, lever_deg")
    row.done()
    return force, words, curve


def _by_hand(row: TomlTable, rng: Generator) -> Quantity:
    mu = _quantity(row, "thread_friction")
    collar = _quantity(row, "collar_friction") if "collar_friction" in row.values else mu
    return clamp_from_torque(read_thread(row), _quantity(row, "torque_Nm"), mu, collar, rng, CLAMP_DRAWS)


def _by_turns(row: TomlTable) -> tuple[Quantity, dict[str, Any]]:
    """Force at the turns asked for, with the whole curve and the finest step a hand can set there."""
    pack, turns, lead = read_springs(row.row("springs")), row.number("turns"), read_thread(row).lead_m
    force = pack_force(pack, turns * lead)
    flat = turns_to_flat(pack, lead)
    every = np.linspace(0.0, flat, 21)
    curve = {"turns": every.tolist(), "force_N": force_against_turns_N(pack, every, lead).tolist()}
    return force, {
        "clamp_against_turns": curve,
        "finest_step_N": finest_step_N(pack, turns, lead),
        "turns_to_flat": flat,
    }


def _by_lever(row: TomlTable) -> tuple[Quantity, dict[str, Any]]:
    """Force at the lever's angle, with the whole curve and the finest step a hand can set there."""
    cam, pack = read_cam(row.row("cam")), read_springs(row.row("springs"))
    angle = row.number("lever_deg")
    force = pack_force(pack, max(float(lift_m(cam, angle)) - cam.gap_m, 0.0))
    every = np.linspace(cam.angles_deg[0], cam.angles_deg[-1], 21)
    curve = {"lever_deg": every.tolist(), "force_N": force_at_lever_N(cam, pack, every).tolist()}
    return force, {"clamp_against_lever": curve, "finest_step_N": finest_lever_step_N(cam, pack, angle)}


def _line(file: TomlTable) -> tuple[Filled | None, float, Quantity]:
    nominal = Quantity(SQUARE_PACKING, 0.70, 0.86)
    if "spool" not in file.values:
        return None, 1.0, nominal
    spool, line = file.row("spool"), file.row("line")
    rim_width = spool.number("rim_width_mm") / 1000 if "rim_width_mm" in spool.values else None
    arbor, rim = (spool.number(key) / 2000 for key in ("arbor_mm", "rim_mm"))
    room = Spool(arbor, rim, spool.number("width_mm") / 1000, rim_width)
    packing = _quantity(line, "packing") if "packing" in line.values else nominal
    backing_row = file.row("backing")
    backing = _one_line(backing_row) if backing_row.values else None
    filled = Filled(
        room,
        _one_line(line),
        line.number("length_m"),
        backing,
        backing_row.number("length_m") if backing else 0.0,
        packing.value,
    )
    guides = [(guide.number("friction"), radians(guide.number("wrap_deg"))) for guide in file.rows("guides")]
    for row in (spool, line, *([backing_row] if backing else [])):
        row.done()
    return filled, guides_factor(guides), packing


def _one_line(row: TomlTable) -> Line:
    pounds = "strength_lb" in row.values
    strength = row.number("strength_lb") * NEWTONS_PER["lbf"] if pounds else row.number("strength_N")
    return Line(row.text("name"), row.number("diameter_mm") / 1000, strength)


def _run(row: TomlTable) -> Run:
    """A run and the parts beside the stack that take up its heat; a joint of 5 W/K where none is given."""
    lumps = []
    for part in row.rows("parts"):
        name, material = part.text("name"), part.text("material", allowed=solids())
        joint, air = (
            part.number(key) if key in part.values else usual for key, usual in (("joint_W_K", 5.0), ("air_W_K", 0.0))
        )
        touches = part.count("touches_body") - 1
        lumps.append(Lump(name, part.number("mass_g") / 1000, solids()[material].solid, touches, joint, air))
        part.done()
    run = Run(row.number("speed_m_s"), row.number("length_m"), tuple(lumps))
    row.done()
    return run


def _pull(row: TomlTable) -> Pull:
    pull = Pull(_quantity(row, "tension_N"), row.number("left_m"), row.text("material", allowed=solids()))
    row.done()
    return pull


def _link(row: TomlTable, drive: Drive) -> Link:
    """A part behind the drag; the handle's side bears the gear ratio times the spool's torque."""
    name, kind = row.text("name"), row.text("kind", allowed=("teeth", "shear", "tube", "arm"))
    side = row.text("side", default="handle", allowed=("handle", "spool"))
    per_spool = drive.handle_per_spool() if side == "handle" else 1.0
    yields = _yields(row)
    if kind == "teeth":
        teeth = row.count("teeth")
        module, face = (row.number(key) / 1000 for key in ("module_mm", "face_mm"))
        link = weakest.gear_teeth(name, teeth, module, face, lewis_both(teeth), yields, per_spool)
    elif kind == "shear":
        link = weakest.in_shear(name, row.number("area_mm2") / 1e6, row.number("radius_mm") / 1000, yields, per_spool)
    elif kind == "tube":
        outer, bore = (row.number(key) / 1000 for key in ("outer_mm", "bore_mm"))
        link = weakest.tube_in_torsion(name, outer, bore, yields, per_spool)
    else:
        width, thick, hole = (row.number(key) / 1000 for key in ("width_mm", "thickness_mm", "hole_mm"))
        link = weakest.arm_in_bending(name, width, thick, hole, yields, per_spool)
    row.done()
    return link


def _yields(row: TomlTable) -> tuple[float, float]:
    if "yield_MPa" in row.values:
        ends = row.numbers("yield_MPa")
        if len(ends) != 2:
            raise InputError(f"{row.where}: yield_MPa", ends, "a low and a high end")
        return 1e6 * ends[0], 1e6 * ends[1]
    strong = {name: material.yield_MPa for name, material in solids().items() if material.yield_MPa}
    low, high = strong[row.text("material", allowed=strong)]
    return 1e6 * low, 1e6 * high


def _height(row: TomlTable, stack: Stack) -> HeightAsked:
    """The old stack as one measured height; the new one piece by piece, without gear, flange and cap."""
    off = row.number("tolerance_mm") / 1000 if "tolerance_mm" in row.values else 0.05e-3
    old = Thickness("old stack", row.number("old_mm") / 1000, row.number("old_tolerance_mm") / 1000)
    new = [Thickness(body.name, body.thickness_m, off) for body in stack.bodies if body.kind in WORKING]
    shims = [Thickness(f"{mm:g} mm shim", mm / 1000) for mm in row.numbers("shims_mm")]
    lower, higher = (row.number(key) / 1000 for key in ("lower_mm", "higher_mm"))
    row.done()
    return [old], new, lower, higher, shims


def _quantity(row: TomlTable, key: str) -> Quantity:
    """A number alone is taken as known; a table carries its interval."""
    if not isinstance(row.values.get(key), dict):
        return Quantity.exact(row.number(key))
    table = row.row(key)
    found = Quantity(*(table.number(part) for part in ("value", "low", "high")))
    table.done()
    return found
