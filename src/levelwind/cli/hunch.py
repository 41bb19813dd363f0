"""`levelwind hunch`: what was seen in, what it may be and what to look at next out."""

import argparse
import json
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from levelwind.core.hunches import Net


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("hunch", help="what is wrong, from what was seen")
    parser.add_argument("file", metavar="FILE", help="a family such as star_drag, or a hunches.toml")
    parser.add_argument("--seen", default="", metavar="KEYS", help="findings that are there, with commas between")
    parser.add_argument("--not-seen", default="", metavar="KEYS", help="findings looked for that are not there")
    parser.add_argument("--says", default="", metavar="TEXT", help="what the owner says, in his own words")
    parser.add_argument("--minute", type=float, default=0.8, metavar="MONEY", help="what a minute costs (default 0.8)")
    parser.add_argument(
        "--comeback", type=float, default=60, metavar="MONEY", help="what a comeback costs (default 60)"
    )
    parser.add_argument("--open", action="store_true", help="the reel is open already")
    parser.add_argument("--why", action="store_true", help="all hunches and looks, and what moved each")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.core.codec import as_shown
    from levelwind.core.hunches import Costs, next_looks, posterior, understand, unseen_or_look
    from levelwind.core.hunches.report import Answer
    from levelwind.reference.cautions import cautions

    net = _net(args.file)
    says = understand(net, args.says) if args.says else None
    heard = {pointed.finding.key: True for pointed in says.pointed} if says else {}
    seen = heard | _seen(args.seen, args.not_seen)
    costs = Costs(args.minute, args.comeback, is_open=args.open, ways_in=_ways_in(args.file, args.open))
    answer = Answer(
        net,
        seen,
        posterior(net, seen),
        next_looks(net, seen, costs),
        unseen_or_look(net, seen, costs),
        {key: caution.headline for key, caution in cautions().items()},
        says,
    )
    print(json.dumps(as_shown(answer)) if args.json else answer.as_text(why=args.why))
    return 0


def _ways_in(file: str, is_open: bool) -> "Mapping[str, float]":
    from levelwind.reference.faults import families_with_hunches, minutes_to_looks, open_places

    if file not in families_with_hunches():
        return {}
    return minutes_to_looks(file, open_places(file) if is_open else frozenset())


def _net(file: str) -> "Net":
    from pathlib import Path

    from levelwind.core.errors import InputError
    from levelwind.reference.faults import LARGEST, families_with_hunches, load_net, read_net

    families = families_with_hunches()
    if file in families:
        return load_net(file)
    try:
        with Path(file).open("rb") as stream:
            return read_net(stream.read(LARGEST + 1), Path(file).name)
    except OSError as error:
        allowed = "a hunches.toml, or one of " + ", ".join(families)
        raise InputError("file", f"{file!r} ({error.strerror})", allowed) from error


def _seen(there: str, missing: str) -> dict[str, bool]:
    from levelwind.core.errors import InputError

    seen = dict.fromkeys(_keys(there), True)
    for key in _keys(missing):
        if key in seen:
            raise InputError("finding", repr(key), "seen or not seen, not both")
        seen[key] = False
    return seen


def _keys(text: str) -> list[str]:
    return [key.strip() for key in text.split(",") if key.strip()]
