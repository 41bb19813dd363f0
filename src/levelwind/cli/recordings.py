"""What `pull` and `spin` share: one recording or a folder of them, progress on standard error, results on the other."""

import argparse
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event
from time import monotonic
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from levelwind.recordings.limits import Progress

TABLE_NAMES = (".csv", ".tsv", ".txt", ".xlsx")
AT_ONCE = 2
"""Recordings read at a time, each in a process of its own."""


class Result(Protocol):
    def as_dict(self) -> Mapping[str, object]: ...


Read = Callable[[Path, "Progress", Event], Result]
"""Reads one recording; raises LevelwindError where it gives no number."""


def add_arguments(parser: argparse.ArgumentParser, kinds: str) -> None:
    parser.add_argument("file", metavar="FILE", help=f"{kinds}; or a folder of these")
    parser.add_argument("--json", action="store_true", help="print one JSON object; for a folder, one a line")


def run(
    args: argparse.Namespace, read: Read, as_text: Callable[..., str], names: Sequence[str], *, quiet_s: float = 0.0
) -> int:
    """``names`` are the endings of what is looked at in a folder; what is done in ``quiet_s`` tells no progress."""
    path = Path(args.file)
    if path.is_dir():
        return _folder(path, read, as_text, names, as_json=args.json)
    result = read(path, _teller(path, quiet_s), Event())
    print(json.dumps(result.as_dict()) if args.json else as_text(result))
    return 0


def _teller(path: Path, quiet_s: float = 0.0) -> "Progress":
    """A line for each thing begun and each tenth of the whole done."""
    begun, told = monotonic(), ("", -1)

    def say(part: float, doing: str) -> None:
        nonlocal told
        now = (doing, int(10 * part))
        if now == told or monotonic() - begun < quiet_s:
            return
        told = now
        sys.stderr.write(f"{path.name}: {100 * part:.0f} % {doing}\n")
        sys.stderr.flush()

    return say


def _folder(path: Path, read: Read, as_text: Callable[..., str], names: Sequence[str], *, as_json: bool) -> int:
    """Every recording in it; a refused one is told and does not stop the rest. Interrupted, it stops them all."""
    from levelwind.core.errors import InputError

    files = sorted(each for each in path.iterdir() if each.suffix.lower() in names)
    if not files:
        raise InputError(path.name, "a folder without recordings", f"files ending in {', '.join(names)}")
    stop, refused = Event(), 0
    with ThreadPoolExecutor(AT_ONCE) as pool:
        try:
            for file, answer in zip(
                files, pool.map(lambda each: _read_or_refuse(each, read, stop), files), strict=True
            ):
                refused += isinstance(answer, str)
                print(_one_of_many(file.name, answer, as_text, as_json=as_json), flush=True)
        finally:
            stop.set()
    return 3 if refused == len(files) else 0


def _read_or_refuse(path: Path, read: Read, stop: Event) -> Result | str:
    from levelwind.core.errors import LevelwindError

    try:
        return read(path, _teller(path), stop)
    except LevelwindError as refusal:
        return " ".join(str(refusal).split())


def _one_of_many(name: str, answer: Result | str, as_text: Callable[..., str], *, as_json: bool) -> str:
    if as_json:
        shape = {"status": "refused", "reason": answer} if isinstance(answer, str) else answer.as_dict()
        return json.dumps({"file": name, **shape})
    return f"{name}:\n" + (f"  refused: {answer}" if isinstance(answer, str) else as_text(answer))
