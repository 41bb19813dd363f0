"""What `pull`, `spin` and `compare` share: recordings, progress on standard error, results on the other."""

import argparse
import json
import logging
import sys
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event
from time import monotonic
from typing import TYPE_CHECKING, Protocol

from levelwind.cli.screen import one_line
from levelwind.core.codec import as_shown

if TYPE_CHECKING:
    from levelwind.recordings.limited import Progress

TABLE_NAMES = (".csv", ".tsv", ".txt", ".xlsx")
AT_ONCE = 2
"""Recordings read at a time, each in a process of its own."""
MANY = 4
"""With more of them, it takes less to import what reading takes once than for each. Measured."""


class Result(Protocol):
    def shown(self) -> Mapping[str, object]: ...


Read = Callable[[Path, "Progress", Event], Result]
"""Reads one recording; raises LevelwindError where it gives no number."""


def add_arguments(parser: argparse.ArgumentParser, kinds: str) -> None:
    parser.add_argument("file", metavar="FILE", type=path_said, nargs="+", help=f"{kinds}; or a folder of these")
    add_json(parser, "; for a folder or several files, one a line")


def add_json(parser: argparse.ArgumentParser, more: str = "") -> None:
    parser.add_argument("--json", action="store_true", help=f"print one JSON object{more}")


def path_said(word: str) -> Path:
    """An empty word is a slip, such as a name that was never filled in, and not the folder we are in."""
    if not word:
        raise argparse.ArgumentTypeError("an empty name")
    return Path(word)


def option_checked(kind: type, name: str, value: object) -> object:
    """What was said of a recording, as an argument's type: its options take it, or refuse it in their own words."""
    from levelwind.core.errors import InputError

    try:
        return getattr(kind(**{name: value}), name)
    except InputError as refusal:
        raise argparse.ArgumentTypeError(str(refusal)) from None


def number_or_word(word: str) -> float | str:
    try:
        return float(word)
    except ValueError:
        return word


def run(
    args: argparse.Namespace, read: Read, as_text: Callable[..., str], names: Sequence[str], *, quiet_s: float = 0.0
) -> int:
    """``names`` are the endings of what is looked at in a folder; what is done in ``quiet_s`` tells no progress."""
    keep_quiet()
    if len(args.file) > 1 or args.file[0].is_dir():
        return _several(_files(args.file, names), read, as_text, as_json=args.json)
    (path,) = args.file
    result = read(path, teller(path, quiet_s), Event())
    print(json.dumps(as_shown(result)) if args.json else as_text(result))
    return 0


def keep_quiet() -> None:
    """What a decoder muttered is not for the screen."""
    logging.getLogger("levelwind").addHandler(logging.NullHandler())


def _files(paths: Sequence[Path], names: Sequence[str]) -> list[Path]:
    """What was named, and in the place of a folder what recordings are in it, hidden ones aside."""
    from levelwind.core.errors import InputError

    found = []
    for path in paths:
        inside = sorted(path.iterdir()) if path.is_dir() else []
        recordings = [each for each in inside if each.suffix.lower() in names and not each.name.startswith(".")]
        found += [each for each in recordings if not each.is_dir()] if path.is_dir() else [path]
    if not found:
        name = ", ".join(path.name or str(path) for path in paths)
        raise InputError(name, "a folder without recordings", f"files ending in {', '.join(names)}")
    return found


def teller(path: Path, quiet_s: float = 0.0) -> "Progress":
    """A line for each thing begun and each tenth of the whole done."""
    begun, told = monotonic(), ("", -1)

    def say(part: float, doing: str) -> None:
        nonlocal told
        now = (doing, int(10 * part))
        if now == told or monotonic() - begun < quiet_s:
            return
        told = now
        sys.stderr.write(f"{one_line(path.name)}: {100 * part:.0f} % {doing}\n")
        sys.stderr.flush()

    return say


def _several(files: list[Path], read: Read, as_text: Callable[..., str], *, as_json: bool) -> int:
    """A refused one is told and does not stop the rest. Interrupted, it stops them all."""
    from levelwind.recordings.limited import keep_readers_ready

    stop, refused = Event(), []
    if len(files) > MANY:
        keep_readers_ready()
    with ThreadPoolExecutor(AT_ONCE) as pool:
        try:
            for file, answer in zip(
                files, pool.map(lambda each: _read_or_refuse(each, read, stop), files), strict=True
            ):
                refused += [one_line(file.name)] if isinstance(answer, str) else []
                print(_one_of_many(file.name, answer, as_text, as_json=as_json), flush=True)
        finally:
            stop.set()
    if refused:
        print(f"levelwind: {len(refused)} of {len(files)} refused: {', '.join(refused)}", file=sys.stderr)
    return 3 if len(refused) == len(files) else 0


def _read_or_refuse(path: Path, read: Read, stop: Event) -> Result | str:
    from levelwind.core.errors import LevelwindError

    try:
        return read(path, teller(path), stop)
    except LevelwindError as refusal:
        return one_line(str(refusal))


def _one_of_many(name: str, answer: Result | str, as_text: Callable[..., str], *, as_json: bool) -> str:
    if as_json:
        shape = {"status": "refused", "reason": answer} if isinstance(answer, str) else as_shown(answer)
        return json.dumps({"file": name, **shape})
    return f"{one_line(name)}:\n" + (f"  refused: {answer}" if isinstance(answer, str) else as_text(answer))
