"""A film, a sound or a table of a spool running down in, its spins out; read and analysed in a process of its own.

>>> rows = "".join(f"{t};{600 - 40 * t}\\n" for t in range(16))
>>> read = read_spin(b"time (s);speed (rpm)\\n" + rows.encode())
>>> read.source, read.result.spins[0].spin_time_s.value
('table', 15.0)
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from hashlib import file_digest, sha256
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Any

from levelwind.core.codec import from_stored
from levelwind.core.errors import InputError
from levelwind.core.spin.model import SpinResult
from levelwind.recordings.limits import Progress, run_limited
from levelwind.recordings.media import ALLOWED, FILM_NAMES, SOUND_NAMES, check_readable, head_of, kind_of
from levelwind.recordings.sound import LARGEST_BYTES as LARGEST_SOUND
from levelwind.recordings.spin_far import analyse
from levelwind.recordings.spin_table import LARGEST_BYTES as LARGEST_TABLE
from levelwind.recordings.video import LARGEST_BYTES as LARGEST_FILM

if TYPE_CHECKING:
    from levelwind.core.spin.bearing import Bearing

MOST_MARKS, MOST_SLOWED = 60, 100.0
SECONDS, MEGABYTES = 600, 4000


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
    marks: int | None = None,
    ticks: int | None = None,
    slowed: float | None = None,
    between_s: tuple[float, float] | None = None,
    mark_at: tuple[float, float] | None = None,
    bearing: "Bearing | None" = None,
    progress: Progress | None = None,
    stop: Event | None = None,
) -> SpinRead:
    """Read and analyse a recording; what it is, its content decides.

    ``marks``: how many marks or ticks make a turn. ``ticks``: how many, should it be a sound and ``marks`` not be told:
    a phone saves sounds in the containers of films, so that nobody can say before it is opened. ``slowed``: how many
    times slower than life a film plays; None: as the file says, else once. ``between_s``: only this part counts, in
    the seconds of the result, which stay those of the recording (of life, where it was slowed). ``mark_at``: a point
    on the spool, across and down the upright picture in parts of its width and height. ``bearing``: listen for this
    one in a sound.

    Raises InputError in one sentence for what is no such recording, is damaged, too large or too long, and for a value
    that cannot be; Stopped after ``stop`` was set. A sound recording whose data cannot tell is no error: see
    ``SpinRead.refused``.
    """
    name = name or (source.name if isinstance(source, Path) else "the recording")
    kind = _checked(source, name)
    for what, count in (("marks a turn", marks), ("ticks a turn", ticks)):
        if count is not None and not 1 <= count <= MOST_MARKS:
            raise InputError(what, count, f"1 to {MOST_MARKS}")
    if slowed is not None and not 1 <= slowed <= MOST_SLOWED:
        raise InputError("times slower than life", slowed, f"1 to {MOST_SLOWED:g}")
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
        marks=marks,
        ticks=ticks,
        slowed=slowed,
        between_s=between_s,
        mark_at=mark_at,
        bearing=asdict(bearing) if bearing else None,
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
