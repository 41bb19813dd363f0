"""Runs one function on bytes from outside in a process of its own, with a limit on time and on memory.

A decoder is the likeliest place for a hostile file to do harm: here it can exhaust or crash only itself. The answer
comes back as JSON and bytes, never as pickled objects, so that a decoder that was taken over cannot reach the caller.
"""

import json
import logging
import resource
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import import_module
from math import ceil
from typing import Any

from levelwind.core import errors
from levelwind.core.errors import InputError, LevelwindError


@dataclass(frozen=True, slots=True)
class Answer:
    """What a limited function may hand back: facts that JSON can carry, and any number of byte strings."""

    facts: dict[str, Any] = field(default_factory=dict)
    blobs: tuple[bytes, ...] = ()


def run_limited(
    function: Callable[..., Answer], data: bytes, *, name: str, seconds: float, megabytes: int, **options: Any
) -> Answer:
    """``function(data, **options)`` in a fresh process of at most ``seconds`` and ``megabytes``.

    ``function`` is a top-level function of an importable module; ``options`` are what JSON can carry; ``name`` is what
    to call the data in a refusal. What the function refuses (any LevelwindError) is raised here as it was there.
    Raises InputError when the data takes too long, needs too much memory, or brings the decoder down.
    """
    target = [function.__module__, function.__qualname__, str(ceil(seconds)), str(megabytes)]
    command = [sys.executable, "-P", "-m", __name__, *target]
    try:
        done = subprocess.run(command, input=_pack(options, data), capture_output=True, timeout=seconds, check=False)
    except subprocess.TimeoutExpired:
        raise _too_long(name, seconds) from None
    if done.returncode == -signal.SIGXCPU:
        raise _too_long(name, seconds)
    if done.returncode != 0:
        logging.getLogger(__name__).warning(
            "%s ended with %s: %s", target, done.returncode, done.stderr[-2000:].decode()
        )
        raise InputError(name, "damaged in a way that brought its reader down", "a file that opens elsewhere")
    facts, blobs = _unpack(done.stdout)
    if "refused" in facts:
        raise _refusal(facts, name, megabytes)
    return Answer(facts, blobs)


def _too_long(name: str, seconds: float) -> InputError:
    return InputError(name, f"still not read after {seconds:g} s", "a shorter or smaller file")


def _refusal(facts: dict[str, Any], name: str, megabytes: int) -> LevelwindError:
    if facts["refused"] == "MemoryError":
        return InputError(name, f"in need of more than {megabytes} MB to read", "a smaller file")
    kind: type[LevelwindError] = getattr(errors, facts["refused"], LevelwindError)
    return kind(*facts["why"])


def _pack(facts: dict[str, Any], *blobs: bytes) -> bytes:
    """A first line of JSON with the lengths of what follows."""
    head = json.dumps({"facts": facts, "lengths": [len(blob) for blob in blobs]}).encode()
    return b"".join((head, b"\n", *blobs))


def _unpack(message: bytes) -> tuple[dict[str, Any], tuple[bytes, ...]]:
    line, _, rest = message.partition(b"\n")
    head = json.loads(line)
    blobs, at = [], 0
    for length in head["lengths"]:
        blobs.append(rest[at : at + length])
        at += length
    return head["facts"], tuple(blobs)


def _serve(module: str, function: str, seconds: str, megabytes: str) -> None:
    """The far side: limits first, then the import, then the data."""
    resource.setrlimit(resource.RLIMIT_AS, (int(megabytes) * 2**20,) * 2)
    resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    options, (data,) = _unpack(sys.stdin.buffer.read())
    try:
        answer: Answer = getattr(import_module(module), function)(data, **options)
        reply = _pack(answer.facts, *answer.blobs)
    except MemoryError:
        reply = _pack({"refused": "MemoryError"})
    except LevelwindError as refusal:
        why = (
            [getattr(refusal, part) for part in ("what", "was", "allowed")]
            if isinstance(refusal, InputError)
            else refusal.args
        )
        reply = _pack({"refused": type(refusal).__name__, "why": list(why)})
    sys.stdout.buffer.write(reply)


if __name__ == "__main__":
    _serve(*sys.argv[1:])
