"""Copying a running shop into a folder, and bringing a copy back.

A backup is a folder: the book as one SQLite file or as PostgreSQL's dump, the pictures and recordings beside it, and a
list of every file with its SHA-256. It is written under another name, flushed, and renamed when whole, so a half-made
one never looks like one.

A restore copies the backup beside the shop, proves that copy, and only then moves names about: what was there aside,
what was proved in its place. Cut off at any point it leaves the old shop, or a restore that the next start finishes.
On PostgreSQL the names are those of databases, which the server changes both at once.
"""

import json
import shutil
import sqlite3
from collections.abc import Collection
from contextlib import closing
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.utils import timezone

from levelwind import __version__
from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.asked import book_on_a_server
from levelwind.shop.book.services.files import (
    BOOK,
    DUMP,
    LIST,
    MEDIA,
    PREFIX,
    files_bring_back,
    files_copy,
    files_in,
    folders_flush,
    newest,
    sha256_of,
)
from levelwind.shop.book.services.postgresql import dump, put_in_place, refuse_while_open, restored_beside
from levelwind.shop.book.services.proving import backup_prove, content_prove, list_prove
from levelwind.shop.disk import flush, told_in_words, trouble_in_words

COPYING, PROVED, ASIDE = ".restore.unfinished", ".restore.proved", "before-restore-"
BEFORE_UPDATE = "before-update-"
KEPT_BEFORE_UPDATES = 3
"""Copies of the book as it was before this program changed its tables; our choice."""


def backup_make(*, into: Path) -> Path:
    """Copy the shop, running or not, into a new folder inside ``into``; gives that folder."""
    name = f"{PREFIX}{timezone.now():%Y%m%d-%H%M%S}"
    folder, unfinished = into / name, into / f".{name}.unfinished"
    if folder.exists() or unfinished.exists():
        raise InputError("backup folder", folder, "a name not yet taken: try again in a second")
    with told_in_words(settings.DATA):
        connection.ensure_connection()
    with told_in_words(into):
        unfinished.mkdir(parents=True)
    try:
        with told_in_words(into):
            _copy_shop(unfinished)
            unfinished.rename(folder)
            flush(into)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return folder


def _copy_shop(target: Path) -> None:
    # Pictures first and again after: one removed meanwhile is in the copy, one added meanwhile too.
    files_copy(Path(settings.MEDIA_ROOT), target / MEDIA)
    if connection.vendor == "postgresql":
        dump(target / DUMP)
        flush(target / DUMP)
    else:
        _copy_book(target / BOOK)
    files_copy(Path(settings.MEDIA_ROOT), target / MEDIA)
    listed = {
        "levelwind": __version__,
        "made_at": timezone.now().isoformat(timespec="seconds"),
        "files": {path.relative_to(target).as_posix(): sha256_of(path) for path in files_in(target)},
    }
    (target / LIST).write_text(json.dumps(listed, indent=1))
    flush(target / LIST)
    folders_flush(target)


def _copy_book(target: Path) -> None:
    """SQLite's own online backup: a consistent copy while others write."""
    connection.ensure_connection()
    with closing(sqlite3.connect(target)) as copy:
        connection.connection.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
    flush(target)


def backup_restore(*, folder: Path, without: Collection[str] = ()) -> str:
    """Put a proved backup in the place of the shop's book; the book that was there is kept aside. Gives where.

    ``without`` are files to leave out, as ``backup_damaged`` gives them: the book names them still.
    """
    source = newest(folder)
    if (source / DUMP).exists() != (connection.vendor == "postgresql"):
        made, here = ("PostgreSQL", "one file") if (source / DUMP).exists() else ("one file", "PostgreSQL")
        raise LevelwindError(f"The backup {source} is of a book in {made}, and this shop keeps its book in {here}.")
    if connection.vendor == "postgresql":
        return _restore_on_a_server(source, without)
    return str(_restore_in_a_file(source, without))


def _restore_on_a_server(source: Path, without: Collection[str]) -> str:
    """Files first: one that the book does not name harms nothing, one that it names must be there."""
    refuse_while_open()
    list_prove(source, without)
    with restored_beside(source / DUMP) as database:
        with book_on_a_server(database, f"the backup {source}") as book:
            content_prove(book, source, without)
        with told_in_words(settings.SHARED):
            files_bring_back(source / MEDIA, Path(settings.MEDIA_ROOT), without={source / name for name in without})
        return f"the database {put_in_place(database)}"


def _restore_in_a_file(source: Path, without: Collection[str]) -> Path:
    data: Path = settings.DATA
    copying = data / COPYING
    shutil.rmtree(copying, ignore_errors=True)
    try:
        with told_in_words(data):
            copying.mkdir()
            files_copy(source, copying)
            for name in without:
                (copying / name).unlink(missing_ok=True)
            (copying / MEDIA).mkdir(exist_ok=True)
            folders_flush(copying)
        backup_prove(folder=copying, without=without)
        aside = data / f"{ASIDE}{timezone.now():%Y%m%d-%H%M%S}"
        if aside.exists():
            raise InputError("restore", "done twice in one second", "once: try again")
        with told_in_words(data):
            (copying / "aside").write_text(aside.name)
            flush(copying / "aside")
            copying.rename(data / PROVED)
            flush(data)
    finally:
        shutil.rmtree(copying, ignore_errors=True)
    restore_finish()
    return aside


def restore_finish() -> Path | None:
    """Move the names of a restore that is proved; one that was cut off half way goes on where it was.

    The book comes last: while it still waits, what lies in its place is the old one.
    """
    data: Path = settings.DATA
    proved = data / PROVED
    if not proved.is_dir():
        return None
    connection.close()
    aside = data / (proved / "aside").read_text()
    with told_in_words(data):
        aside.mkdir(exist_ok=True)
        if (proved / BOOK).exists():
            _move([BOOK, f"{BOOK}-wal", f"{BOOK}-shm"], data, aside)
            if (proved / MEDIA).exists():
                _move([MEDIA], data, aside)
                _move([MEDIA], proved, data)
            _move([BOOK], proved, data)
        shutil.rmtree(proved)
        flush(data)
    return aside


def _move(names: list[str], here: Path, there: Path) -> None:
    for name in names:
        if (here / name).exists():
            (here / name).rename(there / name)
    flush(here)
    flush(there)


def refuse_a_lost_book() -> None:
    """Raises LevelwindError where the book is gone or empty though there is a shop: a new one would hide the loss."""
    data: Path = settings.DATA
    if connection.vendor != "sqlite" or _has_tables(data / BOOK):
        return
    aside = sorted(path for path in data.glob(f"{ASIDE}*") if (path / BOOK).is_file())
    if aside:
        what = f"what was there before a restore lies in {aside[-1]}: move its book and media back, or restore again"
    elif any(files_in(data / MEDIA)):
        what = "its pictures and recordings are still there: bring the book back with levelwind restore"
    elif copies := sorted(data.glob(f"{BEFORE_UPDATE}*.sqlite3")):
        what = f"a copy of it is {copies[-1]}: copy that to {data / BOOK}, or restore a backup"
    else:
        return
    raise LevelwindError(f"The book in {data} is gone or empty, but {what}.")


def _has_tables(path: Path) -> bool:
    if not path.is_file() or not path.stat().st_size:
        return False
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as book:
            return bool(book.execute("SELECT count(*) FROM sqlite_master WHERE name = 'shop_job'").fetchone()[0])
    except sqlite3.DatabaseError as error:
        if disk := trouble_in_words(error):
            raise LevelwindError(f"{path}: {disk}.") from None
        raise LevelwindError(f"The book {path} cannot be read ({error}): restore a backup.") from None


def book_copy_before_update() -> Path | None:
    """A copy of the book beside it, before its tables are changed; of the earlier copies the newest are kept."""
    data: Path = settings.DATA
    if connection.vendor != "sqlite" or not _has_tables(data / BOOK):
        return None
    copy = data / f"{BEFORE_UPDATE}{timezone.now():%Y%m%d-%H%M%S}.sqlite3"
    half = copy.with_suffix(".unfinished")
    with told_in_words(data):
        try:
            _copy_book(half)
            half.rename(copy)
            flush(data)
        finally:
            half.unlink(missing_ok=True)
    for old in sorted(data.glob(f"{BEFORE_UPDATE}*.sqlite3"))[:-KEPT_BEFORE_UPDATES]:
        old.unlink()
    return copy
