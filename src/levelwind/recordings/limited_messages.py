"""What passes between a limited process and its caller: lines of JSON, then bytes; never pickled objects."""

import json
from dataclasses import dataclass, field
from typing import Any


class GarbledError(Exception):
    """What came through the pipe is not what this house sends."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a limited function may hand back: facts that JSON can carry, and any number of byte strings."""

    facts: dict[str, Any] = field(default_factory=dict)
    blobs: tuple[bytes, ...] = ()


def pack(facts: dict[str, Any], *blobs: bytes) -> bytes:
    """A first line of JSON with the lengths of what follows.

    >>> pack({"a": 1}, b"xy")
    b'{"facts": {"a": 1}, "lengths": [2]}\\nxy'
    """
    head = json.dumps({"facts": facts, "lengths": [len(blob) for blob in blobs]}).encode()
    return b"".join((head, b"\n", *blobs))


def length_after(head: bytes) -> int:
    """How many bytes follow a first line. Raises GarbledError for what is none.

    >>> length_after(b'{"facts": {}, "lengths": [2, 5]}')
    7
    """
    return sum(_head(head)[1])


def unpack(head: bytes, rest: bytes) -> Answer:
    """Back from the first line and what followed it. Raises GarbledError for what is neither."""
    facts, lengths = _head(head)
    if sum(lengths) != len(rest) or any(length < 0 for length in lengths):
        raise GarbledError(f"{len(rest)} bytes instead of {sum(lengths)}")
    blobs, at = [], 0
    for length in lengths:
        blobs.append(rest[at : at + length])
        at += length
    return Answer(facts, tuple(blobs))


def _head(line: bytes) -> tuple[dict[str, Any], list[int]]:
    try:
        read = json.loads(line)
        return dict(read["facts"]), [int(length) for length in read["lengths"]]
    except (ValueError, KeyError, TypeError) as error:
        raise GarbledError(f"no line of JSON with facts and lengths: {line[:80]!r}") from error
