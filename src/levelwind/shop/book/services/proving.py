"""Proving a backup, as a restore would look through it, or the shop as it stands. Only what was read is signed."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import connection

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.asked import Asked, book_in_a_file, book_on_a_server
from levelwind.shop.book.services.files import BOOK, DUMP, LIST, MEDIA, files_in, list_read, newest, sha256_of
from levelwind.shop.book.services.postgresql import restored_beside
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
    list_prove(folder, without)
    if (folder / BOOK).exists():
        with book_in_a_file(folder / BOOK, f"the backup {folder}", unchanging=True) as book:
            return content_prove(book, folder, without)
    with _dump_restored(folder) as book:
        return content_prove(book, folder, without)


def list_prove(folder: Path, without: Collection[str]) -> None:
    """Every file of a backup's list is as it was written, and there is no other."""
    listed = list_read(folder)
    for name, sha256 in listed["files"].items():
        if name in without:
            continue
        path = folder / name
        if not path.is_file():
            raise LevelwindError(f"The backup {folder} has lost {name}.")
        if sha256_of(path) != sha256:
            raise LevelwindError(f"The backup {folder} has a damaged file: {name}.")
    for path in files_in(folder):
        name = path.relative_to(folder).as_posix()
        if name != LIST and name not in listed["files"]:
            raise LevelwindError(f"The backup {folder} holds a file that its list does not name: {name}.")


def content_prove(book: Asked, folder: Path, without: Collection[str]) -> BackupProof:
    """The book of a backup, and the files it names."""
    whose, files = f"the backup {folder}", list(files_in(folder))
    jobs = book_prove(book, whose)
    files_prove(book, whose, folder / MEDIA, {name.removeprefix(f"{MEDIA}/") for name in without})
    made_at = list_read(folder)["made_at"]
    return BackupProof(folder, made_at, jobs, len(files), sum(path.stat().st_size for path in files))


@contextmanager
def _dump_restored(folder: Path) -> Iterator[Asked]:
    if connection.vendor != "postgresql":
        raise LevelwindError(
            f"The backup {folder} is of a book in PostgreSQL: set LEVELWIND_DATABASE to a server to try it on."
        )
    with restored_beside(folder / DUMP) as database, book_on_a_server(database, f"the backup {folder}") as book:
        yield book


def shop_prove() -> ShopProof:
    """Look through the shop as it stands. Raises LevelwindError that names the first thing wrong."""
    with _shop_s_book() as book:
        jobs = book_prove(book, "the shop")
        named = files_prove(book, "the shop", Path(settings.MEDIA_ROOT))
    return ShopProof(jobs, len(named), sum(bool(sha256) for sha256 in named.values()))


@contextmanager
def _shop_s_book() -> Iterator[Asked]:
    if connection.vendor == "postgresql":
        with book_on_a_server(str(connection.settings_dict["NAME"]), "the shop") as book:
            yield book
        return
    path: Path = settings.DATA / BOOK
    if not path.is_file():
        raise InputError("the shop's folder", settings.DATA, "a folder with a book in it: levelwind open begins one")
    with book_in_a_file(path, "the shop") as book:
        yield book
