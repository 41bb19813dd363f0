"""Feeds a process and listens to it at once, so that neither side ever waits for the other to empty a pipe.

Each pipe has a thread of its own: pipes that can be waited for together are not on every system.
"""

import json
import subprocess
from collections.abc import Callable
from contextlib import suppress
from queue import Empty, Queue
from threading import Event, Thread
from typing import IO

from levelwind.recordings.limited_messages import Answer, GarbledError, unpack
from levelwind.recordings.limited_start import Reader

CHUNK = 2**18
CHUNKS_WAITING = 16
"""So much may have been heard and not yet been looked at: a flood waits in its pipe."""
LONGEST_LINE = 2**25
KEPT_OF_ERRORS = 4000
LAST_WORDS_S = 1.0
"""So long a pipe is waited for after its process has ended: at once, but where a process that got away holds it."""


class Exchange:
    """What a process was asked, and what has come back of it so far: lines of progress, the answer, what it muttered.

    ``most_bytes`` is the most that may come back: a process that was taken over must not fill the caller's memory.
    """

    def __init__(
        self,
        process: Reader,
        ask: bytes,
        most_bytes: int,
        progress: Callable[[float, str], None] | None,
    ) -> None:
        assert process.stdin and process.stdout and process.stderr
        self._process, self._progress, self._left = process, progress, most_bytes
        self._head, self._back, self._muttered = b"", bytearray(), b""
        self._heard: Queue[bytes] = Queue(CHUNKS_WAITING)
        self._heard_all, self._closed = False, Event()
        self._threads = [
            Thread(target=self._feed, args=(process.stdin, ask), daemon=True),
            Thread(target=self._listen, args=(process.stdout,), daemon=True),
            Thread(target=self._overhear, args=(process.stderr,), daemon=True),
        ]
        for thread in self._threads:
            thread.start()

    def over(self) -> bool:
        """The process has ended and all it said is read; what it left running may hold the pipe for stderr open."""
        return self._process.poll() is not None and self._heard_all

    def step(self, seconds: float) -> None:
        """Whatever was heard, waiting at most so long for it. Raises GarbledError for too much."""
        if self._heard_all:
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(seconds)
            return
        with suppress(Empty):
            self._hear(self._heard.get(timeout=seconds))

    def answer(self) -> Answer:
        """Raises GarbledError where what came back is no answer."""
        return unpack(self._head, bytes(self._back))

    def muttered(self) -> bytes:
        """The last of what an ended process said beside the answer."""
        self._threads[-1].join(LAST_WORDS_S)
        return self._muttered

    def close(self) -> None:
        """Once the process has ended."""
        self._closed.set()
        with suppress(Empty):
            while True:
                self._heard.get_nowait()
        for thread in self._threads:
            thread.join(LAST_WORDS_S)

    def _feed(self, pipe: IO[bytes], ask: bytes) -> None:
        """It stays open when all is sent: its end tells the process that nobody waits any more."""
        with suppress(OSError), pipe:
            pipe.write(ask)
            pipe.flush()
            self._closed.wait()

    def _listen(self, pipe: IO[bytes]) -> None:
        with pipe:
            heard = b"?"
            while heard and not self._closed.is_set():
                heard = _some(pipe)
                self._heard.put(heard)

    def _overhear(self, pipe: IO[bytes]) -> None:
        with pipe:
            while heard := _some(pipe):
                self._muttered = (self._muttered + heard)[-KEPT_OF_ERRORS:]

    def _hear(self, heard: bytes) -> None:
        self._heard_all = not heard
        self._left -= len(heard)
        if self._left < 0:
            raise GarbledError("more came back than may")
        searched = len(self._back)
        self._back += heard
        while not self._head and (end := self._back.find(b"\n", searched)) >= 0:
            self._line(bytes(self._back[:end]))
            del self._back[: end + 1]
            searched = 0
        if not self._head and len(self._back) > LONGEST_LINE:
            raise GarbledError("a line without end came back")

    def _line(self, line: bytes) -> None:
        """One of progress, or the first of the answer."""
        try:
            said = dict(json.loads(line))
            progress = None if "lengths" in said else (float(said["part"]), str(said["doing"]))
        except (ValueError, KeyError, TypeError) as error:
            raise GarbledError(f"neither progress nor an answer: {line[:80]!r}") from error
        if progress is None:
            self._head = line
        elif self._progress is not None:
            self._progress(*progress)


def _some(pipe: IO[bytes]) -> bytes:
    """What is there, as soon as there is any; nothing at the end."""
    heard: bytes = pipe.read1(CHUNK)  # type: ignore[attr-defined]
    return heard
