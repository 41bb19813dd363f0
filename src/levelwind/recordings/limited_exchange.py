"""Feeds a process and listens to it at once, so that neither side ever waits for the other to empty a pipe."""

import json
import os
import selectors
import subprocess
from collections.abc import Callable
from contextlib import suppress
from typing import IO

from levelwind.recordings.limited_messages import Answer, GarbledError, unpack

CHUNK = 2**18
LONGEST_LINE = 2**25
KEPT_OF_ERRORS = 4000


class Exchange:
    """What a process was asked, and what has come back of it so far: lines of progress, the answer, what it muttered.

    ``most_bytes`` is the most that may come back: a process that was taken over must not fill the caller's memory.
    """

    def __init__(
        self,
        process: "subprocess.Popen[bytes]",
        ask: bytes,
        most_bytes: int,
        progress: Callable[[float, str], None] | None,
    ) -> None:
        assert process.stdin and process.stdout and process.stderr
        self.muttered = b""
        self._process, self._progress = process, progress
        self._to_send, self._left = memoryview(ask), most_bytes
        self._head, self._back = b"", bytearray()
        self._out = process.stdout
        self._pipes = selectors.DefaultSelector()
        for pipe, event, act in (
            (process.stdin, selectors.EVENT_WRITE, self._send),
            (process.stdout, selectors.EVENT_READ, self._hear),
            (process.stderr, selectors.EVENT_READ, self._overhear),
        ):
            os.set_blocking(pipe.fileno(), False)
            self._pipes.register(pipe, event, act)

    def over(self) -> bool:
        """The process has ended and all it said is read; what it left running may hold the pipe for stderr open."""
        return self._process.poll() is not None and self._out.closed

    def step(self, seconds: float) -> None:
        """Whatever can be sent and read now, waiting at most so long for it. Raises GarbledError for too much."""
        if self._out.closed:
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(seconds)
        for key, _ in self._pipes.select(0 if self._out.closed else seconds):
            key.data(key.fileobj)

    def answer(self) -> Answer:
        """Raises GarbledError where what came back is no answer."""
        return unpack(self._head, bytes(self._back))

    def close(self) -> None:
        for key in list(self._pipes.get_map().values()):
            self._close(key.fileobj)  # type: ignore[arg-type]
        self._pipes.close()

    def _close(self, pipe: IO[bytes]) -> None:
        self._pipes.unregister(pipe)
        with suppress(BrokenPipeError):
            pipe.close()

    def _send(self, pipe: IO[bytes]) -> None:
        try:
            self._to_send = self._to_send[os.write(pipe.fileno(), self._to_send[:CHUNK]) :]
        except BrokenPipeError:
            self._to_send = self._to_send[:0]
        if not self._to_send:
            self._close(pipe)

    def _overhear(self, pipe: IO[bytes]) -> None:
        heard = os.read(pipe.fileno(), CHUNK)
        self.muttered = (self.muttered + heard)[-KEPT_OF_ERRORS:]
        if not heard:
            self._close(pipe)

    def _hear(self, pipe: IO[bytes]) -> None:
        heard = os.read(pipe.fileno(), CHUNK)
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
        if not heard:
            self._close(pipe)

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
