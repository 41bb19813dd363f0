"""`levelwind pull`: a force log in, the drag's numbers out."""

import argparse
import json
from pathlib import Path


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("pull", help="measure the drag from a force log")
    parser.add_argument("file", metavar="FILE", help="csv, tsv, txt or xlsx with a column of times and one of forces")
    parser.add_argument(
        "--unit",
        default="auto",
        choices=["auto", "N", "kgf", "lbf", "ozf"],
        help="what the forces are in (default: as written in the file)",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from levelwind.core.pull import analyse
    from levelwind.core.pull.report import as_text
    from levelwind.recordings.force_log import read_force_log

    log = read_force_log(Path(args.file), unit=args.unit)
    result = analyse(log.time_s, log.force_N, unit_found=log.unit_found, cautions=log.cautions)
    print(json.dumps(result.as_dict()) if args.json else as_text(result))
    return 0
