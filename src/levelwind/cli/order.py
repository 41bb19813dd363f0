"""levelwind order: which parts to order today, and which may wait."""

import argparse
import json
from pathlib import Path

SEED = 20_260_302
"""Of the dice: the same file gives the same answer. Our choice."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("order", help="which parts to order today, and which may wait")
    parser.add_argument(
        "shelf", metavar="FILE", help="a TOML file of suppliers and parts; docs/examples/supply has one"
    )
    parser.add_argument("--why", action="store_true", help="what each part's use is taken to be, and what to keep")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    import numpy as np

    from levelwind.cli.order_file import read
    from levelwind.core.supply.order_report import as_dict, lines
    from levelwind.core.supply.ordering import order

    shelf, places = read(Path(args.shelf))
    told = as_dict(shelf, order(shelf, np.random.default_rng(SEED)), places, why=args.why)
    print(json.dumps(told, ensure_ascii=False) if args.json else "\n".join(lines(told, places)))
    return 0
