"""Runs one function on data from outside in a process of its own, with a limit on time and on memory.

A decoder is the likeliest place for a hostile file to do harm: here it can exhaust or crash only itself. The answer
comes back as JSON and bytes, never as pickled objects, so that a decoder that was taken over cannot reach the caller.
"""

import logging
import os
import subprocess
import sys
from collections.abc import Callable
from math import ceil
from pathlib import Path
from threading import Event
from time import monotonic
from typing import Any

from levelwind.core.errors import InputError, LevelwindError, NoConvergenceError, NotDeterminedError
from levelwind.recordings.limited_bounds import TOO_LARGE, TOO_LONG, Watch, end, ended_by_its_limit
from levelwind.recordings.limited_exchange import Exchange
from levelwind.recordings.limited_messages import Answer, GarbledError, pack

__all__ = ["Answer", "Progress", "Stopped", "run_limited"]

Progress = Callable[[float, str], None]
"""Told the part done, 0 to 1, and what is being done."""

CHILD = "levelwind.recordings.limited_child"
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "MALLOC_ARENA_MAX": "1"}
"""For the small systems solved here a second thread costs several times what it saves, and its memory counts."""
LOOK_S = 0.1
"""How often the clock, the stop and what the process uses of the machine are looked at."""
REFUSALS: dict[str, type[LevelwindError]] = {
    kind.__name__: kind for kind in (LevelwindError, InputError, NotDeterminedError, NoConvergenceError)
}


class Stopped(LevelwindError):  # noqa: N818 - nothing went wrong: somebody asked for it
    """Somebody stopped it before it was done."""


def run_limited(
    function: Callable[..., Answer],
    data: bytes | Path,
    *,
    name: str,
    seconds: float,
    megabytes: int,
    progress: Progress | None = None,
    stop: Event | None = None,
    **options: Any,
) -> Answer:
    """``function(data, **options)`` in a fresh process of at most ``seconds`` and ``megabytes``.

    ``function`` is a top-level function of an importable module; ``options`` are what JSON can carry; ``name`` is what
    to call the data in a refusal. A path is handed on as a path: the file is opened in the child alone. With
    ``progress`` the function is given ``tell(part, doing)`` to call while it works. What the function refuses (any
    LevelwindError) is raised here as it was there. Raises Stopped soon after ``stop`` is set, and InputError when the
    data takes too long, needs too much memory, or brings the decoder down.
    """
    target = [function.__module__, function.__qualname__, str(ceil(seconds)), str(megabytes)]
    path, blobs = (str(data.absolute()), ()) if isinstance(data, Path) else (None, (data,))
    ask = pack({"path": path, "tell": progress is not None, "options": options}, *blobs)
    command = [sys.executable, "-P", "-m", CHILD, *target]
    pipe = subprocess.PIPE
    process = subprocess.Popen(
        command, stdin=pipe, stdout=pipe, stderr=pipe, start_new_session=True, env=os.environ | ONE_THREAD
    )
    exchange = Exchange(process, ask, megabytes * 2**20, progress)
    watch = Watch(process.pid, seconds=ceil(seconds), megabytes=megabytes)
    try:
        broken = _hear_out(exchange, watch, seconds, stop)
        if broken:
            raise _too_large(name, megabytes) if broken == TOO_LARGE else _too_long(name, seconds)
        answer = _answer(exchange, process.returncode, name, seconds)
    except GarbledError as error:
        end(process)
        muttered = exchange.muttered().decode(errors="replace")
        logging.getLogger(__name__).warning("%s ended with %s: %s: %s", target, process.poll(), error, muttered)
        raise InputError(name, "damaged in a way that brought its reader down", "a file that opens elsewhere") from None
    finally:
        end(process)
        exchange.close()
    if "refused" in answer.facts:
        raise _refusal(answer.facts, name, megabytes)
    return Answer(answer.facts["answer"], answer.blobs)


def _hear_out(exchange: Exchange, watch: Watch, seconds: float, stop: Event | None) -> str | None:
    """Gives which bound was passed, if one was."""
    deadline = monotonic() + seconds
    while not exchange.over():
        if stop is not None and stop.is_set():
            raise Stopped("stopped by hand")
        if monotonic() > deadline:
            return TOO_LONG
        if broken := watch.broken():
            return broken
        exchange.step(LOOK_S)
    return None


def _answer(exchange: Exchange, status: int, name: str, seconds: float) -> Answer:
    if ended_by_its_limit(status):
        raise _too_long(name, seconds)
    if status != 0:
        raise GarbledError("no answer")
    answer = exchange.answer()
    if not {"answer", "refused"} & answer.facts.keys():
        raise GarbledError("neither an answer nor a refusal")
    return answer


def _too_long(name: str, seconds: float) -> InputError:
    return InputError(name, f"still not read after {seconds:g} s", "a shorter or smaller file")


def _too_large(name: str, megabytes: int) -> InputError:
    return InputError(name, f"in need of more than {megabytes} MB to read", "a smaller file")


def _refusal(facts: dict[str, Any], name: str, megabytes: int) -> LevelwindError:
    if facts["refused"] == "MemoryError":
        return _too_large(name, megabytes)
    return REFUSALS.get(facts["refused"], LevelwindError)(*facts["why"])
