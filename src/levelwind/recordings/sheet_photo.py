"""A picture of the measuring sheet in, its pieces' outlines out; read in a process of its own, by OpenCV."""

from dataclasses import dataclass
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path

from levelwind.core.codec import from_stored
from levelwind.core.errors import LevelwindError
from levelwind.core.fits.seen import SheetSeen
from levelwind.recordings.limited import Answer, run_limited
from levelwind.recordings.photos import sorted_out

SECONDS, MEGABYTES = 60, 512

HOW_TO_GET_IT = (
    "Pictures of the measuring sheet are read by OpenCV, which is large and not installed: run "
    "“pip install 'levelwind[sheet]'” where Levelwind is installed, and start it again."
)


@dataclass(frozen=True, slots=True)
class SheetRead:
    """What a picture shows, and the picture straightened: a JPEG in which a millimetre is the same everywhere."""

    seen: SheetSeen
    jpeg: bytes
    sha256: str
    """Of what came in."""


def can_read() -> bool:
    """Whether OpenCV is installed."""
    return find_spec("cv2") is not None


def read_sheet(source: bytes | Path, *, name: str = "") -> SheetRead:
    """Find the sheet and the pieces on it.

    Raises InputError in one sentence for what is no picture, shows no sheet, or shows it cut off, blurred, bent or
    from too far; LevelwindError where OpenCV is not installed.
    """
    if not can_read():
        raise LevelwindError(HOW_TO_GET_IT)
    name = name or (source.name if isinstance(source, Path) else "the picture")
    data, kind = sorted_out(source, name)
    answer = run_limited(_decode, data, name=name, seconds=SECONDS, megabytes=MEGABYTES, title=name, kind=kind)
    seen = from_stored(SheetSeen, answer.facts, f"what {name} was found to show")
    return SheetRead(seen, answer.blobs[0], sha256(data).hexdigest())


def _decode(data: bytes, *, title: str, kind: str) -> Answer:
    """Imports OpenCV in the limited process alone."""
    from levelwind.recordings.sheet_child import decode_sheet

    return decode_sheet(data, title=title, kind=kind)
