"""The child process of ``run_limited``: limits first, then the import, then the data."""

import gc
import json
import os
import resource
import signal
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from time import monotonic
from typing import BinaryIO

from levelwind.core.errors import InputError, LevelwindError
from levelwind.recordings.limited_messages import Answer, pack, unpack

TELL_S = 0.1
"""More often than this nobody can read; a new thing begun is told at once."""
LOOK_S = 1.0
"""How often it is looked whether anybody still waits for the answer."""


def serve(module: str, function: str, seconds: str, megabytes: str, asker: str) -> None:
    _end_with(int(asker))
    resource.setrlimit(resource.RLIMIT_AS, (int(megabytes) * 2**20,) * 2)
    resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    gc.disable()  # so short a life leaves no cycles worth the search: a million rows are read in half the time
    with _answers_only() as out:
        head, _, rest = sys.stdin.buffer.read().partition(b"\n")
        out.write(_reply(module, function, unpack(head, rest), out))
    signal.setitimer(signal.ITIMER_REAL, 0)  # as Python closes it lets go of its handlers: the next alarm would kill


def _end_with(asker: int) -> None:
    """A caller that was killed cannot end this process: it ends itself, and whatever it started, with its caller."""

    def look(*_: object) -> None:
        if os.getppid() != asker:
            os.killpg(0, signal.SIGKILL)

    signal.signal(signal.SIGALRM, look)
    signal.setitimer(signal.ITIMER_REAL, LOOK_S, LOOK_S)


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
        return pack({"refused": "MemoryError"})
    except LevelwindError as refusal:
        parts = ("what", "was", "allowed")
        why = [str(getattr(refusal, part)) for part in parts] if isinstance(refusal, InputError) else [str(refusal)]
        return pack({"refused": type(refusal).__name__, "why": why})


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
