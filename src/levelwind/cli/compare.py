"""`levelwind compare`: two recordings of one kind in, what changed between them out, like for like."""

import argparse
import json
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

from levelwind.cli import pull, spin
from levelwind.cli.recordings import AT_ONCE, TABLE_NAMES, add_json, keep_quiet, path_said, teller
from levelwind.core.codec import as_shown

if TYPE_CHECKING:
    from levelwind.core.changes import Verdict
    from levelwind.core.pull import PullResult
    from levelwind.core.spin import SpinResult

AS = ("as found", "as left")


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("compare", help="two recordings of one kind, like for like")
    parser.add_argument("found", metavar="FOUND", type=path_said, help="as found: a force log, or a spin's recording")
    parser.add_argument("left", metavar="LEFT", type=path_said, help="as left: another of the same kind")
    add_json(parser)
    pull.add_unit(parser)
    spin.add_marks(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    keep_quiet()
    stop = Event()
    with ThreadPoolExecutor(AT_ONCE) as pool:
        try:
            found, left = pool.map(partial(_read, args=args, stop=stop), (args.found, args.left))
        finally:
            stop.set()
    verdict, unit = _compared(found, left)
    print(json.dumps(as_shown(verdict)) if args.json else _as_text(verdict, unit))
    return 0


def _read(path: Path, args: argparse.Namespace, stop: Event) -> "PullResult | SpinResult":
    """What it is, its content decides: of a table, whether a column of forces is in it."""
    from levelwind.core.errors import InputError, NotDeterminedError
    from levelwind.core.pull import PullOptions
    from levelwind.core.spin import SpinOptions
    from levelwind.recordings.media import head_of, kind_of

    tell, no_pull = teller(path, pull.QUIET_S), ""
    if path.suffix.lower() in TABLE_NAMES or not (path.is_file() and kind_of(head_of(path))):
        try:
            return pull.read_one(path, PullOptions(unit=args.unit), tell, stop)
        except InputError as refusal:
            no_pull = str(refusal)
    try:
        return spin.read_one(path, SpinOptions(marks=args.marks), tell, stop)
    except InputError as refusal:
        if not no_pull or no_pull == str(refusal):
            raise
        raise NotDeterminedError(f"neither a pull ({no_pull}) nor a spin ({refusal})") from refusal


def _compared(found: "PullResult | SpinResult", left: "PullResult | SpinResult") -> "tuple[Verdict, str]":
    """With the unit of force in which both were written, newtons where they differ."""
    from levelwind.core.compare import compare
    from levelwind.core.errors import NotDeterminedError
    from levelwind.core.pull import PullResult

    verdict = compare(found, left)
    if verdict is None:
        kinds = ["a pull" if isinstance(each, PullResult) else "a spin" for each in (found, left)]
        told = " and ".join(f"{moment} is {kind}" for moment, kind in zip(AS, kinds, strict=True))
        raise NotDeterminedError(f"{told}: only two recordings of one kind can be compared")
    units = {each.unit_found if isinstance(each, PullResult) else "N" for each in (found, left)}
    return verdict, units.pop() if len(units) == 1 else "N"


def _as_text(verdict: "Verdict", unit: str) -> str:
    lines = ["as found against as left"]
    lines += [f"  {each.words(unit)}" for each in verdict.changes]
    lines += [f"  {note.words(unit)}" for note in verdict.so]
    return "\n".join(lines + [f"  caution: {note.words(unit)}" for note in verdict.cautions])
