"""What holds a limited process within its bounds, and what ends it.

Its caller looks at it ten times a second, on every system. Where the system itself can bound a process, it does so
besides: those limits are exact, and hold while the caller is busy. psutil is imported where it is used, because the
limited process itself can do without it and starts the sooner.
"""

import os
import signal
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import subprocess

TOO_LONG, TOO_LARGE = "too long", "too large"


def keep_within(seconds: int, megabytes: int) -> None:
    """The system's own limits on the process that calls this: none on Windows, on a Mac none on memory."""
    try:
        import resource
    except ImportError:
        return
    for which, soft, hard in (
        (resource.RLIMIT_AS, megabytes * 2**20, megabytes * 2**20),
        (resource.RLIMIT_CPU, seconds, seconds + 1),
        (resource.RLIMIT_CORE, 0, 0),
    ):
        with suppress(ValueError, OSError):  # a system that knows the limit by name and does not take it
            resource.setrlimit(which, (soft, hard))


class Watch:
    """Looks at what a process that was just started uses of the machine."""

    def __init__(self, pid: int, *, seconds: float, megabytes: int) -> None:
        import psutil

        self._process, self._gone = psutil.Process(pid), psutil.Error
        self._seconds, self._bytes = seconds, megabytes * 2**20

    def broken(self) -> str | None:
        """TOO_LONG or TOO_LARGE once a bound is passed; of a process that has ended nothing is known any more."""
        with suppress(self._gone):
            if self._process.memory_info().rss > self._bytes:
                return TOO_LARGE
            used = self._process.cpu_times()
            if used.user + used.system > self._seconds:
                return TOO_LONG
        return None


def ended_by_its_limit(status: int) -> bool:
    """Whether the system ended it for its processor time."""
    return hasattr(signal, "SIGXCPU") and status == -signal.SIGXCPU


def end(process: "subprocess.Popen[bytes]") -> None:
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
