"""levelwind worth: what a dead reel is worth in parts, mended, or left shut."""

import argparse
import json
from pathlib import Path

SEED = 20_260_302
"""Of the dice: the same file gives the same answer. Our choice."""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser("worth", help="what a dead reel is worth: in parts, mended, left shut")
    parser.add_argument("reel", metavar="FILE", help="a TOML file of a reel's parts; docs/examples/supply has one")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    import numpy as np

    from levelwind.cli.worth_file import read
    from levelwind.core.supply.worth import worth
    from levelwind.core.supply.worth_report import as_dict, lines

    reel, places = read(Path(args.reel))
    told = as_dict(worth(reel, np.random.default_rng(SEED)), places)
    print(json.dumps(told, ensure_ascii=False) if args.json else "\n".join(lines(told, places)))
    return 0
