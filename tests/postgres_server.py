"""A PostgreSQL of the tests' own, from Debian's package, in a folder that ends with it."""

import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

INSTALLED = Path("/usr/lib/postgresql")
ACCOUNT = "postgres"
"""Debian's package makes this account; the server refuses to run as root."""
NOTHING_TO_LOSE = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c unix_socket_directories=''"


class NoServerError(Exception):
    """Why there is no server to be had here."""


@contextmanager
def postgres_server() -> Iterator[str]:
    """The address of a server that answers on this machine alone; raises NoServerError where there can be none."""
    programs = _programs()
    folder = Path(tempfile.mkdtemp(prefix="levelwind-postgres-"))
    book, port = folder / "book", _free_port()
    made_so = ["-U", "levelwind", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N"]
    options = f"-c listen_addresses=127.0.0.1 -c port={port} {NOTHING_TO_LOSE}"
    try:
        if os.getuid() == 0:
            shutil.chown(folder, ACCOUNT, ACCOUNT)
        _run([programs / "initdb", "-D", book, *made_so])
        _run([programs / "pg_ctl", "-D", book, "-l", folder / "log", "-w", "-o", options, "start"])
        try:
            yield f"postgresql://levelwind@127.0.0.1:{port}/postgres"
        finally:
            _run([programs / "pg_ctl", "-D", book, "-m", "immediate", "stop"])
    finally:
        shutil.rmtree(folder)


def _programs() -> Path:
    versions = sorted(INSTALLED.glob("*/bin"), key=lambda folder: int(folder.parent.name))
    if not versions:
        raise NoServerError("PostgreSQL is not installed here")
    if os.getuid() == 0 and not shutil.which("setpriv"):
        raise NoServerError("PostgreSQL does not run as root, and setpriv is not here to leave root with")
    return versions[-1]


def _run(command: list[object]) -> None:
    as_whom = [f"--reuid={ACCOUNT}", f"--regid={ACCOUNT}", "--init-groups"]
    words = (["setpriv", *as_whom] if os.getuid() == 0 else []) + [str(word) for word in command]
    # its output goes to a file: what pg_ctl starts would hold a pipe open
    with tempfile.TemporaryFile() as said:
        ended = subprocess.run(words, stdout=said, stderr=said, cwd="/", check=False)
        said.seek(0)
        if ended.returncode:
            raise RuntimeError(f"{words}: {said.read().decode(errors='replace')}")


def _free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def main() -> int:
    """Run a command with a server of its own: ``python -m tests.postgres_server pytest tests/shop``."""
    try:
        with postgres_server() as address:
            here = os.environ | {"LEVELWIND_DATABASE": address}
            return subprocess.run(sys.argv[1:], env=here, check=False).returncode
    except NoServerError as why:
        sys.stdout.write(f"not tried here: {why}\n")
        return 0


if __name__ == "__main__":
    sys.exit(main())
