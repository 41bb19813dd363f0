"""A book in PostgreSQL copied by the server's own programs, proved in a database beside it, and brought back by name.

``pg_dump`` and ``pg_restore`` belong to PostgreSQL's client programs. The database that a copy is proved in is made and
dropped by the shop's own account, which must be allowed to make databases.
"""

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from django.db import connection
from django.utils import timezone

from levelwind.core.errors import LevelwindError

if TYPE_CHECKING:
    import psycopg

BESIDE = "_proving_"
"""In the name of a database that a copy is proved in."""
STAMP = "%Y%m%d_%H%M%S"
LEFT_BEHIND = timedelta(days=1)
"""Such a database older than this was left by a process that was killed. Our choice."""
LONGEST_NAME = 30
"""Letters of the shop's own name in that of a database beside it: with stamp and key they stay under its 63."""


def dump(target: Path) -> None:
    """Copy the book into one file as it stands at one moment, while others write."""
    _run("pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={target}", f"--dbname={_name()}")


@contextmanager
def restored_beside(copy: Path) -> Iterator[str]:
    """The name of a database that holds what a dump holds; dropped afterwards, unless it was given another name.

    Raises LevelwindError where the dump cannot be read or breaks a rule of its own tables.
    """
    import psycopg

    database = f"{_name()[:LONGEST_NAME]}{BESIDE}{timezone.now():{STAMP}}_{uuid4().hex[:4]}"
    _left_behind_drop()
    try:
        with connected(_name()) as server:
            server.execute(f'CREATE DATABASE "{database}" TEMPLATE template0 {_locale(server)}')
    except psycopg.errors.InsufficientPrivilege:
        who = connection.settings_dict["USER"]
        raise LevelwindError(
            f"A copy is proved by restoring it into a database beside the book, and the account {who} may make none. "
            f"PostgreSQL's administrator allows it: ALTER ROLE {who} CREATEDB."
        ) from None
    try:
        _run("pg_restore", "--exit-on-error", "--no-owner", "--no-privileges", f"--dbname={database}", str(copy))
        yield database
    finally:
        with connected(_name()) as server:
            server.execute(f'DROP DATABASE IF EXISTS "{database}" WITH (FORCE)')


def put_in_place(database: str) -> str:
    """Give a database the name of the shop's own, which is kept under another; both or neither. Gives that other name.

    Raises LevelwindError while any other program is in the shop's book.
    """
    import psycopg

    own, aside = _name(), f"{_name()[:LONGEST_NAME]}_before_restore_{timezone.now():{STAMP}}"
    connection.close()
    refuse_while_open()
    try:
        with connected("template1" if own == "postgres" else "postgres") as server, server.transaction():
            server.execute(f'ALTER DATABASE "{own}" RENAME TO "{aside}"')
            server.execute(f'ALTER DATABASE "{database}" RENAME TO "{own}"')
    except psycopg.errors.ObjectInUse:
        raise LevelwindError(
            f"Another program came into the book {own} meanwhile: close it and restore again."
        ) from None
    return aside


def refuse_while_open() -> None:
    """Raises LevelwindError, which names the machines, while anybody but this process has the shop's book open."""
    connection.close()
    with connected(_name()) as server:
        found = server.execute(
            "SELECT DISTINCT coalesce(nullif(application_name, ''), 'a program'), coalesce(host(client_addr), 'the "
            "server itself') FROM pg_stat_activity WHERE datname = current_database() AND backend_type = 'client "
            "backend' AND pid != pg_backend_pid() ORDER BY 1, 2"
        ).fetchall()
    if found:
        who = "; ".join(f"{program}, from {address}" for program, address in found)
        raise LevelwindError(f"The book {_name()} is open ({who}): close it there first.")


def connected(database: str) -> "psycopg.Connection[Any]":
    """A connection of its own to one of the server's databases; each statement stands at once.

    Raises LevelwindError where the server does not answer.
    """
    import psycopg

    known = connection.settings_dict
    who = {"user": "USER", "password": "PASSWORD", "host": "HOST", "port": "PORT"}
    words = {word: known[name] for word, name in who.items() if known[name]}
    try:
        return psycopg.connect(dbname=database, autocommit=True, **words)
    except psycopg.OperationalError as error:
        why = " ".join(str(error).split())[:200]
        raise LevelwindError(f"The database {database} does not answer ({why}).") from None


def _name() -> str:
    return str(connection.settings_dict["NAME"])


def _locale(server: "psycopg.Connection[Any]") -> str:
    """As the shop's own database has it, so that names go on being sorted as they were."""
    collate, kind, encoding = server.execute(
        "SELECT datcollate, datctype, pg_encoding_to_char(encoding) FROM pg_database WHERE datname = current_database()"
    ).fetchone() or ("C", "C", "UTF8")
    return f"ENCODING '{encoding}' LC_COLLATE '{collate}' LC_CTYPE '{kind}'"


def _left_behind_drop() -> None:
    with connected(_name()) as server:
        for (database,) in server.execute("SELECT datname FROM pg_database WHERE datname LIKE %s", [f"%{BESIDE}%"]):
            name, stamp = database.split(BESIDE)
            if name == _name()[:LONGEST_NAME] and timezone.now() - _made_at(stamp) > LEFT_BEHIND:
                server.execute(f'DROP DATABASE IF EXISTS "{database}"')


def _made_at(stamp: str) -> datetime:
    """Now for a name that is none of ours."""
    try:
        return datetime.strptime(f"{stamp.rpartition('_')[0]}+0000", f"{STAMP}%z")
    except ValueError:
        return timezone.now()


def _run(program: str, *words: str) -> None:
    """The password is handed over where the machine's other accounts do not see it."""
    if not shutil.which(program):
        raise LevelwindError(
            f"{program} is not on this machine: install PostgreSQL's client programs (Debian: apt install "
            "postgresql-client), as new as the server."
        )
    known = connection.settings_dict
    who = {"PGUSER": known["USER"], "PGPASSWORD": known["PASSWORD"], "PGHOST": known["HOST"], "PGPORT": known["PORT"]}
    own = os.environ | {name: str(text) for name, text in who.items() if text}
    ended = subprocess.run([program, "--no-password", *words], env=own, capture_output=True, text=True, check=False)
    if ended.returncode:
        said = " ".join(ended.stderr.split())[:400] or f"it ended with {ended.returncode}"
        raise LevelwindError(f"{program} refused: {said}.")
