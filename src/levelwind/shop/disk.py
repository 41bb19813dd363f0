"""On the disk before the book says so; and what a disk that refuses says, in a sentence.

A pulled plug must not leave a row with half a file, so every file the shop keeps is written beside, flushed, and moved
to its name; nothing half-written ever has a name that the book knows.
"""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.db import DatabaseError

from levelwind.core.errors import LevelwindError

FULL = "The disk is full. Make room on it and do it again"
READ_ONLY = "The disk takes no writing: it may be write-protected, or belong to another account"
_BY_NUMBER = {
    **dict.fromkeys((errno.ENOSPC, errno.EDQUOT, errno.EFBIG), FULL),
    **dict.fromkeys((errno.EROFS, errno.EACCES, errno.EPERM), READ_ONLY),
    errno.EIO: "The disk failed while it was read or written",
}
_BY_WORDS = {
    "disk is full": FULL,
    "disk I/O error": "The disk did not take what was written: it may be full or failing",
    "readonly database": READ_ONLY,
    "unable to open database": "The book cannot be opened: the disk may be full, or belong to another account",
    "database is locked": "Another program holds the book",
}
"""What SQLite says (sqlite.org, Result and Error Codes, from memory), and what it means."""


def trouble_in_words(error: BaseException | None) -> str | None:
    """What a disk that refused says to a person; None where it was something else.

    >>> trouble_in_words(OSError(errno.ENOSPC, "No space left on device"))
    'The disk is full. Make room on it and do it again'
    """
    while error is not None:
        if isinstance(error, OSError) and error.errno in _BY_NUMBER:
            return _BY_NUMBER[error.errno]
        if isinstance(error, DatabaseError) or type(error).__module__ == "sqlite3":
            for words, means in _BY_WORDS.items():
                if words in str(error):
                    return means
        error = error.__cause__ or error.__context__
    return None


@contextmanager
def told_in_words(where: Path) -> Iterator[None]:
    """Raises LevelwindError, with the folder, for a disk that refuses."""
    try:
        yield
    except LevelwindError:
        raise
    except Exception as error:
        words = trouble_in_words(error)
        if words is None and isinstance(error, OSError):
            words = f"The disk refused ({error.strerror or error})"
        if words is None:
            raise
        raise LevelwindError(f"{where}: {words}.") from error


WINDOWS = os.name == "nt"


def flush(path: Path) -> None:
    """The file or folder is on the disk and not on its way there.

    Windows flushes a file that may be written, and no folder: its file system keeps names in a journal of its own.
    """
    if WINDOWS and path.is_dir():
        return
    handle = os.open(path, os.O_RDWR if WINDOWS else os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def flush_with_folders(path: Path, up_to: Path) -> None:
    """A file, and the names that lead to it from ``up_to``: a folder just made is a name too."""
    flush(path)
    for folder in path.parents:
        flush(folder)
        if folder == up_to:
            break


class FlushedStorage(FileSystemStorage):
    """Photos and recordings: whole and on the disk, or not there."""

    def _save(self, name: str, content: "File[bytes]") -> str:
        if not hasattr(content, "temporary_file_path"):
            with TemporaryUploadedFile(name, "", content.size, None) as beside:
                for chunk in content.chunks():
                    beside.write(chunk)
                beside.flush()
                return self._save(name, beside)
        flush(Path(content.temporary_file_path()))
        saved: str = super()._save(name, content)  # type: ignore[misc]
        flush_with_folders(Path(self.path(saved)), Path(self.location))
        return saved
