"""Proving a backup, as a restore would look through it, or the shop as it stands. Only what was read is signed."""

import sqlite3
from collections.abc import Collection
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import connection

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.files import BOOK, LIST, MEDIA, files_in, list_read, newest, sha256_of
from levelwind.shop.book.services.soundness import book_prove, files_prove


@dataclass(frozen=True, slots=True)
class BackupProof:
    """What a backup was found to hold, once it was looked through."""

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


def backup_damaged(*, folder: Path) -> frozenset[str]:
    """Pictures and recordings of a backup that are lost or not as they were written, by their names in its list."""
    folder = newest(folder)
    media = {name: sha256 for name, sha256 in list_read(folder)["files"].items() if name.startswith(f"{MEDIA}/")}
    return frozenset(
        name for name, sha256 in media.items() if not (folder / name).is_file() or sha256_of(folder / name) != sha256
    )


def backup_prove(*, folder: Path, without: Collection[str] = ()) -> BackupProof:
    """Look through a backup as if restoring it, ``without`` some of its files.

    Raises LevelwindError that names the first thing wrong.
    """
    folder = newest(folder)
    listed = list_read(folder)
    for name, sha256 in listed["files"].items():
        if name in without:
            continue
        path = folder / name
        if not path.is_file():
            raise LevelwindError(f"The backup {folder} has lost {name}.")
        if sha256_of(path) != sha256:
            raise LevelwindError(f"The backup {folder} has a damaged file: {name}.")
    files = list(files_in(folder))
    for path in files:
        name = path.relative_to(folder).as_posix()
        if name != LIST and name not in listed["files"]:
            raise LevelwindError(f"The backup {folder} holds a file that its list does not name: {name}.")
    with closing(sqlite3.connect(f"{(folder / BOOK).absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as book:
        jobs = book_prove(book, f"the backup {folder}")
        files_prove(book, f"the backup {folder}", folder / MEDIA, {name.removeprefix(f"{MEDIA}/") for name in without})
    return BackupProof(folder, listed["made_at"], jobs, len(files), sum(path.stat().st_size for path in files))


def shop_prove() -> ShopProof:
    """Look through the shop as it stands. Raises LevelwindError that names the first thing wrong."""
    sqlite_only()
    path: Path = settings.DATA / BOOK
    if not path.is_file():
        raise InputError("the shop's folder", settings.DATA, "a folder with a book in it: levelwind open begins one")
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as book:
        jobs = book_prove(book, "the shop")
        named = files_prove(book, "the shop", Path(settings.MEDIA_ROOT))
    return ShopProof(jobs, len(named), sum(bool(sha256) for sha256 in named.values()))


def sqlite_only() -> None:
    if connection.vendor != "sqlite":
        raise LevelwindError("This shop keeps its book in PostgreSQL: keep it safe with PostgreSQL's own pg_dump.")
