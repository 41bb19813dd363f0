"""Recordings on disk: each kept once by its SHA-256, moved into its place and never held whole in memory."""

from hashlib import sha256
from pathlib import Path

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage

from levelwind.core.errors import InputError
from levelwind.core.writing import written
from levelwind.recordings import force_log, sound, spin_table, video
from levelwind.recordings.media import FILM_NAMES, HEAD, SOUND_NAMES, kind_of
from levelwind.shop.models import Reading
from levelwind.shop.models.looks import reading_path, still_path

LONGEST_NAME = 120


def recording_name(file: "File[bytes]") -> str:
    """The name it came with, from its end where it is too long: the end says what it is."""
    return Path(str(file.name or "recording")).name[-LONGEST_NAME:]


def recording_limit(*, kind: str, file: "File[bytes]") -> None:
    """Raises InputError, in one sentence, for a file too large to be one log, film, sound or table."""
    most, what = _most(kind, file)
    size = file.size or 0
    if size > most:
        raise InputError(
            recording_name(file), f"{written(size / 1e6, ',.0f')} MB", f"{what} of at most {most / 1e6:.0f} MB"
        )


def _most(kind: str, file: "File[bytes]") -> tuple[int, str]:
    if kind == "pull":
        return force_log.LARGEST_BYTES, "a force log"
    file.seek(0)
    container, suffix = kind_of(file.read(HEAD)), Path(recording_name(file)).suffix.lower()
    if container in ("mp4", "webm") or suffix in FILM_NAMES:
        return video.LARGEST_BYTES, "a film of one spin"
    if container or suffix in SOUND_NAMES:
        return sound.LARGEST_BYTES, "a sound recording of one spin"
    return spin_table.LARGEST_BYTES, "a table of one spin"


def recording_keep(*, reading: Reading, file: "File[bytes]") -> None:
    """Fill in the reading's file and its sum. What is kept already is shared; a half-written one is written again."""
    digest = sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    reading.sha256 = digest.hexdigest()
    reading.file.name = _kept(reading_path(reading, ""), file)


def still_keep(*, reading: Reading, jpeg: bytes) -> None:
    """Fill in the reading's still."""
    reading.still.name = _kept(still_path(reading, ""), ContentFile(jpeg))


def _kept(name: str, file: "File[bytes]") -> str:
    if default_storage.exists(name):
        if default_storage.size(name) == file.size:
            return name
        default_storage.delete(name)
    file.seek(0)
    return str(default_storage.save(name, file))
