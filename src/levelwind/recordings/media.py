"""Films and sounds from outside: what they are by their first bytes, and how they are opened, names not trusted."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from levelwind.core.errors import InputError

if TYPE_CHECKING:
    from av.audio.stream import AudioStream
    from av.container import InputContainer
    from av.video.stream import VideoStream

DEMUXERS = "mov,mp4,m4a,matroska,webm,wav,mp3,flac,ogg,aac"
"""All that may be opened: a playlist behind a film's name opens nothing."""
FILM_NAMES = (".mp4", ".mov", ".m4v", ".webm", ".mkv")
SOUND_NAMES = (".wav", ".m4a", ".mp3", ".ogg", ".oga", ".opus", ".flac", ".aac")
ALLOWED = "a film saved as mp4, mov, m4v or webm, or a sound saved as wav, m4a, mp3, ogg or flac"
HEAD = 64
_STARTS = (
    (b"fLaC", "flac"), (b"OggS", "ogg"), (b"ID3", "mp3"), (b"\x1aE\xdf\xa3", "webm"),
)  # fmt: skip


def check_readable(path: Path, title: str) -> None:
    """Raises InputError for a path that is no file or that this account may not read."""
    try:
        there = path.is_file()
        if there:
            path.open("rb").close()
    except OSError as why:
        raise InputError(title, f"not readable ({why.strerror})", "a file this account may read") from why
    if not there:
        raise InputError(title, "not there", "a file that exists")


def head_of(source: bytes | Path) -> bytes:
    if isinstance(source, bytes):
        return source[:HEAD]
    with source.open("rb") as file:
        return file.read(HEAD)


def kind_of(data: bytes) -> str | None:
    """The container by its first bytes: wav, flac, ogg, mp3, aac, mp4 or webm; None for all else, playlists included.

    >>> kind_of(b"RIFF\\x24\\x00\\x00\\x00WAVEfmt "), kind_of(b"\\x00\\x00\\x00\\x18ftypmp42"), kind_of(b"#EXTM3U")
    ('wav', 'mp4', None)
    """
    if data[:4] in (b"RIFF", b"RF64") and data[8:12] == b"WAVE":
        return "wav"
    if data[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"):
        return "mp4"
    if len(data) > 1 and data[0] == 0xFF:
        return "mp3" if data[1] & 0xE6 == 0xE2 else "aac" if data[1] & 0xF6 == 0xF0 else None
    return next((kind for start, kind in _STARTS if data.startswith(start)), None)


@contextmanager
def opened(source: bytes | Path, title: str) -> "Iterator[InputContainer]":
    """A container to decode from, by the bytes alone. Raises InputError for one that cannot be opened or read on.

    A file object and never a path is what the decoder is given: a path might name a protocol.
    """
    import av

    with io.BytesIO(source) if isinstance(source, bytes) else source.open("rb") as file:
        try:
            with av.open(file, "r", options={"format_whitelist": DEMUXERS}) as container:
                yield container
        except (av.FFmpegError, ValueError, IndexError) as error:
            if isinstance(error, InputError | MemoryError):
                raise
            raise InputError(title, "cut short or damaged", "the whole file, as it was saved: send it again") from error


def pictures_of(container: "InputContainer") -> "VideoStream | None":
    """The film in it, the largest where there are several; the picture on a sound recording's cover is none."""
    from av.stream import Disposition

    films = [stream for stream in container.streams.video if not stream.disposition & Disposition.attached_pic]
    return max(films, key=_pixels, default=None)


def _pixels(stream: "VideoStream") -> int:
    return stream.codec_context.width * stream.codec_context.height if stream.codec_context else 0


def check_codec(stream: "VideoStream | AudioStream", title: str) -> None:
    """Raises InputError for a film or sound written in a way that nothing here can read."""
    if stream.codec_context is None:
        raise InputError(title, "written in a coding that is not known here", ALLOWED)
