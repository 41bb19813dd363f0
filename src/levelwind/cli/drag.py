"""levelwind drag: what a drag described in TOML will do, before it is fitted."""

import argparse
import json
from pathlib import Path
from typing import Any

from levelwind.core.quantities import SCALE_UNITS


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("drag", help="compute a drag described in TOML")
    parser.add_argument("drag", metavar="FILE", help="a TOML file; docs/examples/drag has three")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.add_argument("--unit", choices=SCALE_UNITS, default="N", help="which forces are told in (default: N)")
    parser.add_argument("--why", action="store_true", help="how it was worked out too, each number with its source")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    unit = "N" if args.json else args.unit
    result = told(Path(args.drag), unit)
    print(json.dumps(result, ensure_ascii=False) if args.json else "\n".join(lines(result, unit, why=args.why)))
    return 0


def told(path: Path, unit: str = "N") -> dict[str, Any]:
    """Everything about the drag in a file, as plain data, forces in its sentences in ``unit``."""
    import numpy as np

    from levelwind.cli.drag_file import read
    from levelwind.core.drag_system.click import compute_click
    from levelwind.core.drag_system.compute import compute
    from levelwind.core.drag_system.model import SEED, DragSystem
    from levelwind.core.drag_system.report import as_dict, click_as_dict
    from levelwind.reference.materials import drag_tables

    asked = read(path)
    if isinstance(asked, DragSystem):
        return as_dict(compute(asked, drag_tables(), np.random.default_rng(SEED)), unit)
    return click_as_dict(compute_click(*asked), unit)


def lines(result: dict[str, Any], unit: str = "N", *, why: bool = False) -> list[str]:
    """The same for a person, on one screen; ``why`` adds how it was worked out."""
    from levelwind.core.notes import newtons
    from levelwind.core.quantities import with_decimals

    text = [_head(result, unit)]
    if "finest_step_N" in result:
        turns = result.get("turns_to_flat")
        flat = "The" if turns is None else f"Springs flat after {with_decimals(turns, 2)} turns; the"
        step = newtons(result["finest_step_N"], decimals=1).shown(unit).words
        text.append(f"{flat} finest step a hand sets is about {step} of clamp.")
    text += result["sentences"]
    text += [f"Caution: {caution}" for caution in result["cautions"]]
    if not why:
        return text
    text += ["How it was worked out:"]
    text += [f"  {row['what']}: {row['formula']}; {row['numbers']} [{row['source']}]" for row in result["worked"]]
    return text


def _head(result: dict[str, Any], unit: str) -> str:
    from levelwind.core.notes import Amount
    from levelwind.core.quantities import Quantity

    family = result["family"].capitalize()
    if "clamp_N" not in result:
        return f"{family}."
    clamp = Amount(Quantity(**result["clamp_N"]), "N").shown(unit).words
    return f"{family}, clamp {clamp}, {result['clamp_from']}."
