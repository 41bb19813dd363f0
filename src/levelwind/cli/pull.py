"""`levelwind pull`: a force log in, the drag's numbers out."""

import argparse
import re
from functools import partial
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

from levelwind.cli.recordings import TABLE_NAMES, add_arguments, option_checked
from levelwind.cli.recordings import run as run_recordings
from levelwind.core.quantities import FORCE_UNITS, NEWTONS_PER, SCALE_UNITS

if TYPE_CHECKING:
    from levelwind.core.pull import PullOptions, PullResult
    from levelwind.recordings.limited import Progress

QUIET_S = 1.0
"""A log is read in a blink: only one that takes longer tells how far it is."""


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("pull", help="measure the drag from a force log")
    add_arguments(parser, "csv, tsv, txt or xlsx with a column of times and one of forces")
    add_unit(parser)
    parser.add_argument(
        "--capacity", type=_newtons, metavar="FORCE", help="the most the scale can read, with its unit: 50kg, 200N"
    )
    parser.add_argument("--why", action="store_true", help="in newtons too, and what was looked for and not found")
    parser.set_defaults(run=run)


def add_unit(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--unit",
        type=_unit,
        metavar=f"{{auto,{','.join(SCALE_UNITS)}}}",
        help="what the forces are in (default: as written in the file)",
    )


def _unit(word: str) -> object:
    from levelwind.core.pull import PullOptions

    return None if word == "auto" else option_checked(PullOptions, "unit", word)


def _newtons(words: str) -> object:
    from levelwind.core.pull import PullOptions

    parts = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*([a-zA-Z]+)\s*", words)
    unit = FORCE_UNITS.get(parts[2].lower()) if parts else None
    if parts is None or unit is None:
        raise argparse.ArgumentTypeError(f"{words} is not a force with its unit, such as 50kg, 200N, 25lb or 160oz")
    return option_checked(PullOptions, "capacity_N", float(parts[1]) * NEWTONS_PER[unit])


def run(args: argparse.Namespace) -> int:
    from levelwind.core.pull import PullOptions
    from levelwind.core.pull.report import as_text

    options = PullOptions(unit=args.unit, capacity_N=args.capacity)

    def read(path: Path, progress: "Progress", stop: Event) -> "PullResult":
        return read_one(path, options, progress, stop)

    return run_recordings(args, read, partial(as_text, why=args.why), TABLE_NAMES, quiet_s=QUIET_S)


def read_one(path: Path, options: "PullOptions", progress: "Progress", stop: Event) -> "PullResult":
    """Raises LevelwindError where it gives no number, InputError where it is no force log."""
    from levelwind.core.errors import NotDeterminedError
    from levelwind.recordings.pull_file import read_pull

    found = read_pull(path, options=options, progress=progress, stop=stop)
    if found.result is None:
        how = ". It can be said with --unit." if "questions" in found.analysis else ""
        raise NotDeterminedError(found.refused.removesuffix(".") + how if how else found.refused)
    return found.result
