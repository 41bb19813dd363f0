"""Runs one function on data from outside in a process of its own, limited in memory and in time of the processor.

A decoder is the likeliest place for a hostile file to do harm: here it can exhaust or crash only itself. The answer
comes back as JSON and bytes, never as pickled objects, so that a decoder that was taken over cannot reach the caller.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from pathlib import Path
from threading import Event
from typing import Any

from levelwind.core.errors import InputError, LevelwindError, NoConvergenceError, NotDeterminedError
from levelwind.recordings.limited_bounds import STANDS_STILL, TOO_LARGE, Watch, end, ended_by_its_limit
from levelwind.recordings.limited_exchange import Exchange
from levelwind.recordings.limited_messages import Answer, GarbledError, pack
from levelwind.recordings.limited_start import LOST, NURSERY, Reader, fresh

__all__ = ["Answer", "Progress", "Stopped", "keep_readers_ready", "run_limited"]

Progress = Callable[[float, str], None]
"""Told the part done, 0 to 1, and what is being done."""

LOOK_S = 0.1
"""How often the stop and what the process uses of the machine are looked at."""
REFUSALS: dict[str, type[LevelwindError]] = {
    kind.__name__: kind for kind in (LevelwindError, InputError, NotDeterminedError, NoConvergenceError)
}


class Stopped(LevelwindError):  # noqa: N818 - nothing went wrong: somebody asked for it
    """Somebody stopped it before it was done."""


def keep_readers_ready() -> None:
    """For a process that reads many recordings: a reader then begins with all that it needs imported."""
    NURSERY.kept = True


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
    """``function(data, **options)`` in a process of at most ``seconds`` of processor time and ``megabytes``.

    ``function`` is a top-level function of an importable module; ``options`` are what JSON can carry; ``name`` is what
    to call the data in a refusal. A path is handed on as a path: the file is opened in the child alone. With
    ``progress`` the function is given ``tell(part, doing)`` to call while it works. What the function refuses (any
    LevelwindError) is raised here as it was there. Raises Stopped soon after ``stop`` is set, and InputError when the
    data takes too long, needs too much memory, or brings the decoder down.
    """
    target = [function.__module__, function.__qualname__, str(ceil(seconds)), str(megabytes)]
    path, blobs = (str(data.absolute()), ()) if isinstance(data, Path) else (None, (data,))
    ask = pack({"path": path, "tell": progress is not None, "options": options}, *blobs)
    bounds = _Bounds(name, seconds, megabytes)
    try:
        answer = _hear(NURSERY.start(target), ask, bounds, progress, stop)
        if answer is None:  # the process that it was forked from was ended: it says nothing about the data
            answer = _hear(fresh(target), ask, bounds, progress, stop)
    except _BrokenError as broken:
        NURSERY.renew()
        if broken.muttered:
            logging.getLogger(__name__).warning("%s: %s", target, broken.muttered)
        raise broken.refusal from None
    assert answer is not None
    if "refused" in answer.facts:
        raise _refusal(answer.facts, name, megabytes)
    return Answer(answer.facts["answer"], answer.blobs)


@dataclass(frozen=True, slots=True)
class _Bounds:
    name: str
    seconds: float
    megabytes: int


class _BrokenError(Exception):
    """It went too far or was brought down: why it is refused, and what is for the log."""

    def __init__(self, refusal: InputError, muttered: str = "") -> None:
        self.refusal, self.muttered = refusal, muttered


def _hear(process: Reader, ask: bytes, bounds: _Bounds, progress: Progress | None, stop: Event | None) -> Answer | None:
    """What one process answers; None where it cannot be told how it ended."""
    name, seconds, megabytes = bounds.name, bounds.seconds, bounds.megabytes
    exchange = Exchange(process, ask, megabytes * 2**20, progress)
    watch = Watch(process.pid, seconds=ceil(seconds), megabytes=megabytes)
    status = None
    try:
        passed = _hear_out(exchange, watch, stop)
        if passed:
            raise _BrokenError(_passed(passed, name, seconds, megabytes))
        status = process.poll()
        if ended_by_its_limit(status or 0):
            raise _BrokenError(_too_long(name, seconds))
        return None if status == LOST else _answer(exchange, status)
    except GarbledError as error:
        end(process)
        said = f"ended with {status}: {error}: {exchange.muttered().decode(errors='replace')}"
        was, allowed = "damaged in a way that brought its reader down", "a file that opens elsewhere"
        raise _BrokenError(InputError(name, was, allowed), said) from None
    finally:
        end(process)
        exchange.close()


def _hear_out(exchange: Exchange, watch: Watch, stop: Event | None) -> str | None:
    """Gives which bound was passed, if one was."""
    while not exchange.over():
        if stop is not None and stop.is_set():
            raise Stopped("stopped by hand")
        if passed := watch.passed():
            return passed
        exchange.step(LOOK_S)
    return None


def _answer(exchange: Exchange, status: int | None) -> Answer:
    if status != 0:
        raise GarbledError("no answer")
    answer = exchange.answer()
    if not {"answer", "refused"} & answer.facts.keys():
        raise GarbledError("neither an answer nor a refusal")
    return answer


def _passed(bound: str, name: str, seconds: float, megabytes: int) -> InputError:
    if bound == STANDS_STILL:
        return InputError(name, "not read on with: its reader stood still", "a file that opens elsewhere")
    return _too_large(name, megabytes) if bound == TOO_LARGE else _too_long(name, seconds)


def _too_long(name: str, seconds: float) -> InputError:
    return InputError(name, f"still not read after {seconds:g} s", "a shorter or smaller file")


def _too_large(name: str, megabytes: int) -> InputError:
    return InputError(name, f"in need of more than {megabytes} MB to read", "a smaller file")


def _refusal(facts: dict[str, Any], name: str, megabytes: int) -> LevelwindError:
    if facts["refused"] == "MemoryError":
        return _too_large(name, megabytes)
    return REFUSALS.get(facts["refused"], LevelwindError)(*facts["why"])
