"""`levelwind spin`: a film, a sound or a table of a spool running down in, its speed and its losses out."""

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from levelwind.core.spin import SpinResult

KNOWN = (
    ".mp4", ".mov", ".m4v", ".webm", ".mkv",
    ".wav", ".m4a", ".mp3", ".ogg", ".oga", ".opus", ".flac", ".aac",
    ".csv", ".tsv", ".txt", ".xlsx",
)  # fmt: skip
"""What is looked at in a folder."""
AT_ONCE = 2
MOST_MARKS, MOST_SLOWED = 60, 100


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("spin", help="measure a spool running down, from film, sound or a table")
    parser.add_argument(
        "file",
        metavar="FILE",
        help="mp4, mov, m4v or webm; wav, m4a, mp3, ogg or flac; csv, tsv, txt or xlsx; or a folder of these",
    )
    parser.add_argument("--marks", type=_marks, metavar="N", help="marks or ticks a turn (default: 1)")
    parser.add_argument(
        "--slowed",
        type=_slowed,
        metavar="N",
        help="how many times slower than life the film plays (default: as the file says, else 1)",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object; for a folder, one a line")
    parser.set_defaults(run=run)


def _marks(word: str) -> int:
    if not word.isdecimal() or not 1 <= int(word) <= MOST_MARKS:
        raise argparse.ArgumentTypeError(f"{word} is not a whole number from 1 to {MOST_MARKS}")
    return int(word)


def _slowed(word: str) -> float:
    try:
        times = float(word)
    except ValueError:
        times = 0.0
    if not 1 <= times <= MOST_SLOWED:
        raise argparse.ArgumentTypeError(f"{word} is not a number from 1 to {MOST_SLOWED}")
    return times


def run(args: argparse.Namespace) -> int:
    path = Path(args.file)
    if path.is_dir():
        return _folder(path, args)
    _print(_read(path, args), args.json)
    return 0


def _read(path: Path, args: argparse.Namespace) -> "SpinResult":
    """Raises NotDeterminedError where the recording gives no number, InputError for what is no recording."""
    from levelwind.core.errors import NotDeterminedError
    from levelwind.recordings.spin_file import read_spin

    def say(part: float, doing: str) -> None:
        print(f"{path.name}: {100 * part:.0f} % {doing}", file=sys.stderr, flush=True)

    read = read_spin(path, marks=args.marks, slowed=args.slowed, progress=say)
    if read.result is None:
        raise NotDeterminedError(read.refused)
    return read.result


def _folder(path: Path, args: argparse.Namespace) -> int:
    """Every recording in a folder, two at a time; a refused one is told and does not stop the rest."""
    from concurrent.futures import ThreadPoolExecutor

    from levelwind.core.errors import InputError

    files = sorted(each for each in path.iterdir() if each.suffix.lower() in KNOWN)
    if not files:
        raise InputError(path.name, "a folder without recordings", "films, sounds or tables in it")
    refused = 0
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for file, answer in zip(files, pool.map(_read_or_refuse, files, [args] * len(files)), strict=True):
            refused += isinstance(answer, str)
            _print_one_of_many(file.name, answer, args.json)
    return 3 if refused == len(files) else 0


def _read_or_refuse(path: Path, args: argparse.Namespace) -> "SpinResult | str":
    from levelwind.core.errors import LevelwindError

    try:
        return _read(path, args)
    except LevelwindError as refusal:
        return " ".join(str(refusal).split())


def _print_one_of_many(name: str, answer: "SpinResult | str", as_json: bool) -> None:
    if as_json:
        shape = {"status": "refused", "reason": answer} if isinstance(answer, str) else answer.as_dict()
        print(json.dumps({"file": name, **shape}), flush=True)
        return
    print(f"{name}:")
    if isinstance(answer, str):
        print(f"  refused: {answer}")
    else:
        _print(answer, False)


def _print(result: "SpinResult", as_json: bool) -> None:
    from levelwind.core.spin.report import as_text

    print(json.dumps(result.as_dict()) if as_json else as_text(result))
