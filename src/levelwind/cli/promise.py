"""levelwind promise: when each job in hand will be done, from simulated futures of the shop."""

import argparse
import json
from pathlib import Path

SEED = 20_260_302
"""Of the dice: the same file gives the same dates. Our choice."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("promise", help="when each job in hand will be done, and how surely")
    parser.add_argument("shop", metavar="FILE", help="a TOML file of jobs in hand; docs/examples/supply has one")
    parser.add_argument(
        "--why",
        metavar="TAG",
        action="append",
        default=[],
        help="why then, and what would make it sooner; give it again for more",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from datetime import date

    import numpy as np

    from levelwind.cli.promise_file import read
    from levelwind.core.supply import futures, reason
    from levelwind.core.supply.promise_report import as_dict, lines

    shop = read(Path(args.shop), date.today())  # noqa: DTZ011 - the day on this bench's wall
    reasons = [reason(shop, tag, np.random.default_rng(SEED)) for tag in dict.fromkeys(args.why)]
    told = as_dict(shop, futures(shop, np.random.default_rng(SEED)), reasons)
    print(json.dumps(told, ensure_ascii=False) if args.json else "\n".join(lines(told)))
    return 0
