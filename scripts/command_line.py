"""Writes docs/command-line.md from the commands' own help; a test holds the page to it."""

import io
import os
import sys
from contextlib import redirect_stdout, suppress
from pathlib import Path

from levelwind.cli.fits import PIECES
from levelwind.cli.main import COMMANDS, parser_for

PAGE = Path(__file__).parent.parent / "docs" / "command-line.md"
HEAD = """# The command line

Written by `scripts/command_line.py` from the commands' own help.

Everything in `core` can be used without the app. An answer fits a screen; `--why` adds how it was worked out. With
`--json` a command prints one JSON object to standard output and nothing else. Exit status: 0 done; 2 wrong use; 3 the
input was refused, with one line on standard error that says what and why. With `--json` a refusal also prints
`{"status": "refused", "reason": "..."}`. An uncertain quantity in JSON is `{"value": x, "low": a, "high": b}`, nine
times in ten; keys carry their unit.
"""


def help_of(words: list[str]) -> str:
    out = io.StringIO()
    with redirect_stdout(out), suppress(SystemExit):
        parser_for(words).parse_args([*words, "--help"])
    return out.getvalue().strip()


def section(words: list[str]) -> str:
    return f"## levelwind {' '.join(words)}\n\n```\n{help_of(words)}\n```\n"


def text() -> str:
    os.environ["COLUMNS"] = "100"
    os.environ["NO_COLOR"] = "1"
    parts = [HEAD, f"```\n{help_of([])}\n```\n"]
    for name in COMMANDS:
        parts += [section([name]), *(section([name, piece]) for piece in (*PIECES, "sheet") if name == "fits")]
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(text())
    print(f"wrote {PAGE}", file=sys.stderr)
