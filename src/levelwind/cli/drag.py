"""levelwind drag: what a drag described in TOML will do, before it is fitted."""

import argparse
import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from levelwind.core.errors import InputError

if TYPE_CHECKING:
    from numpy.random import Generator

    from levelwind.core.drag.clamp import Thread
    from levelwind.core.drag.families import Drive
    from levelwind.core.drag.model import Stack
    from levelwind.core.drag.springs import SpringPack
    from levelwind.core.line import Filled
    from levelwind.core.quantities import Quantity
    from levelwind.reference.toml_rows import Row

LARGEST_FILE_BYTES = 1_000_000
DRAWS = 10_000


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("drag", help="compute a drag described in TOML")
    parser.add_argument("drag", metavar="FILE", help="a TOML file; docs/examples/drag has three")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    import numpy as np

    rng = np.random.default_rng(20)
    result = compute(read(Path(args.drag), rng), rng)
    print(json.dumps(result, ensure_ascii=False) if args.json else "\n".join(lines(result)))
    return 0


@dataclass(frozen=True, slots=True)
class Asked:
    """What the file describes."""

    stack: "Stack"
    drive: "Drive"
    clamp_N: "Quantity"
    clamp_words: str
    filled: "Filled | None"
    guides: float
    packing: "Quantity"


def read(path: Path, rng: "Generator") -> Asked:
    """The file as typed things; InputError names the table and the key."""
    from levelwind.core.drag.model import stack_from_dict
    from levelwind.reference.toml_rows import read_toml

    file = read_toml(path.name, _text(path))
    drive = _drive(file.row("reel"))
    clamp, words = _clamp(file.row("clamp"), rng)
    stack = stack_from_dict(file.row("stack").values)
    asked = Asked(stack, drive, clamp, words, *_line(file))
    file.done()
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


def _drive(row: "Row") -> "Drive":
    from levelwind.core.drag.families import MESH_EFFICIENCY, Drive, Family

    family = Family(row.text("family", allowed=[f.value for f in Family]))
    ratio = row.number("gear_ratio") if "gear_ratio" in row.values else 1.0
    eta = _quantity(row, "mesh_efficiency") if "mesh_efficiency" in row.values else MESH_EFFICIENCY
    row.done()
    return Drive(family, ratio, eta)


def _clamp(row: "Row", rng: "Generator") -> "tuple[Quantity, str]":
    """From a force, from hand torque on a thread, from turns through springs, or from a lever through a cam."""
    if "force_N" in row.values:
        force, words = _quantity(row, "force_N"), "as given"
    elif "torque_Nm" in row.values:
        force, words = _by_hand(row, rng), "hand torque through the thread"
    elif "turns" in row.values:
        force, words = _by_turns(row), "turns of the star through the springs"
    elif "lever_deg" in row.values:
        force, words = _by_lever(row), "lever through its cam and the springs"
    else:
        raise InputError(row.where, "without a force", "one of force_N, torque_Nm, turns, lever_deg")
    row.done()
    return force, words


def _by_hand(row: "Row", rng: "Generator") -> "Quantity":
    from levelwind.core.drag.clamp import clamp_from_torque

    mu = _quantity(row, "thread_friction")
    collar = _quantity(row, "collar_friction") if "collar_friction" in row.values else mu
    return clamp_from_torque(_thread(row.row("thread")), _quantity(row, "torque_Nm"), mu, collar, rng, DRAWS)


def _by_turns(row: "Row") -> "Quantity":
    from levelwind.core.drag.springs import pack_force

    return pack_force(_springs(row.row("springs")), row.number("turns") * _thread(row.row("thread")).lead_m)


def _by_lever(row: "Row") -> "Quantity":
    from levelwind.core.drag.lever import Cam, lift_m
    from levelwind.core.drag.springs import pack_force

    cam_row = row.row("cam")
    lifts = tuple(mm / 1000 for mm in _numbers(cam_row, "lifts_mm"))
    gap = cam_row.number("gap_mm") / 1000 if "gap_mm" in cam_row.values else 0.0
    cam = Cam(_numbers(cam_row, "angles_deg"), lifts, gap)
    cam_row.done()
    pressed = float(lift_m(cam, row.number("lever_deg"))) - cam.gap_m
    return pack_force(_springs(row.row("springs")), max(pressed, 0.0))


def _thread(row: "Row") -> "Thread":
    from levelwind.core.drag.clamp import ISO_HALF_ANGLE_DEG, Thread, pitch_radius_m

    pitch = row.number("pitch_mm") / 1000
    given = "pitch_diameter_mm" in row.values
    radius = row.number("pitch_diameter_mm") / 2000 if given else pitch_radius_m(row.number("major_mm") / 1000, pitch)
    angle = row.number("half_angle_deg") if "half_angle_deg" in row.values else ISO_HALF_ANGLE_DEG
    collar = row.number("collar_mm") / 2000 if "collar_mm" in row.values else 0.0
    row.done()
    return Thread(radius, pitch, angle, collar)


def _springs(row: "Row") -> "SpringPack":
    from levelwind.core.drag.springs import DiscSpring, SpringPack
    from levelwind.reference.springs import disc_spring

    if "din_2093" in row.values:
        series, _, size = row.text("din_2093").partition(" ")
        spring = disc_spring(series, _size(row, size)).spring
    else:
        spring = DiscSpring(*(row.number(f"{key}_mm") / 1000 for key in ("outer", "inner", "thickness", "cone")))
    pack = SpringPack(spring, row.count("parallel"), row.count("series"))
    row.done()
    return pack


def _size(row: "Row", text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f"{row.where}: din_2093", repr(text), "a series and a diameter, such as A 12.5") from None


def _line(file: "Row") -> "tuple[Filled | None, float, Quantity]":
    from math import radians

    from levelwind.core.line import SQUARE_PACKING, Filled, Line, Spool, guides_factor
    from levelwind.core.quantities import Quantity

    nominal = Quantity(SQUARE_PACKING, 0.70, 0.86)
    if "spool" not in file.values:
        return None, 1.0, nominal
    spool, line = file.row("spool"), file.row("line")
    rim_width = spool.number("rim_width_mm") / 1000 if "rim_width_mm" in spool.values else None
    arbor, rim = (spool.number(key) / 2000 for key in ("arbor_mm", "rim_mm"))
    room = Spool(arbor, rim, spool.number("width_mm") / 1000, rim_width)
    packing = _quantity(line, "packing") if "packing" in line.values else nominal
    backing_row = file.row("backing")
    backing = _one_line(backing_row, Line) if backing_row.values else None
    filled = Filled(
        room,
        _one_line(line, Line),
        line.number("length_m"),
        backing,
        backing_row.number("length_m") if backing else 0.0,
        packing.value,
    )
    guides = [(guide.number("friction"), radians(guide.number("wrap_deg"))) for guide in file.rows("guides")]
    for row in (spool, line, *([backing_row] if backing else [])):
        row.done()
    return filled, guides_factor(guides), packing


def _one_line(row: "Row", line: Any) -> Any:
    from levelwind.core.quantities import NEWTONS_PER

    strength = (
        row.number("strength_lb") * NEWTONS_PER["lbf"] if "strength_lb" in row.values else row.number("strength_N")
    )
    return line(row.text("name"), row.number("diameter_mm") / 1000, strength)


def _numbers(row: "Row", key: str) -> tuple[float, ...]:
    """A list of numbers, each checked as the row checks one."""
    from levelwind.reference.toml_rows import Row

    values = row.values.get(key)
    row.read.add(key)
    if not isinstance(values, list):
        raise InputError(f"{row.where}: {key}", repr(values), "a list of numbers")
    return tuple(Row(row.where, {key: value}).number(key) for value in values)


def _quantity(row: "Row", key: str) -> "Quantity":
    """A number alone is taken as known; a table carries its interval."""
    from levelwind.core.quantities import Quantity

    if not isinstance(row.values.get(key), dict):
        return Quantity.exact(row.number(key))
    table = row.row(key)
    found = Quantity(*(table.number(part) for part in ("value", "low", "high")))
    table.done()
    return found


def compute(asked: Asked, rng: "Generator") -> dict[str, Any]:
    """Everything the command prints, as plain data."""
    from levelwind.core.drag.draws import spread
    from levelwind.core.drag.report import at_the_spool, drag_report
    from levelwind.core.drag.rings import Theory
    from levelwind.core.drag.torque import torque_draws_Nm
    from levelwind.core.drag.touching import surfaces
    from levelwind.core.line import fill_curve, line_report, setting
    from levelwind.reference.materials import coefficient

    report = drag_report(asked.stack, asked.clamp_N, rng, coefficient)
    result: dict[str, Any] = {
        "kind": "drag",
        "status": "ok",
        "family": asked.drive.family.value,
        "clamp_N": asked.clamp_N.as_dict(),
        "clamp_from": asked.clamp_words,
        **report.as_dict(),
        "worked": [
            {key: getattr(row, key) for key in ("what", "formula", "numbers", "source")} for row in report.worked
        ],
    }
    if asked.filled is not None:
        per_drag = asked.drive.spool_per_drag()
        touching = surfaces(asked.stack, coefficient)
        drawn = torque_draws_Nm(asked.stack, touching, asked.clamp_N, Theory.WEAR, rng, DRAWS)
        drawn = drawn * spread(per_drag, rng.standard_normal(DRAWS))
        packing = spread(asked.packing, rng.standard_normal(DRAWS))
        torque = report.torque.run_in_Nm.value * per_drag.value
        curve = fill_curve(asked.filled, torque, drawn, packing, asked.guides)
        told = line_report(asked.filled, curve, torque, asked.guides)
        result["line"] = told.as_dict()
        set_to = setting(asked.filled, asked.filled.line.strength_N)
        result["setting"] = {"strike_N": list(set_to.strike_N), "near_bare_N": list(set_to.near_bare_N)}
        result["sentences"] += list(told.sentences)
        spool_row = at_the_spool(report.torque.run_in_Nm, asked.drive)
        result["worked"] += [
            {key: getattr(row, key) for key in ("what", "formula", "numbers", "source")} for row in (spool_row,)
        ] + [
            {"what": f"tension, {row.fill}", **{key: getattr(row, key) for key in ("formula", "numbers", "source")}}
            for row in told.rows
        ]
    return result


def lines(result: dict[str, Any]) -> list[str]:
    """The same for a person."""
    clamp = result["clamp_N"]
    head = (
        f"{result['family'].capitalize()}, clamp {clamp['value']:.0f} N ({clamp['low']:.0f} to {clamp['high']:.0f}), "
    )
    text = [head + result["clamp_from"] + ".", *result["sentences"]]
    if "setting" in result:
        low, high = result["setting"]["strike_N"]
        near = result["setting"]["near_bare_N"]
        text.append(
            f"For this line set {low:.0f} to {high:.0f} N at the strike (25 to 33 % of its strength, common practice); "
            f"near empty that is {near[0]:.0f} to {near[1]:.0f} N."
        )
    text += [f"Caution: {caution}" for caution in result["cautions"]]
    text += ["How it was worked out:"]
    text += [f"  {row['what']}: {row['formula']}; {row['numbers']} [{row['source']}]" for row in result["worked"]]
    return text
