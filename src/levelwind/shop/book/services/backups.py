"""Copying a running shop into a folder, proving the copy or the shop itself, and bringing a copy back.

A backup is a folder: the book as one SQLite file, the pictures and recordings beside it, and a list of every file with
its SHA-256. It is written under another name and renamed when whole, so a half-made backup never looks like one.
"""

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection
from django.utils import timezone

from levelwind import __version__
from levelwind.core.errors import InputError, LevelwindError

BOOK, MEDIA, LIST = "book.sqlite3", "media", "list.json"
PREFIX = "levelwind-backup-"
FILES_NAMED_IN = (
    ("shop_photo", "picture", "picture_sha256"),
    ("shop_photo", "thumbnail", ""),
    ("shop_patternpicture", "picture", "picture_sha256"),
    ("shop_patternpicture", "thumbnail", ""),
    ("shop_reading", "file", "sha256"),
    ("shop_reading", "still", ""),
)
"""Where the book names a file that must be there, and where its sum stands, if the book keeps one.

A book of an earlier version may not have the column yet."""


@dataclass(frozen=True, slots=True)
class BackupProof:
    """What a backup was found to hold, once it was restored aside and looked through."""

    folder: Path
    made_at: str
    jobs: int
    files: int
    size_bytes: int


@dataclass(frozen=True, slots=True)
class ShopProof:
    """What the shop as it stands was found to hold; ``compared`` of its files have their sum in the book."""

    jobs: int
    files: int
    compared: int


def backup_make(*, into: Path) -> Path:
    """Copy the shop, running or not, into a new folder inside ``into``; gives that folder."""
    _sqlite_only()
    name = f"{PREFIX}{timezone.now():%Y%m%d-%H%M%S}"
    folder, unfinished = into / name, into / f".{name}.unfinished"
    if folder.exists():
        raise InputError("backup folder", folder, "a name not yet taken: try again in a second")
    unfinished.mkdir(parents=True)
    # Pictures first and again after: one removed meanwhile is in the copy, one added meanwhile too.
    _copy_media(unfinished / MEDIA)
    _copy_book(unfinished / BOOK)
    _copy_media(unfinished / MEDIA)
    listed = {
        "levelwind": __version__,
        "made_at": timezone.now().isoformat(timespec="seconds"),
        "files": {path.relative_to(unfinished).as_posix(): _sha256(path) for path in _files(unfinished)},
    }
    (unfinished / LIST).write_text(json.dumps(listed, indent=1))
    unfinished.rename(folder)
    return folder


def backup_prove(*, folder: Path) -> BackupProof:
    """Look through a backup as if restoring it. Raises LevelwindError that names the first thing wrong."""
    folder = _newest(folder)
    listed = _list(folder)
    for name, sha256 in listed["files"].items():
        path = folder / name
        if not path.is_file():
            raise LevelwindError(f"The backup {folder} has lost {name}.")
        if _sha256(path) != sha256:
            raise LevelwindError(f"The backup {folder} has a damaged file: {name}.")
    with closing(sqlite3.connect(f"file:{folder / BOOK}?mode=ro&immutable=1", uri=True)) as book:
        jobs, _ = _prove_book(book, f"the backup {folder}", folder / MEDIA)
    files = list(_files(folder))
    return BackupProof(folder, listed["made_at"], jobs, len(files), sum(path.stat().st_size for path in files))


def shop_prove() -> ShopProof:
    """Look through the shop as it stands. Raises LevelwindError that names the first thing wrong."""
    _sqlite_only()
    path: Path = settings.DATA / BOOK
    if not path.is_file():
        raise InputError("the shop's folder", settings.DATA, "a folder with a book in it: levelwind open begins one")
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as book:
        jobs, named = _prove_book(book, "the shop", Path(settings.MEDIA_ROOT))
    kept = {name: sha256 for name, sha256 in named.items() if sha256}
    for name, sha256 in kept.items():
        if _sha256(Path(settings.MEDIA_ROOT) / name) != sha256:
            raise LevelwindError(f"The shop has a damaged file: {name}. A backup may have it whole.")
    return ShopProof(jobs, len(named), len(kept))


def backup_restore(*, folder: Path) -> Path:
    """Put a proved backup in the place of the shop's book; the book that was there is kept aside. Gives where."""
    _sqlite_only()
    folder = backup_prove(folder=folder).folder
    connection.close()
    data: Path = settings.DATA
    aside = data / f"before-restore-{timezone.now():%Y%m%d-%H%M%S}"
    aside.mkdir()
    for name in (BOOK, f"{BOOK}-wal", f"{BOOK}-shm", MEDIA):
        if (data / name).exists():
            (data / name).rename(aside / name)
    shutil.copy2(folder / BOOK, data / BOOK)
    if (folder / MEDIA).exists():
        shutil.copytree(folder / MEDIA, data / MEDIA)
    return aside


def _sqlite_only() -> None:
    if connection.vendor != "sqlite":
        raise LevelwindError("This shop keeps its book in PostgreSQL: keep it safe with PostgreSQL's own pg_dump.")


def _copy_book(target: Path) -> None:
    """SQLite's own online backup: a consistent copy while others write."""
    connection.ensure_connection()
    with closing(sqlite3.connect(target)) as copy:
        connection.connection.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")


def _copy_media(target: Path) -> None:
    media = Path(settings.MEDIA_ROOT)
    for source in _files(media) if media.exists() else ():
        copy = target / source.relative_to(media)
        if not copy.exists():
            copy.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, copy)


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*")) if path.is_file())


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _newest(folder: Path) -> Path:
    """The backup itself, or the newest one in a folder of backups."""
    if (folder / LIST).is_file():
        return folder
    inside = sorted(path for path in folder.glob(f"{PREFIX}*") if (path / LIST).is_file()) if folder.is_dir() else []
    if not inside:
        raise InputError("folder", folder, "a backup made by levelwind backup, or a folder that holds one")
    return inside[-1]


def _list(folder: Path) -> dict[str, Any]:
    try:
        listed = json.loads((folder / LIST).read_text())
        names = list(listed["files"])
        whole = BOOK in names and isinstance(listed["made_at"], str)
    except (ValueError, KeyError, TypeError):
        names, whole = [], False
    # A name that climbs out of the folder is nobody's backup of ours.
    if not whole or any(Path(name).is_absolute() or ".." in Path(name).parts for name in names):
        raise LevelwindError(f"The list of files of the backup {folder} cannot be read.")
    return dict(listed)


def _prove_book(book: sqlite3.Connection, whose: str, media: Path) -> tuple[int, dict[str, str]]:
    """Whole, with every reference and every file it names; gives the number of jobs, and the files with their sums."""
    try:
        if book.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
            raise LevelwindError(f"The book in {whose} is damaged.")
        if book.execute("PRAGMA foreign_key_check").fetchone():
            raise LevelwindError(f"The book in {whose} has rows that point to nothing.")
        named = _files_named(book)
        for name in named:
            if not (media / name).is_file():
                raise LevelwindError(f"The book in {whose} names a file that is not there: {name}.")
        return int(book.execute("SELECT count(*) FROM shop_job").fetchone()[0]), named
    except sqlite3.DatabaseError as error:
        raise LevelwindError(f"The book in {whose} cannot be read: {error}.") from None


def _files_named(book: sqlite3.Connection) -> dict[str, str]:
    """Every file the book names, with its sum; without one where the book keeps none."""
    named: dict[str, str] = {}
    for table, column, sum_column in FILES_NAMED_IN:
        there = {row[1] for row in book.execute(f"PRAGMA table_info({table})")}
        if column in there:
            kept = sum_column if sum_column in there else "''"
            named |= book.execute(f"SELECT {column}, {kept} FROM {table} WHERE {column} != ''").fetchall()  # noqa: S608
    return named
