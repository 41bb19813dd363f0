"""Recordings and photos read in the test's own process, for tests of what they say.

The process that keeps a reader within its limits costs more than most readers; it has its own tests, and one reading of
each kind goes through it (``tests/recordings``, ``tests/cli``, ``tests/browser``).

A reader's answer follows from the file and from what is asked (its dice are seeded by the file), so the same recording
is read once in a process: most tests of a page need a reading, few need another one.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from threading import Event
from typing import Any
from unittest.mock import patch

from levelwind.recordings.limited import Progress, Stopped
from levelwind.recordings.limited_messages import Answer, pack, unpack


@contextmanager
def reading_here() -> Iterator[None]:
    with (
        patch("levelwind.recordings.spin_file.run_limited", run_here),
        patch("levelwind.recordings.pull_file.run_limited", run_here),
        patch("levelwind.recordings.photos.run_limited", run_here),
        patch("levelwind.recordings.lists.run_limited", run_here),
        patch("levelwind.recordings.sheet_photo.run_limited", run_here),
    ):
        yield


def run_here(
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
    """As ``run_limited`` without its limits: what goes in and comes out passes through the same wire."""
    heed(stop)
    known = _asked(function, data, options, told=progress is not None)
    if known not in _ANSWERS:
        _ANSWERS[known] = _read(function, data, options, progress, stop)
    else:
        for part, doing in _ANSWERS[known][1]:
            _tell(progress, stop, part, doing)
    return unpack(*_ANSWERS[known][0])


Told = list[tuple[float, str]]
_ANSWERS: dict[tuple[Callable[..., Answer], str], tuple[tuple[bytes, bytes], Told]] = {}
"""By reader and what it was asked: what came back over the wire, and how far it told to be on the way."""


def _asked(
    function: Callable[..., Answer], data: bytes | Path, options: dict[str, Any], told: bool
) -> tuple[Callable[..., Answer], str]:
    if isinstance(data, bytes):
        recording = data
    else:  # what is not there is refused by its reader, in the reader's words
        recording = (data.read_bytes() if data.is_file() else b"") + data.suffix.encode()
    return function, sha256(pack({**options, "told": told}, recording)).hexdigest()


def _read(
    function: Callable[..., Answer],
    data: bytes | Path,
    options: dict[str, Any],
    progress: Progress | None,
    stop: Event | None,
) -> tuple[tuple[bytes, bytes], Told]:
    asked, told = unpack(*_packed(Answer(options))).facts, Told()

    def tell(part: float, doing: str) -> None:
        told.append((part, doing))
        _tell(progress, stop, part, doing)

    if progress is not None:
        asked["tell"] = tell
    return _packed(function(data, **asked)), told


def _tell(progress: Progress | None, stop: Event | None, part: float, doing: str) -> None:
    assert progress is not None
    progress(part, doing)
    heed(stop)


def heed(stop: Event | None) -> None:
    if stop is not None and stop.is_set():
        raise Stopped("stopped by hand")


def _packed(answer: Answer) -> tuple[bytes, bytes]:
    head, _, rest = pack(answer.facts, *answer.blobs).partition(b"\n")
    return head, rest
