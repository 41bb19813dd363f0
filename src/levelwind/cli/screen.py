"""What is printed reaches the screen whole, or nowhere; it never fails and never commands the terminal."""

import io
import os
import sys
from pathlib import Path


def one_line(words: str) -> str:
    """For the screen: whatever a file's name or heading holds, it neither breaks the line nor speaks to the terminal.

    >>> one_line("a\\nb\\x1b[2J.csv")
    'a b?[2J.csv'
    """
    return "".join(letter if letter.isprintable() else "?" for letter in " ".join(words.split()))


def make_sure_of_streams() -> None:
    """Both may be closed; and a name from a stick may hold what neither can spell."""
    for stream in ("stdout", "stderr"):
        if getattr(sys, stream) is None:
            setattr(sys, stream, Path(os.devnull).open("w"))  # noqa: SIM115 - it lives as long as the program
    for text in (sys.stdout, sys.stderr):
        if isinstance(text, io.TextIOWrapper):
            text.reconfigure(errors="backslashreplace")


def write_nowhere() -> None:
    """Nobody listens: what is still to be printed must not fail again as Python closes."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
