"""The long-lived process that readers are forked from: what reading takes is imported before any file is seen.

It is handed the ends of pipes and the name of a function, never a recording: what reads one is a fork of it, which ends
with its answer and takes with it whatever the file did. So each reading begins from the same memory, in which nothing
from outside ever was. It runs on Linux alone; elsewhere each reader is a fresh process.
"""

import gc
import json
import os
import socket
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from select import select
from traceback import print_exc

from levelwind.recordings.limited_child import serve

READY = b"ready"
PIPES = 4
"""Standard input, output and error of a reader, and the pipe on which its number and its end are told."""
LONGEST_ASK = 65_536
HIGHEST_PIPE = 4096
"""Above every number that an open file has here."""


def main(modules: Sequence[str]) -> None:
    for module in modules:
        import_module(module)
    gc.collect()
    gc.freeze()  # so that no fork has to copy what the search for cycles would touch
    with socket.socket(fileno=0) as asked:
        asked.send(READY)
        _fork_as_asked(asked)


def _fork_as_asked(asked: socket.socket) -> None:
    """Until the caller has closed its end and the last reader has ended."""
    running: dict[int, tuple[int, int]] = {}
    listening = True
    while listening or running:
        for ready in select([asked.fileno()] * listening + list(running), [], [])[0]:
            if ready in running:
                _tell_end(ready, *running.pop(ready))
                continue
            words, pipes, *_ = socket.recv_fds(asked, LONGEST_ASK, PIPES)
            listening = bool(words)
            if listening:
                pid = os.fork() or _read(asked, json.loads(words), pipes)
                running[os.pidfd_open(pid)] = pid, pipes[-1]
                for pipe in pipes[:-1]:
                    os.close(pipe)


def _tell_end(handle: int, pid: int, told: int) -> None:
    _, status = os.waitpid(pid, 0)
    with suppress(BrokenPipeError):  # the caller is gone
        os.write(told, b"%d\n" % os.waitstatus_to_exitcode(status))
    os.close(told)
    os.close(handle)


def _read(asked: socket.socket, target: Sequence[str], pipes: Sequence[int]) -> int:
    """The life of a reader, which never returns. It leads a group of its own before its number is known to anybody,
    and holds neither the way to the server nor another reader's pipes."""
    status = 1
    try:
        os.setsid()
        os.write(pipes[-1], b"%d\n" % os.getpid())
        asked.detach()
        for number, pipe in enumerate(pipes[:-1]):
            os.dup2(pipe, number)
        os.closerange(PIPES - 1, HIGHEST_PIPE)
        serve(*target)
        status = 0
    except BaseException:
        print_exc()
    finally:
        os._exit(status)


if __name__ == "__main__":
    main(sys.argv[1:])
