"""The command line: one module a command, each imported only when it is asked for."""

import argparse
import json
import os
import sys
from collections.abc import Sequence
from importlib import import_module

from levelwind import __version__
from levelwind.cli.screen import make_sure_of_streams, one_line, write_nowhere
from levelwind.core.errors import LevelwindError

COMMANDS = {
    "open": "open the app on this machine",
    "pull": "find breakaway and running drag in a force log",
    "spin": "measure a spool running down, from film, sound or a table",
    "compare": "two recordings of one kind, like for like",
    "drag": "compute a drag described in TOML",
    "fits": "what standard thing a piece is, from its measurements",
    "takedown": "the least work to reach a place",
    "hunch": "what is wrong, from what was seen",
    "promise": "when each job in hand will be done, and how surely",
    "order": "which parts to order today, and which may wait",
    "worth": "what a dead reel is worth: in parts, mended, left shut",
    "reread": "read the book's recordings again by today's law",
    "work": "work off what waits in the queue: recordings to be read, letters to be sent",
    "backup": "copy the running shop into a folder",
    "restore": "bring a shop back from a backup",
    "prove": "prove a backup, or the shop as it stands",
}
DONE, WRONG_USE, REFUSED = 0, 2, 3


def parser_for(words: Sequence[str]) -> argparse.ArgumentParser:
    """Only the command that was asked for is imported; the others stand by name in the help."""
    parser = argparse.ArgumentParser(
        prog="levelwind",
        description="Goes with a fishing reel from the box it came in to the box it goes home in.",
    )
    parser.add_argument("--version", action="version", version=f"levelwind {__version__}")
    commands = parser.add_subparsers(title="commands", dest="command", required=True, metavar="COMMAND")
    asked = next((word for word in words if not word.startswith("-")), "")
    for name, about in COMMANDS.items():
        if name == asked:
            import_module(f"levelwind.cli.{name}").add(commands)
        else:
            commands.add_parser(name, help=about)
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; 0 done, 2 wrong use (argparse), 3 refused with one line that says why."""
    words = sys.argv[1:] if words is None else words
    # Our matrices are small: a second thread of linear algebra costs several times what it saves.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    make_sure_of_streams()
    args = parser_for(words).parse_args(words)
    try:
        status: int = args.run(args)
        sys.stdout.flush()
        return status
    except LevelwindError as refusal:
        return _refuse(str(refusal), as_json=getattr(args, "json", False))
    except BrokenPipeError:
        write_nowhere()
        return DONE
    except OSError as trouble:
        if trouble.filename is None:  # not a file of ours, so what we print to
            write_nowhere()
            return _refuse(f"cannot print: {trouble.strerror or trouble}", as_json=False)
        return _refuse(f"{trouble.filename}: {trouble.strerror}", as_json=getattr(args, "json", False))
    except KeyboardInterrupt:
        return _refuse("stopped by hand", as_json=False)


def _refuse(reason: str, *, as_json: bool) -> int:
    if as_json:
        print(json.dumps({"status": "refused", "reason": " ".join(reason.split())}))
    print(f"levelwind: {one_line(reason)}", file=sys.stderr)
    return REFUSED
