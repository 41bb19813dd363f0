"""Recordings and photos read in the test's own process, for tests of what they say.

The process that keeps a reader within its limits costs more than most readers; it has its own tests, and one reading of
each kind goes through it (``tests/recordings``, ``tests/cli``, ``tests/browser``).
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
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
    asked = _through_the_wire(Answer(options)).facts

    def tell(part: float, doing: str) -> None:
        assert progress is not None
        progress(part, doing)
        heed(stop)

    heed(stop)
    if progress is not None:
        asked["tell"] = tell
    return _through_the_wire(function(data, **asked))


def heed(stop: Event | None) -> None:
    if stop is not None and stop.is_set():
        raise Stopped("stopped by hand")


def _through_the_wire(answer: Answer) -> Answer:
    head, _, rest = pack(answer.facts, *answer.blobs).partition(b"\n")
    return unpack(head, rest)
