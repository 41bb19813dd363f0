"""What is kept of a list in one field of the book: JSON, made small."""

import json
import zlib
from collections.abc import Iterable
from typing import Any


def packed(value: Any) -> bytes:
    """
    >>> unpacked(packed([["a", 1]])), unpacked(b"")
    ([['a', 1]], [])
    """
    return zlib.compress(json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode())


def unpacked(kept: bytes | memoryview) -> Any:
    """Nothing kept is an empty list."""
    return json.loads(zlib.decompress(kept)) if kept else []


def spans(keys: Iterable[int]) -> list[list[int]]:
    """Keys as first and last of each run, for rows written together have keys that follow one another.

    >>> spans([3, 1, 2, 7])
    [[1, 3], [7, 7]]
    """
    runs: list[list[int]] = []
    for key in sorted(keys):
        if runs and key == runs[-1][1] + 1:
            runs[-1][1] = key
        else:
            runs.append([key, key])
    return runs
