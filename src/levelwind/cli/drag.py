"""levelwind drag: what a drag described in TOML will do, before it is fitted."""

import argparse
import json
from pathlib import Path
from typing import Any


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("drag", help="compute a drag described in TOML")
    parser.add_argument("drag", metavar="FILE", help="a TOML file; docs/examples/drag has three")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    result = told(Path(args.drag))
    print(json.dumps(result, ensure_ascii=False) if args.json else "\n".join(lines(result)))
    return 0


def told(path: Path) -> dict[str, Any]:
    """Everything about the drag in a file, as plain data."""
    import numpy as np

    from levelwind.cli.drag_file import read
    from levelwind.core.drag_system.click import compute_click
    from levelwind.core.drag_system.compute import compute
    from levelwind.core.drag_system.model import SEED, DragSystem
    from levelwind.core.drag_system.report import as_dict, click_as_dict
    from levelwind.reference.materials import drag_tables

    asked = read(path)
    if isinstance(asked, DragSystem):
        return as_dict(compute(asked, drag_tables(), np.random.default_rng(SEED)))
    return click_as_dict(compute_click(*asked))


def lines(result: dict[str, Any]) -> list[str]:
    """The same for a person."""
    text = [_head(result)]
    if "finest_step_N" in result:
        flat = f"Springs flat after {result['turns_to_flat']:.2f} turns; the" if "turns_to_flat" in result else "The"
        text.append(f"{flat} finest step a hand sets is about {result['finest_step_N']:.1f} N of clamp.")
    text += result["sentences"]
    if result.get("setting"):
        from levelwind.core.drag.families import BY_TIPPET
        from levelwind.core.line import STRIKE_WORDS

        what = "tippet" if result["family"] in BY_TIPPET else "line"
        strike, near = ("{:.0f} to {:.0f} N".format(*result["setting"][key]) for key in ("strike_N", "near_bare_N"))
        text.append(
            f"For this {what} set {strike} at the strike ({STRIKE_WORDS} of its strength, common practice); "
            f"near empty that is {near}."
        )
    text += [f"Caution: {caution}" for caution in result["cautions"]]
    text += ["How it was worked out:"]
    text += [f"  {row['what']}: {row['formula']}; {row['numbers']} [{row['source']}]" for row in result["worked"]]
    return text


def _head(result: dict[str, Any]) -> str:
    family = result["family"].capitalize()
    if "clamp_N" not in result:
        return f"{family}."
    clamp = result["clamp_N"]
    return (
        f"{family}, clamp {clamp['value']:.0f} N ({clamp['low']:.0f} to {clamp['high']:.0f}), {result['clamp_from']}."
    )
