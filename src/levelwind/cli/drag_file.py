"""A drag described in TOML, read into typed things; every refusal names the table and the key."""

from math import radians
from pathlib import Path

from levelwind.cli.text_file import text_of
from levelwind.core.drag import weakest
from levelwind.core.drag.clamp import Thread
from levelwind.core.drag.click import Click
from levelwind.core.drag.families import BY_TIPPET, MESH_EFFICIENCY, Drive, Family
from levelwind.core.drag.gears import Teeth
from levelwind.core.drag.heat import ONE_PIECE_W_K, Lump
from levelwind.core.drag.height import USUAL_OFF_M, Thickness
from levelwind.core.drag.lever import Lever
from levelwind.core.drag.model import Body, stack_from_dict
from levelwind.core.drag.weakest import Link
from levelwind.core.drag_system.model import (
    Clamp,
    DragSystem,
    GivenForce,
    Hand,
    HandTorque,
    KnobSpring,
    LoadedSpool,
    Pull,
    Room,
    Run,
    Screw,
)
from levelwind.core.drag_system.usual import usual_clamp
from levelwind.core.errors import InputError
from levelwind.core.line import PACKING, Filled, Line, Spool, guides_factor
from levelwind.core.quantities import NEWTONS_PER, Quantity
from levelwind.reference.clamps import read_cam, read_click, read_springs, read_thread
from levelwind.reference.families import family
from levelwind.reference.gears import lewis_both
from levelwind.reference.materials import solids
from levelwind.reference.toml_rows import TomlTable, read_toml


def read(path: Path) -> DragSystem | tuple[Click, LoadedSpool | None]:
    """The drag the file describes, or the click with its spool; InputError names the table and the key."""
    file = read_toml(path.name, text_of(path, "file", "a TOML file that describes a drag"))
    drive = _drive(file.row("reel"))
    asked = _read_click(file) if drive.family is Family.FLY_CLICK else _read_system(file, drive)
    file.done()
    return asked


def _read_click(file: TomlTable) -> tuple[Click, LoadedSpool | None]:
    return read_click(file.row("click")), _spool(file)


def _read_system(file: TomlTable, drive: Drive) -> DragSystem:
    stack = stack_from_dict(file.row("stack").values)
    clamp, usual, hand = _clamp(file.row("clamp"), drive, stack.bodies[-1])
    spool = _spool(file)
    system = DragSystem(
        stack=stack,
        drive=drive,
        clamp=clamp,
        against=clamp if isinstance(clamp, Screw | Lever) else None,
        run=_run(file.row("run")) if "run" in file.values else None,
        links=tuple(_link(row, drive) for row in file.rows("strength")),
        room=_room(file.row("height")) if "height" in file.values else None,
        spool=spool,
        pull=_pull(file.row("pull"), spool) if "pull" in file.values else None,
        old=stack_from_dict(file.row("old_stack").values) if "old_stack" in file.values else None,
        usual=usual,
        hand=hand,
        tippet_N=_tippet_N(file, drive),
    )
    if system.spool is None and (system.run or system.links or system.pull):
        raise InputError(file.where, "a run, pull or strength without a spool", "a [spool] and a [line] beside them")
    return system


def _drive(row: TomlTable) -> Drive:
    family = Family(row.text("family", allowed=[f.value for f in Family]))
    ratio = row.number("gear_ratio") if "gear_ratio" in row.values else 1.0
    eta = _quantity(row, "mesh_efficiency") if "mesh_efficiency" in row.values else MESH_EFFICIENCY
    row.done()
    return Drive(family, ratio, eta)


def _clamp(row: TomlTable, drive: Drive, outermost: Body) -> tuple[Clamp, bool, Hand | None]:
    """A force, a hand's torque on a thread, turns through springs, or a lever through its cam; or what is usual.

    And whether it is the usual one, which nobody measured; and what a hand can make of it, where that is known.
    """
    clamp: Clamp
    usual, thread = row.yes("usual"), read_thread(row, outermost) if "thread" in row.values else None
    if usual:
        clamp = _usual(drive, thread)
    elif "force_N" in row.values:
        clamp = GivenForce(_quantity(row, "force_N"))
    elif "torque_Nm" in row.values:
        mu = _quantity(row, "thread_friction")
        collar = _quantity(row, "collar_friction") if "collar_friction" in row.values else mu
        clamp = HandTorque(_quantity(row, "torque_Nm"), read_thread(row, outermost), mu, collar)
    elif "turns" in row.values:
        clamp = Screw(read_springs(row.row("springs")), read_thread(row, outermost).lead_m, row.number("turns"))
    elif "lever_deg" in row.values:
        clamp = Lever(read_cam(row.row("cam")), read_springs(row.row("springs")), row.number("lever_deg"))
    else:
        raise InputError(row.where, "without a force", "one of force_N, torque_Nm, turns, lever_deg, usual")
    row.done()
    return clamp, usual, clamp if isinstance(clamp, Hand) else _usual_hand(drive, thread)


USUAL_FAMILY = {Family.STAR: "star_drag", Family.LOW_PROFILE: "low_profile"}
"""Whose thread a star turns on where the file names none."""


def _usual(drive: Drive, thread: Thread | None) -> HandTorque | KnobSpring:
    """What a hand usually makes of the clamp, on this thread or on such a reel's usual one."""
    if thread is None and drive.family in USUAL_FAMILY:
        thread = family(USUAL_FAMILY[drive.family]).usual_thread()
    return usual_clamp(drive.family, thread)


def _usual_hand(drive: Drive, thread: Thread | None) -> Hand | None:
    try:
        return _usual(drive, thread)
    except InputError:
        return None


def _spool(file: TomlTable) -> LoadedSpool | None:
    if "spool" not in file.values:
        return None
    spool, line = file.row("spool"), file.row("line")
    rim_width = spool.number("rim_width_mm") / 1000 if "rim_width_mm" in spool.values else None
    arbor, rim = (spool.number(key) / 2000 for key in ("arbor_mm", "rim_mm"))
    room = Spool(arbor, rim, spool.number("width_mm") / 1000, rim_width)
    packing = _quantity(line, "packing") if "packing" in line.values else PACKING
    backing_row = file.row("backing")
    backing = _one_line(backing_row) if backing_row.values else None
    backing_m = backing_row.number("length_m") if backing else 0.0
    filled = Filled(room, _one_line(line), line.number("length_m"), backing, backing_m, packing.value)
    guides = [(guide.number("friction"), radians(guide.number("wrap_deg"))) for guide in file.rows("guides")]
    for row in (spool, line, *([backing_row] if backing else [])):
        row.done()
    return LoadedSpool(filled, guides=guides_factor(guides), packing=packing)


def _one_line(row: TomlTable) -> Line:
    return Line(row.text("name"), row.number("diameter_mm") / 1000, _strength_N(row))


def _strength_N(row: TomlTable) -> float:
    return row.number("strength_lb") * NEWTONS_PER["lbf"] if "strength_lb" in row.values else row.number("strength_N")


def _tippet_N(file: TomlTable, drive: Drive) -> float | None:
    """What a fly reel's drag is set to; None while it is not said."""
    if drive.family not in BY_TIPPET or "tippet" not in file.values:
        return None
    row = file.row("tippet")
    strength = _strength_N(row)
    row.done()
    return strength


def _run(row: TomlTable) -> Run:
    """A run and the parts beside the stack that take up its heat; without a joint each is one piece with the stack."""
    lumps = []
    for part in row.rows("parts"):
        name, material = part.text("name"), part.text("material", allowed=solids())
        joint, air = (
            part.number(key) if key in part.values else usual
            for key, usual in (("joint_W_K", ONE_PIECE_W_K), ("air_W_K", 0.0))
        )
        touches = part.count("touches_body") - 1
        lumps.append(Lump(name, part.number("mass_g") / 1000, solids()[material].solid, touches, joint, air))
        part.done()
    run = Run(row.number("speed_m_s"), row.number("length_m"), tuple(lumps))
    row.done()
    return run


def _pull(row: TomlTable, spool: LoadedSpool | None) -> Pull:
    """Read at the end of the line, past whatever guides the file names."""
    tension, left = _quantity(row, "tension_N"), row.number("left_m")
    pull = Pull(tension, left, row.text("material", allowed=solids()), past=spool.past if spool else 1.0)
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
        mate = row.count("mate_teeth", drive.mate_of(teeth, on_handle=side == "handle"))
        module, face = (row.number(key) / 1000 for key in ("module_mm", "face_mm"))
        helix = row.number("helix_deg") if "helix_deg" in row.values else 0.0
        cut = Teeth(teeth, mate, module, face, helix)
        link = weakest.gear_teeth(name, cut, lewis_both(cut.virtual), yields, per_spool)
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


def _room(row: TomlTable) -> Room:
    """The old stack as one measured height, against the new one's washers and plates."""
    off = row.number("tolerance_mm") / 1000 if "tolerance_mm" in row.values else USUAL_OFF_M
    old = Thickness("old stack", row.number("old_mm") / 1000, row.number("old_tolerance_mm") / 1000)
    shims = tuple(Thickness(f"{mm:g} mm shim", mm / 1000) for mm in row.numbers("shims_mm"))
    lower, higher = (row.number(key) / 1000 for key in ("lower_mm", "higher_mm"))
    row.done()
    return Room((old,), lower, higher, off, shims)


def _quantity(row: TomlTable, key: str) -> Quantity:
    """A number alone is taken as known; a table carries its interval."""
    if not isinstance(row.values.get(key), dict):
        return Quantity.exact(row.number(key))
    table = row.row(key)
    found = Quantity(*(table.number(part) for part in ("value", "low", "high")))
    table.done()
    return found
