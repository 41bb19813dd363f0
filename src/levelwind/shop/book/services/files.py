"""The files of a backup: copied, flushed, listed with their sums."""

import hashlib
import json
import shutil
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.disk import flush

BOOK, DUMP, MEDIA, LIST = "book.sqlite3", "book.dump", "media", "list.json"
"""What a backup holds: the book as one file, or as PostgreSQL's dump; its pictures and recordings; the list of all."""
PREFIX = "levelwind-backup-"


def files_in(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*")) if path.is_file())


def sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def files_copy(source: Path, target: Path) -> None:
    """Every file below one folder that is not below the other yet, each flushed."""
    target.mkdir(exist_ok=True)
    for path in files_in(source):
        copy = target / path.relative_to(source)
        if not copy.exists():
            copy.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, copy)
            flush(copy)


def files_bring_back(source: Path, target: Path, *, without: Collection[Path]) -> None:
    """Every file below one folder that is not below the other, or is another there; each takes its name when whole."""
    target.mkdir(exist_ok=True)
    for path in files_in(source):
        there = target / path.relative_to(source)
        if path in without or (there.exists() and sha256_of(there) == sha256_of(path)):
            continue
        half = there.with_name(f".{there.name}.unfinished")
        there.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, half)
        flush(half)
        half.replace(there)
    folders_flush(target)


def folders_flush(folder: Path) -> None:
    """The names in it and below it, so that no file is on the disk without its name."""
    for path in folder.rglob("*"):
        if path.is_dir():
            flush(path)
    flush(folder)


def backups_in(folder: Path) -> list[Path]:
    """Whole backups in a folder, the newest last."""
    return sorted(path for path in folder.glob(f"{PREFIX}*") if (path / LIST).is_file()) if folder.is_dir() else []


def newest(folder: Path) -> Path:
    """The backup itself, or the newest one in a folder of backups."""
    if (folder / LIST).is_file():
        return folder
    if inside := backups_in(folder):
        return inside[-1]
    raise InputError("folder", folder, "a backup made by levelwind backup, or a folder that holds one")


def list_read(folder: Path) -> dict[str, Any]:
    try:
        listed = json.loads((folder / LIST).read_text())
        names = list(listed["files"])
        whole = bool({BOOK, DUMP} & set(names)) and isinstance(listed["made_at"], str)
    except (ValueError, KeyError, TypeError, RecursionError):
        names, whole = [], False
    # A name that climbs out of the folder is nobody's backup of ours.
    if not whole or any(climbs(name) for name in names):
        raise LevelwindError(f"The list of files of the backup {folder} cannot be read.")
    return dict(listed)


def climbs(name: str) -> bool:
    """Whether a name leads out of the folder it is looked up in.

    >>> climbs("photos/ab/x.jpg"), climbs("../secret-key"), climbs("/etc/passwd")
    (False, True, True)
    """
    return Path(name).is_absolute() or ".." in Path(name).parts
