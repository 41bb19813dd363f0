"""What holds a limited process within its bounds, and what ends it.

Its caller looks at it ten times a second, on every system. Where the system itself can bound a process, it does so
besides: those limits are exact, and hold while the caller is busy. psutil is imported where it is used, because the
limited process itself can do without it and starts the sooner.
"""

import os
import signal
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from levelwind.recordings.limited_start import Reader

TOO_LONG, TOO_LARGE, STANDS_STILL = "too long", "too large", "stands still"
STILL_S, STILL_PART = 120.0, 0.01
"""A reader that in so many seconds of the clock used less than this part of a processor waits for what does not come.
Our choice: on a machine too busy to give it a hundredth, nothing else would be done either."""

LIBRARIES = 2**29
"""Bytes of address space for libraries that are imported on the way: OpenCV and scipy map 350 MB, and touch a fifth."""

LONGEST_LOOK_S = 1.0
"""What lies between two looks counts as so much at the most: a caller that was busy, or a machine that slept, is not
the reader's fault."""


def keep_within(seconds: int, megabytes: int) -> None:
    """The system's own limits on the process that calls this: none on Windows, on a Mac none on memory.

    Of memory it may write to ``megabytes`` beyond what it has, which is Python and what was imported.
    """
    try:
        import resource
    except ImportError:
        return
    (mapped, data), room = _has(), megabytes * 2**20
    for which, soft, hard in (
        (resource.RLIMIT_DATA, data + room, data + room),
        (resource.RLIMIT_AS, mapped + room + LIBRARIES, mapped + room + LIBRARIES),
        (resource.RLIMIT_CPU, seconds, seconds + 1),
        (resource.RLIMIT_CORE, 0, 0),
    ):
        with suppress(ValueError, OSError):  # a system that knows the limit by name and does not take it
            resource.setrlimit(which, (soft, hard))


def _has() -> tuple[int, int]:
    """Bytes of address space that this process has, and how many of them are its own to write to; 0 where the system
    does not say."""
    try:
        words = Path("/proc/self/statm").read_text().split()
    except OSError:
        return 0, 0
    page = os.sysconf("SC_PAGE_SIZE")
    return int(words[0]) * page, int(words[5]) * page


class Watch:
    """Looks at what a process that was just started uses of the machine; one that was quick may have ended by now."""

    def __init__(self, pid: int, *, seconds: float, megabytes: int) -> None:
        import psutil

        self._process, self._gone = None, psutil.Error
        with suppress(psutil.NoSuchProcess):
            self._process = psutil.Process(pid)
        self._seconds, self._bytes = seconds, megabytes * 2**20
        self._looked_s, self._still_s, self._used_s = monotonic(), 0.0, 0.0

    def passed(self) -> str | None:
        """Which bound is passed, if one is; of a process that has ended nothing is known any more."""
        if self._process is None:
            return None
        with suppress(self._gone):
            if self._process.memory_info().rss > self._bytes and self._own() > self._bytes:
                return TOO_LARGE
            times = self._process.cpu_times()
            used = times.user + times.system
            if used > self._seconds:
                return TOO_LONG
            if self._stands_still(used):
                return STANDS_STILL
        return None

    def _own(self) -> int:
        """Bytes that nobody else has: what a forked process shares with the one it came from costs nothing."""
        return int(self._process.memory_full_info().uss) if self._process else 0

    def _stands_still(self, used_s: float) -> bool:
        now = monotonic()
        self._still_s += min(now - self._looked_s, LONGEST_LOOK_S)
        self._looked_s = now
        if used_s - self._used_s >= STILL_PART * STILL_S:
            self._still_s, self._used_s = 0.0, used_s
        return self._still_s > STILL_S


def ended_by_its_limit(status: int) -> bool:
    """Whether the system ended it for its processor time."""
    return hasattr(signal, "SIGXCPU") and status == -signal.SIGXCPU


def end(process: "Reader") -> None:
    """With whatever it started itself; and it is waited for, so that nothing of it stays."""
    if hasattr(os, "killpg"):  # it leads a group of its own
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        _end_children(process.pid)
        process.kill()
    process.wait()


def end_myself() -> None:
    """The process that calls this, with whatever it started."""
    if hasattr(os, "killpg"):
        os.killpg(0, signal.SIGKILL)
    _end_children(os.getpid())
    os._exit(1)


def _end_children(pid: int) -> None:
    import psutil

    with suppress(psutil.NoSuchProcess):
        for child in psutil.Process(pid).children(recursive=True):
            with suppress(psutil.NoSuchProcess):
                child.kill()
