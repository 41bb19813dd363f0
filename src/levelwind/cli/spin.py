"""`levelwind spin`: a film, a sound or a table of a spool running down in, its speed and its losses out."""

import argparse
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

from levelwind.cli.recordings import TABLE_NAMES, add_arguments, number_or_word, option_checked
from levelwind.cli.recordings import run as run_recordings

if TYPE_CHECKING:
    from levelwind.core.spin import SpinOptions, SpinResult
    from levelwind.recordings.limited import Progress


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("spin", help="measure a spool running down, from film, sound or a table")
    add_arguments(parser, "mp4, mov, m4v or webm; wav, m4a, mp3, ogg or flac; csv, tsv, txt or xlsx")
    add_marks(parser)
    parser.add_argument(
        "--slowed",
        type=_slowed,
        metavar="N",
        help="how many times slower than life the film plays (default: as the file says, else 1)",
    )
    parser.set_defaults(run=run)


def add_marks(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--marks", type=_marks, metavar="N", help="marks or ticks a turn (default: 1, unless the ticks themselves tell)"
    )


def _marks(word: str) -> object:
    from levelwind.core.spin import SpinOptions

    return option_checked(SpinOptions, "marks", number_or_word(word))


def _slowed(word: str) -> object:
    from levelwind.core.spin import SpinOptions

    return option_checked(SpinOptions, "slowed", number_or_word(word))


def run(args: argparse.Namespace) -> int:
    from levelwind.core.spin import SpinOptions
    from levelwind.core.spin.report import as_text
    from levelwind.recordings.media import FILM_NAMES, SOUND_NAMES

    options = SpinOptions(marks=args.marks, slowed=args.slowed)

    def read(path: Path, progress: "Progress", stop: Event) -> "SpinResult":
        return read_one(path, options, progress, stop)

    return run_recordings(args, read, as_text, (*FILM_NAMES, *SOUND_NAMES, *TABLE_NAMES))


def read_one(path: Path, options: "SpinOptions", progress: "Progress", stop: Event) -> "SpinResult":
    """Raises LevelwindError where it gives no number, InputError where it is no such recording."""
    from levelwind.core.errors import NotDeterminedError
    from levelwind.recordings.spin_file import read_spin

    found = read_spin(path, options=options, progress=progress, stop=stop)
    if found.result is None:
        raise NotDeterminedError(found.refused)
    return found.result
