"""levelwind takedown: the least work to reach a place."""

import argparse
import json
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from levelwind.core.takedown import Rules, Takedown

WIDTH = 100
"""Characters in a line. Our choice, as wide as most windows."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("takedown", help="the least work to reach a place")
    parser.add_argument(
        "reel", metavar="FILE", help="a TOML file with [[place]] and [[step]] tables, or a family's key"
    )
    parser.add_argument(
        "--reach",
        metavar="PLACE",
        action="append",
        required=True,
        help="key or name of a place; give it again for more",
    )
    parser.add_argument("--why", action="store_true", help="tool, time, tray cell and reason of each step too")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.core.takedown import reach

    rules = _rules(args.reel)
    wanted = tuple(_place_key(rules, word) for word in args.reach)
    takedown = reach(rules, wanted)
    if args.json:
        print(json.dumps(_as_json(rules, takedown, wanted)))
    else:
        print("\n".join((_why_lines if args.why else _lines)(rules, takedown, wanted)))
    return 0


def _rules(reel: str) -> "Rules":
    from levelwind.cli.text_file import text_of
    from levelwind.reference.families import families, family, rules_from_toml

    if reel in families():
        return family(reel).rules
    path = Path(reel)
    return rules_from_toml(path.name, text_of(path, "reel", f"a TOML file, or one of {', '.join(families())}"))


def _place_key(rules: "Rules", word: str) -> str:
    for place in rules.places:
        if word.casefold() in (place.key.casefold(), place.name.casefold()):
            return place.key
    return rules.place(word).key


def _as_json(rules: "Rules", takedown: "Takedown", wanted: tuple[str, ...]) -> dict[str, Any]:
    from levelwind.core.takedown.report import takedown_rows
    from levelwind.reference.cautions import named

    keys = dict.fromkeys(key for step in takedown.steps for key in step.cautions)
    return {
        "kind": "takedown",
        "status": "ok",
        "reach": list(wanted),
        "minutes": takedown.minutes,
        "proven": takedown.proven,
        "gap_minutes": takedown.gap_min,
        "steps": takedown_rows(rules, takedown),
        "cautions": [
            {"key": c.key, "headline": c.headline, "text": c.text, "basis": c.basis, "source": c.source}
            for c in named(keys)
        ],
    }


def _lines(rules: "Rules", takedown: "Takedown", wanted: tuple[str, ...]) -> list[str]:
    """On one screen: the steps, and before a step what to beware of."""
    from levelwind.core.takedown.report import in_a_sentence
    from levelwind.reference.cautions import named

    lines = wrap(in_a_sentence(rules, takedown, wanted), WIDTH)
    for number, step in enumerate(takedown.steps, 1):
        if step.cautions:
            headlines = ". ".join(caution.headline for caution in named(step.cautions))
            lines += wrap(f"CAUTION: {headlines}.", WIDTH, initial_indent="    ", subsequent_indent="    ")
        lines += wrap(f"{number:>2}. {step.do}", WIDTH, subsequent_indent="    ")
    return [*lines, "Tools, tray cells and reasons: --why"]


def _why_lines(rules: "Rules", takedown: "Takedown", wanted: tuple[str, ...]) -> list[str]:
    from levelwind.core.takedown.report import in_a_sentence, takedown_rows
    from levelwind.reference.cautions import named

    lines = [in_a_sentence(rules, takedown, wanted)]
    for row in takedown_rows(rules, takedown):
        lines.append("")
        for caution in named(row["cautions"]):
            lines += [f"    CAUTION: {caution.headline}.", f"    {caution.text}"]
        lines.append(f"{row['number']:>2}. {row['do']}")
        facts = (f"{row['minutes']:g} min", row["tool"], _cells(row["frees"]), row["why"])
        lines.append("    " + "; ".join(filter(None, facts)))
    return lines


def _cells(freed: list[dict[str, Any]]) -> str:
    cells = sorted({piece["cell"] for piece in freed})
    return f"tray cell {cells[0]}" if len(cells) == 1 else f"tray cells {cells[0]} to {cells[-1]}"
