"""A film, a sound or a table of a spool running down in, its spins out; read and analysed in a process of its own.

>>> rows = "".join(f"{t};{600 - 40 * t}\\n" for t in range(16))
>>> read = read_spin(b"time (s);speed (rpm)\\n" + rows.encode())
>>> read.source, read.result.spins[0].spin_time_s.value
('table', 15.0)
"""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import file_digest, sha256
from pathlib import Path
from threading import Event
from typing import Any

from levelwind.core.codec import as_stored, from_stored
from levelwind.core.errors import InputError
from levelwind.core.spin.model import SpinResult
from levelwind.core.spin.options import NOTHING_SAID, SpinOptions
from levelwind.recordings.limited import Progress, run_limited
from levelwind.recordings.media import ALLOWED, FILM_NAMES, SOUND_NAMES, check_readable, head_of, kind_of
from levelwind.recordings.sound import LARGEST_BYTES as LARGEST_SOUND
from levelwind.recordings.spin_child import analyse
from levelwind.recordings.spin_table import LARGEST_BYTES as LARGEST_TABLE
from levelwind.recordings.video import LARGEST_BYTES as LARGEST_FILM

SECONDS, MEGABYTES = 600, 512


@dataclass(frozen=True, slots=True)
class SpinRead:
    """What a recording of a spool running down says, and what a page needs to show where it says so."""

    result: SpinResult | None
    """None where the recording gives no number; ``refused`` says why."""
    refused: str
    analysis: Mapping[str, Any]
    """What a reading keeps, as the limited process encoded it: the result's fields, "source", and where there are such
    "disc" (where the spool was seen: x and y of its middle and its radius r, in parts of the picture's width (x, r)
    and height (y)) and "bearing" (a ``BearingHeard``)."""
    source: str
    """video, sound or table."""
    sha256: str
    still: bytes | None = None
    """A picture from the midst of a film: a JPEG, upright, at most 960 pixels long."""


def read_spin(
    source: bytes | Path,
    *,
    name: str = "",
    options: SpinOptions = NOTHING_SAID,
    of_sounds: SpinOptions = NOTHING_SAID,
    progress: Progress | None = None,
    stop: Event | None = None,
) -> SpinRead:
    """Read and analyse a recording; what it is, its content decides.

    ``options``: what a person says of it. ``of_sounds``: what the pattern book knows of this reel's, used where nothing
    else is said and it is a sound: a phone saves sounds in the containers of films, so that nobody can say before it
    is opened.

    Raises InputError in one sentence for what is no such recording, is damaged, too large or too long; Stopped after
    ``stop`` was set. A sound recording whose data cannot tell is no error: see ``SpinRead.refused``.
    """
    name = name or (source.name if isinstance(source, Path) else "the recording")
    kind = _checked(source, name)
    answer = run_limited(
        analyse,
        source,
        name=name,
        seconds=SECONDS,
        megabytes=MEGABYTES,
        progress=progress,
        stop=stop,
        title=name,
        kind=kind,
        said=as_stored(options),
        of_sounds=as_stored(of_sounds),
    )
    analysis, refused = dict(answer.facts["analysis"]), str(answer.facts["refused"])
    return SpinRead(
        result=None if refused else from_stored(SpinResult, analysis, f"what {name} was found to say"),
        refused=refused,
        analysis=analysis,
        source=str(analysis["source"]),
        sha256=_sum(source),
        still=answer.blobs[0] if answer.blobs else None,
    )


def _checked(source: bytes | Path, name: str) -> str | None:
    """The container, None for a table. Raises InputError for a file that need not be opened to be refused."""
    if isinstance(source, Path):
        check_readable(source, name)
    size = source.stat().st_size if isinstance(source, Path) else len(source)
    kind, suffix = kind_of(head_of(source)), Path(name).suffix.lower()
    named = suffix in FILM_NAMES + SOUND_NAMES
    most = LARGEST_FILM if kind in ("mp4", "webm") or suffix in FILM_NAMES else LARGEST_SOUND
    if kind is None and not named:
        most = LARGEST_TABLE
    if size == 0:
        raise InputError(name, "empty", ALLOWED if named else f"{ALLOWED}, or a table of speeds")
    if size > most:
        raise InputError(name, f"{size / 1e6:.0f} MB", f"at most {most / 1e6:.0f} MB")
    if kind is None and named:
        raise InputError(name, "neither film nor sound, whatever its name", ALLOWED)
    return kind


def _sum(source: bytes | Path) -> str:
    if isinstance(source, bytes):
        return sha256(source).hexdigest()
    with source.open("rb") as file:
        return file_digest(file, "sha256").hexdigest()
