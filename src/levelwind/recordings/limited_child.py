"""The child process of ``run_limited``, fresh or forked: limits first, then the function, then the data."""

import gc
import json
import os
import sys
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from threading import Thread
from time import monotonic
from typing import BinaryIO

from levelwind.core.errors import InputError, LevelwindError
from levelwind.recordings.limited_bounds import end_myself, keep_within
from levelwind.recordings.limited_messages import Answer, length_after, pack, unpack

TELL_S = 0.1
"""More often than this nobody can read; a new thing begun is told at once."""


def serve(module: str, function: str, seconds: str, megabytes: str) -> None:
    keep_within(int(seconds), int(megabytes))
    gc.disable()  # so short a life leaves no cycles worth the search: a million rows are read in half the time
    with _answers_only() as out:
        head = sys.stdin.buffer.readline()
        asked = unpack(head, sys.stdin.buffer.read(length_after(head)))
        Thread(target=_end_with_the_caller, daemon=True).start()
        out.write(_reply(module, function, asked, out))


def _end_with_the_caller() -> None:
    """The caller keeps its end of standard input open as long as it waits: when it is killed, the system closes it."""
    with suppress(OSError):
        while os.read(0, 1):
            pass
    end_myself()


def _answers_only() -> BinaryIO:
    """The pipe back; whatever a library prints to standard output goes beside it, to standard error."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return out


def _reply(module: str, function: str, asked: Answer, out: BinaryIO) -> bytes:
    path, options = asked.facts["path"], dict(asked.facts["options"])
    if asked.facts["tell"]:
        options["tell"] = _teller(out)
    try:
        data = asked.blobs[0] if path is None else Path(path)
        answer: Answer = getattr(import_module(module), function)(data, **options)
        return pack({"answer": answer.facts}, *answer.blobs)
    except MemoryError:
        pass  # what filled the memory hangs on the error, and goes with it: only then is there room for an answer
    except LevelwindError as refusal:
        parts = ("what", "was", "allowed")
        why = [str(getattr(refusal, part)) for part in parts] if isinstance(refusal, InputError) else [str(refusal)]
        return pack({"refused": type(refusal).__name__, "why": why})
    gc.collect()
    return pack({"refused": "MemoryError"})


def _teller(out: BinaryIO) -> Callable[[float, str], None]:
    last_s, last_doing = 0.0, ""

    def tell(part: float, doing: str) -> None:
        nonlocal last_s, last_doing
        if doing == last_doing and monotonic() - last_s < TELL_S:
            return
        last_s, last_doing = monotonic(), doing
        out.write(json.dumps({"part": part, "doing": doing}).encode() + b"\n")
        out.flush()

    return tell


if __name__ == "__main__":
    serve(*sys.argv[1:])
