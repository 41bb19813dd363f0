"""Runs one function on data from outside in a process of its own, with a limit on time and on memory.

A decoder is the likeliest place for a hostile file to do harm: here it can exhaust or crash only itself. The answer
comes back as JSON and bytes, never as pickled objects, so that a decoder that was taken over cannot reach the caller.
"""

import logging
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from math import ceil
from pathlib import Path
from threading import Event
from time import monotonic
from typing import Any

from levelwind.core.errors import InputError, LevelwindError, NoConvergenceError, NotDeterminedError
from levelwind.recordings.limited_exchange import Exchange
from levelwind.recordings.limited_messages import Answer, GarbledError, pack

__all__ = ["Answer", "Progress", "Stopped", "run_limited"]

Progress = Callable[[float, str], None]
"""Told the part done, 0 to 1, and what is being done."""

CHILD = "levelwind.recordings.limited_child"
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1"}
"""For the small systems solved here a second thread costs several times what it saves, and its memory counts."""
LOOK_S = 0.1
"""How often the clock and the stop are looked at."""
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
    target = [function.__module__, function.__qualname__, str(ceil(seconds)), str(megabytes), str(os.getpid())]
    path, blobs = (str(data.absolute()), ()) if isinstance(data, Path) else (None, (data,))
    ask = pack({"path": path, "tell": progress is not None, "options": options}, *blobs)
    command = [sys.executable, "-P", "-m", CHILD, *target]
    pipe = subprocess.PIPE
    process = subprocess.Popen(
        command, stdin=pipe, stdout=pipe, stderr=pipe, start_new_session=True, env=os.environ | ONE_THREAD
    )
    exchange = Exchange(process, ask, megabytes * 2**20, progress)
    try:
        _hear_out(exchange, name, seconds, stop)
        answer = _answer(exchange, process.returncode, name, seconds)
    except GarbledError as error:
        log = logging.getLogger(__name__)
        log.warning(
            "%s ended with %s: %s: %s", target, process.poll(), error, exchange.muttered.decode(errors="replace")
        )
        raise InputError(name, "damaged in a way that brought its reader down", "a file that opens elsewhere") from None
    finally:
        _end(process)
        exchange.close()
    if "refused" in answer.facts:
        raise _refusal(answer.facts, name, megabytes)
    return Answer(answer.facts["answer"], answer.blobs)


def _hear_out(exchange: Exchange, name: str, seconds: float, stop: Event | None) -> None:
    deadline = monotonic() + seconds
    while not exchange.over():
        if stop is not None and stop.is_set():
            raise Stopped("stopped by hand")
        if monotonic() > deadline:
            raise _too_long(name, seconds)
        exchange.step(LOOK_S)


def _answer(exchange: Exchange, status: int, name: str, seconds: float) -> Answer:
    if status == -signal.SIGXCPU:
        raise _too_long(name, seconds)
    if status != 0:
        raise GarbledError("no answer")
    answer = exchange.answer()
    if not {"answer", "refused"} & answer.facts.keys():
        raise GarbledError("neither an answer nor a refusal")
    return answer


def _end(process: "subprocess.Popen[bytes]") -> None:
    """With whatever it started itself; and it is waited for, so that nothing of it stays."""
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def _too_long(name: str, seconds: float) -> InputError:
    return InputError(name, f"still not read after {seconds:g} s", "a shorter or smaller file")


def _refusal(facts: dict[str, Any], name: str, megabytes: int) -> LevelwindError:
    if facts["refused"] == "MemoryError":
        return InputError(name, f"in need of more than {megabytes} MB to read", "a smaller file")
    return REFUSALS.get(facts["refused"], LevelwindError)(*facts["why"])
