"""How a limited process is started: fresh, or forked from a long-lived one that has imported everything already."""

import atexit
import json
import os
import socket
import subprocess
import sys
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from select import select
from threading import Lock, Thread
from typing import IO, Protocol

CHILD, SERVER = "levelwind.recordings.limited_child", "levelwind.recordings.limited_server"
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "MALLOC_ARENA_MAX": "1"}
"""For the small systems solved here a second thread costs several times what it saves, and its memory counts."""
IMPORTED = (
    "av",
    "openpyxl",
    "PIL.JpegImagePlugin",
    "pillow_heif",
    "levelwind.core.pull.figure",
    "levelwind.core.spin.bearing",
    "levelwind.core.spin.film",
    "levelwind.core.spin.sound",
    "levelwind.core.spin.table",
    "levelwind.recordings.force_log",
    "levelwind.recordings.lists",
    "levelwind.recordings.photos",
    "levelwind.recordings.pull_file",
    "levelwind.recordings.sound",
    "levelwind.recordings.spin_child",
    "levelwind.recordings.spin_table",
    "levelwind.recordings.video",
)
"""What readers import while they work: a server has done so before the first of them."""
CAN_FORK = hasattr(os, "pidfd_open") and hasattr(socket, "send_fds")
"""Linux alone: elsewhere libraries of the system do not bear a fork, or there is none."""
ANSWERS_S = 10.0
"""So long a server that said it was ready is waited for. Our choice: a fork takes some milliseconds."""
LOST = 255
"""Stands for the status of a reader whose server ended before it."""


class Reader(Protocol):
    """A process that reads: a ``Popen``, or as good as one."""

    pid: int
    stdin: IO[bytes] | None
    stdout: IO[bytes] | None
    stderr: IO[bytes] | None

    def poll(self) -> int | None: ...
    def wait(self, timeout: float | None = None) -> int: ...
    def kill(self) -> None: ...


def fresh(target: Sequence[str]) -> Reader:
    """A process of its own for ``target``: module, function, seconds, megabytes."""
    pipe = subprocess.PIPE
    return subprocess.Popen(
        [sys.executable, "-P", "-m", CHILD, *target],
        stdin=pipe,
        stdout=pipe,
        stderr=pipe,
        start_new_session=True,
        env=os.environ | ONE_THREAD,
    )


class Forked:
    """A reader that the server forked. The server alone can wait for it, and tells its end on a pipe."""

    def __init__(self, stdin: IO[bytes], stdout: IO[bytes], stderr: IO[bytes], told: IO[bytes]) -> None:
        """Raises OSError where the server does not answer."""
        self.stdin: IO[bytes] | None = stdin
        self.stdout: IO[bytes] | None = stdout
        self.stderr: IO[bytes] | None = stderr
        self._told, self._status = told, None if select([told], [], [], ANSWERS_S)[0] else LOST
        number = b"" if self._status else told.readline()
        if not number:
            raise OSError("the server of readers is gone")
        self.pid = int(number)

    def poll(self) -> int | None:
        with suppress(subprocess.TimeoutExpired):
            return self.wait(0)
        return None

    def wait(self, timeout: float | None = None) -> int:
        if self._status is None:
            if not select([self._told], [], [], timeout)[0]:
                raise subprocess.TimeoutExpired(SERVER, timeout or 0.0)
            self._status = int(self._told.readline() or LOST)
            self._told.close()
        return self._status

    def kill(self) -> None:
        with suppress(ProcessLookupError):
            os.kill(self.pid, 9)


class Server:
    """The long-lived process, as its caller holds it: it ends when the caller does."""

    def __init__(self) -> None:
        self._near, far = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        nowhere = subprocess.DEVNULL
        with far:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", SERVER, *IMPORTED],
                stdin=far.fileno(),
                stdout=nowhere,
                stderr=nowhere,
                start_new_session=True,
                env=os.environ | ONE_THREAD,
            )
        self._ready = False

    def ready(self, seconds: float = 0.0) -> bool:
        """Whether all is imported, waiting at most so long for it."""
        if not self._ready and select([self._near], [], [], seconds)[0]:
            self._ready = bool(self._near.recv(64))
        return self._ready

    def fork(self, target: Sequence[str]) -> Forked:
        """Raises OSError where the server is gone."""
        with ExitStack() as far:
            near: list[IO[bytes]] = []
            handed = []
            for mode in ("wb", "rb", "rb", "rb"):
                ends = os.pipe()
                ours, theirs = reversed(ends) if mode == "wb" else ends
                far.callback(os.close, theirs)
                handed.append(theirs)
                near.append(os.fdopen(ours, mode))
            try:
                socket.send_fds(self._near, [json.dumps(target).encode()], handed)
                far.close()
                return Forked(*near)
            except OSError:
                for pipe in near:
                    pipe.close()
                raise

    def close(self) -> None:
        """It ends once the readers that it forked have."""
        self._near.close()
        Thread(target=self._process.wait, daemon=True).start()


class Nursery:
    """Where the next reader comes from."""

    def __init__(self) -> None:
        self.kept = False
        """Whether more recordings are to come, so that a server is worth its start."""
        self._server: Server | None = None
        self._lock = Lock()

    def start(self, target: Sequence[str]) -> Reader:
        """Fresh until there is a server that is ready: nothing but time depends on which it is."""
        server = self._kept_server()
        if server is not None:
            try:
                if server.ready():
                    return server.fork(target)
            except OSError:
                self.renew()
        return fresh(target)

    def _kept_server(self) -> Server | None:
        with self._lock:
            if self.kept and CAN_FORK and self._server is None:
                self._server = Server()
            return self._server

    def renew(self) -> None:
        """A reading was brought down or went too far: nothing of it can be left, and yet the next begins anew."""
        with self._lock:
            if self._server is not None:
                self._server.close()
            self._server = None


NURSERY = Nursery()
atexit.register(NURSERY.renew)
