"""A book as questions are put to it, in the SQL that both databases take: one in a file, or one in PostgreSQL."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Protocol

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.postgresql import connected
from levelwind.shop.disk import trouble_in_words

Row = tuple[Any, ...]


class Asked(Protocol):
    vendor: str

    def rows(self, question: str) -> list[Row]: ...

    def columns(self, table: str) -> set[str]:
        """Of a table; none where there is no such table."""

    def triggers(self) -> set[str]:
        """Those that are at work."""

    def is_readable(self) -> bool:
        """Whether all its pages are; every one is read for that."""

    def points_nowhere(self) -> bool:
        """Whether a row of it points to one that is not there."""

    def ever_given(self, table: str) -> int | None:
        """The highest key a table ever gave a row that stayed; None where the database does not keep it."""


class InAFile:
    vendor = "sqlite"

    def __init__(self, book: sqlite3.Connection) -> None:
        self._book = book

    def rows(self, question: str) -> list[Row]:
        return self._book.execute(question).fetchall()

    def columns(self, table: str) -> set[str]:
        return {row[1] for row in self._book.execute(f"PRAGMA table_info({table})")}

    def triggers(self) -> set[str]:
        return {name for (name,) in self.rows("SELECT name FROM sqlite_master WHERE type = 'trigger'")}

    def is_readable(self) -> bool:
        return bool(self.rows("PRAGMA integrity_check")[0][0] == "ok")

    def points_nowhere(self) -> bool:
        return bool(self.rows("PRAGMA foreign_key_check"))

    def ever_given(self, table: str) -> int | None:
        given = self.rows(f"SELECT seq FROM sqlite_sequence WHERE name = '{table}'")  # noqa: S608
        return int(given[0][0]) if given else None


class OnAServer:
    """A server gives no key back that a write took and then failed with: how many there were it cannot tell."""

    vendor = "postgresql"

    def __init__(self, server: Any) -> None:
        self._server = server

    def rows(self, question: str) -> list[Row]:
        return list(self._server.execute(question).fetchall())

    def columns(self, table: str) -> set[str]:
        where = "table_schema = current_schema() AND table_name"
        found = self.rows(f"SELECT column_name FROM information_schema.columns WHERE {where} = '{table}'")  # noqa: S608
        return {name for (name,) in found}

    def triggers(self) -> set[str]:
        return {name for (name,) in self.rows("SELECT tgname FROM pg_trigger WHERE tgenabled != 'D'")}

    def is_readable(self) -> bool:
        """A damaged page is refused by the server, in its own words."""
        for (table,) in self.rows("SELECT tablename FROM pg_tables WHERE schemaname = current_schema()"):
            self.rows(f'SELECT count(CAST(t.* AS text)) FROM "{table}" t')  # noqa: S608
        return True

    def points_nowhere(self) -> bool:
        """The server holds references itself, but for one that it was told not to look at."""
        return bool(self.rows("SELECT conname FROM pg_constraint WHERE NOT convalidated LIMIT 1"))

    def ever_given(self, table: str) -> int | None:
        return None


@contextmanager
def book_in_a_file(path: Path, whose: str, *, unchanging: bool = False) -> Iterator[Asked]:
    """``unchanging`` is one that nobody writes to, as in a backup. Raises LevelwindError for what is no book."""
    how = "mode=ro&immutable=1" if unchanging else "mode=ro"
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True)) as book:
            yield InAFile(book)
    except sqlite3.DatabaseError as error:
        raise LevelwindError(f"The book in {whose} cannot be read: {trouble_in_words(error) or error}.") from None


@contextmanager
def book_on_a_server(database: str, whose: str) -> Iterator[Asked]:
    """Raises LevelwindError for what the server cannot read."""
    import psycopg

    try:
        with connected(database) as server:
            yield OnAServer(server)
    except psycopg.Error as error:
        raise LevelwindError(f"The book in {whose} cannot be read: {' '.join(str(error).split())[:300]}.") from None
