"""`levelwind spin`: a film, a sound or a table of a spool running down in, its speed and its losses out."""

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from levelwind.core.spin import SpinResult

FILM_NAMES = (".mp4", ".mov", ".m4v", ".webm", ".mkv")
SOUND_NAMES = (".wav", ".m4a", ".mp3", ".ogg", ".oga", ".opus", ".flac", ".aac")
TABLE_NAMES = (".csv", ".tsv", ".txt", ".xlsx")


def add(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = subparsers.add_parser("spin", help="measure a spool running down, from film, sound or a table")
    parser.add_argument(
        "file",
        metavar="FILE",
        help="mp4, mov, m4v or webm; wav, m4a, mp3, ogg or flac; csv, tsv, txt or xlsx; or a folder of these",
    )
    parser.add_argument("--marks", type=_marks, metavar="N", help="marks or ticks a turn (default: 1)")
    parser.add_argument("--json", action="store_true", help="print one JSON object; for a folder, one a line")
    parser.set_defaults(run=run)


def _marks(word: str) -> int:
    if not word.isdecimal() or not 1 <= int(word) <= 60:
        raise argparse.ArgumentTypeError(f"{word} is not a whole number from 1 to 60")
    return int(word)


def run(args: argparse.Namespace) -> int:
    path = Path(args.file)
    if path.is_dir():
        return _folder(path, args.marks, args.json)
    result = analyse_file(path, args.marks)
    _print(result, args.json)
    return 0


def analyse_file(path: Path, marks: int | None) -> "SpinResult":
    """By content, whatever the name says: film, sound or table."""
    from levelwind.core.errors import InputError
    from levelwind.recordings.sound import kind_of

    if not path.is_file():
        raise InputError(path.name, "not there", "a file that exists")
    with path.open("rb") as start:
        kind = kind_of(start.read(64))
    suffix = path.suffix.lower()
    if kind in ("mp4", "webm") and suffix not in SOUND_NAMES:
        return _film(path, marks)
    if kind:
        return _sound(path, marks)
    if suffix in FILM_NAMES + SOUND_NAMES:
        allowed = "mp4, mov, m4v, webm, wav, m4a, mp3, ogg or flac"
        raise InputError(path.name, "neither film nor sound, whatever its name", allowed)
    return _table(path, marks)


def _film(path: Path, marks: int | None) -> "SpinResult":
    import numpy as np

    from levelwind.core.spin.film import analyse_film
    from levelwind.recordings.video import read_film

    _say(f"{path.name}: reading the film")
    film = read_film(path)
    return analyse_film(
        film.frames,
        film.t_s,
        marks=marks or 1,
        rng=np.random.default_rng(1),
        progress=lambda part, doing: _say(f"{path.name}: {100 * part:.0f} % {doing}"),
    )


def _sound(path: Path, marks: int | None) -> "SpinResult":
    import numpy as np

    from levelwind.core.spin.sound import analyse_sound
    from levelwind.recordings.sound import read_sound

    _say(f"{path.name}: reading the sound")
    sound = read_sound(path)
    _say(f"{path.name}: listening to {sound.duration_s:.0f} s")
    return analyse_sound(sound.samples, sound.sample_hz, np.random.default_rng(1), marks=marks)


def _table(path: Path, marks: int | None) -> "SpinResult":
    import numpy as np

    from levelwind.core.spin.table import analyse_passes, analyse_speeds
    from levelwind.recordings.spin_table import read_spin_table

    table = read_spin_table(path)
    dice = np.random.default_rng(1)
    if table.rev_s is not None:
        return analyse_speeds(table.time_s, table.rev_s, dice, cautions=table.cautions)
    assert table.turns is not None
    return analyse_passes(table.time_s, dice, marks=marks or 1, turns=table.turns, cautions=table.cautions)


def _folder(path: Path, marks: int | None, as_json: bool) -> int:
    """Every recording in a folder, two at a time; a refused one is told and does not stop the rest."""
    from concurrent.futures import ProcessPoolExecutor

    from levelwind.core.errors import InputError

    known = FILM_NAMES + SOUND_NAMES + TABLE_NAMES
    files = sorted(each for each in path.iterdir() if each.suffix.lower() in known)
    if not files:
        raise InputError(path.name, "a folder without recordings", "films, sounds or tables in it")
    refused = 0
    with ProcessPoolExecutor(max_workers=min(2, len(files))) as pool:
        for file, answer in zip(files, pool.map(_one_of_many, files, [marks] * len(files)), strict=True):
            refused += isinstance(answer, str)
            _print_one_of_many(file.name, answer, as_json)
    return 3 if refused == len(files) else 0


def _one_of_many(path: Path, marks: int | None) -> "SpinResult | str":
    from levelwind.core.errors import LevelwindError

    try:
        return analyse_file(path, marks)
    except LevelwindError as refusal:
        return " ".join(str(refusal).split())


def _print_one_of_many(name: str, answer: "SpinResult | str", as_json: bool) -> None:
    if as_json:
        shape = {"status": "refused", "reason": answer} if isinstance(answer, str) else answer.as_dict()
        print(json.dumps({"file": name, **shape}))
        return
    print(f"{name}:")
    if isinstance(answer, str):
        print(f"  refused: {answer}")
    else:
        _print(answer, False)


def _print(result: "SpinResult", as_json: bool) -> None:
    from levelwind.core.spin.report import as_text

    print(json.dumps(result.as_dict()) if as_json else as_text(result))


def _say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)
