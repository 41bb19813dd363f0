"""A phone's film in, small grey frames with their own times out, decoded in a limited process."""

import io
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.recordings.limits import Answer, run_limited

if TYPE_CHECKING:
    from av import VideoFrame

    from levelwind.core.spin.model import SpinResult

LARGEST_BYTES = 600_000_000
LARGEST_PIXELS = 10_000_000
"""Of one frame: 4096 by 2304 and a little more."""
LONGEST_S = 240.0
MOST_FRAMES = 16_000
LONG_SIDE = 160
FEWEST_FRAMES = 10
RETIMED = 1.5
"""Taken this many times faster than it plays, a film is slow motion."""
ALLOWED = "a film saved as mp4, mov, m4v or webm"
DEMUXERS = "mov,mp4,m4a,matroska,webm"
SOUND_RUNS_ON_S = 0.4
"""A film's sound may end this much later than its last picture."""
CAPTURE_RATE = "com.android.capture.fps"

Progress = Callable[[float, str], None]


@dataclass(frozen=True, slots=True, eq=False)
class Film:
    """Luma of every frame, upright, its long side shrunk to about 160 pixels."""

    frames: NDArray[np.uint8]
    """Shape (n, height, width)."""
    t_s: NDArray[np.float64]
    """When each is shown, from 0, as the file says and not as its frame rate would have it."""
    rotation: int
    """Degrees by which the picture was turned, anticlockwise, to stand upright."""
    codec: str
    slowed: float | None
    """How many times slower than life it plays, where the file says so."""
    cautions: tuple[str, ...]
    sha256: str


def read_film(source: bytes | Path, *, name: str = "") -> Film:
    """Check and decode.

    Raises InputError in one sentence for what is no film, is damaged, has no picture, or is over 600 MB, four minutes,
    16,000 frames or 10 megapixels.
    """
    name = name or (source.name if isinstance(source, Path) else "the film")
    size = source.stat().st_size if isinstance(source, Path) else len(source)
    if size > LARGEST_BYTES:
        raise InputError(name, f"{size / 1e6:.0f} MB", f"a film of at most {LARGEST_BYTES / 1e6:.0f} MB")
    data = source.read_bytes() if isinstance(source, Path) else source
    if not data or not is_film(data):
        raise InputError(name, "no film, whatever its name" if data else "empty", ALLOWED)
    answer = run_limited(decode_film, data, name=name, seconds=180, megabytes=4000, title=name)
    facts, (pixels, times) = answer.facts, answer.blobs
    return Film(
        frames=np.frombuffer(pixels, np.uint8).reshape(facts["shape"]),
        t_s=np.frombuffer(times, np.float64),
        rotation=facts["rotation"],
        codec=facts["codec"],
        slowed=facts["slowed"],
        cautions=tuple(facts["cautions"]),
        sha256=sha256(data).hexdigest(),
    )


def film_spin(
    source: bytes | Path,
    *,
    marks: int | None = None,
    slowed: float | None = None,
    name: str = "",
    progress: Progress | None = None,
) -> "SpinResult":
    """A film's spin. ``slowed`` is how many times slower than life it plays; None: as the file says, else once."""
    from levelwind.core.spin.film import analyse_film

    tell = progress or (lambda part, what: None)
    tell(0.0, "reading the film")
    film = read_film(source, name=name)
    factor = slowed or film.slowed or 1.0
    rng = np.random.default_rng(1)
    found = analyse_film(
        film.frames,
        film.t_s / factor,
        marks=marks or 1,
        rng=rng,
        progress=lambda part, what: tell(0.3 + 0.7 * part, what),
    )
    return _with_notes(found, film, asked=slowed is None)


def _with_notes(found: "SpinResult", film: Film, *, asked: bool) -> "SpinResult":
    from dataclasses import replace

    from levelwind.core.spin.model import Question

    notes, questions = film.cautions, found.questions
    if film.slowed and asked:
        notes += (f"the file says it plays {film.slowed:g} times slower than life: times are set right by that",)
        words = "How many times slower than life does this film play?"
        questions += (Question("slowed", words, (film.slowed, 1.0)),)
    return replace(found, cautions=(*notes, *found.cautions), questions=questions)


def is_film(data: bytes) -> bool:
    """By its first bytes an mp4, mov, m4v or webm, whatever its name says; a playlist is none.

    >>> is_film(b"\\x00\\x00\\x00\\x18ftypmp42"), is_film(b"#EXTM3U\\nfilm.mp4")
    (True, False)
    """
    return data[:4] == b"\x1aE\xdf\xa3" or data[4:8] in (b"ftyp", b"moov", b"mdat", b"wide")


def decode_film(data: bytes, *, title: str) -> Answer:
    """The part that touches the codecs; runs in the limited process."""
    import av

    try:
        with av.open(io.BytesIO(data), "r", options={"format_whitelist": DEMUXERS}) as container:
            if not container.streams.video:
                raise InputError(title, "without any picture", ALLOWED)
            stream = container.streams.video[0]
            _check_head(container, stream, title)
            stream.thread_type = "AUTO"
            reel = _Shrunk(title)
            broken = False
            try:
                for frame in container.decode(stream):
                    reel.add(frame)
            except av.FFmpegError:
                broken = True
            codec, slowed = stream.codec_context.name, _slowed(container, stream, reel)
            broken = broken or _breaks_off(container, reel)
    except (av.FFmpegError, ValueError, IndexError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(title, "cut short or damaged", ALLOWED) from error
    if len(reel.frames) < FEWEST_FRAMES:
        raise InputError(title, "cut short, damaged, or a still picture", ALLOWED)
    frames, times = reel.upright()
    cautions = ["the film breaks off before its end: only what could be read was used"] if broken else []
    facts = {"shape": frames.shape, "rotation": reel.rotation, "codec": codec, "slowed": slowed, "cautions": cautions}
    return Answer(facts, (frames.tobytes(), times.tobytes()))


def _check_head(container: Any, stream: Any, title: str) -> None:
    seconds = container.duration / 1e6 if container.duration else 0.0
    if seconds > LONGEST_S:
        raise _too_long(title, seconds)
    _check_size(stream.codec_context.width, stream.codec_context.height, title)


def _check_size(width: int, height: int, title: str) -> None:
    if width * height > LARGEST_PIXELS:
        raise InputError(title, f"{width} by {height} pixels", f"at most {LARGEST_PIXELS / 1e6:.0f} megapixels")


def _too_long(title: str, seconds: float) -> InputError:
    said = f"{seconds / 3600:.1f} hours long" if seconds > 3600 else f"{seconds / 60:.1f} minutes long"
    return InputError(title, said, f"one spin from flick to rest, at most {LONGEST_S / 60:.0f} minutes")


class _Shrunk:
    """Frames as they come, each shrunk at once: a film at full size would not fit in memory."""

    def __init__(self, title: str) -> None:
        self.title = title
        self.frames: list[NDArray[np.uint8]] = []
        self.times: list[float] = []
        self.rotation = 0
        self.size = (0, 0)

    def add(self, frame: "VideoFrame") -> None:
        if frame.pts is None or frame.time_base is None:
            return
        when = float(frame.pts * frame.time_base)
        if self.times and when <= self.times[-1]:
            return
        _check_size(frame.width, frame.height, self.title)
        if self.frames and (frame.width, frame.height) != self.size:
            raise InputError(self.title, "of changing size", "a film whose pictures are all of one size")
        self.size, self.rotation = (frame.width, frame.height), int(frame.rotation)
        self.frames.append(shrink(_luma(frame)))
        self.times.append(when)
        if when - self.times[0] > LONGEST_S:
            raise _too_long(self.title, when - self.times[0])
        if len(self.frames) > MOST_FRAMES:
            raise InputError(self.title, f"more than {MOST_FRAMES} pictures", "a shorter film of one spin")

    def upright(self) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
        turned = np.rot90(np.stack(self.frames), k=round(self.rotation / 90), axes=(1, 2))
        times = np.array(self.times)
        return np.ascontiguousarray(turned), times - times[0]


def _luma(frame: "VideoFrame") -> NDArray[np.uint8]:
    """The luma plane as it is: converting to grey would take five times as long and change the levels."""
    kind = frame.format
    if not kind.name.startswith(("yuv", "nv12", "nv21", "gray")):
        frame = frame.reformat(format="gray8")
        kind = frame.format
    plane: Any = frame.planes[0]
    bits = kind.components[0].bits
    if bits <= 8:
        return np.asarray(np.frombuffer(plane, np.uint8).reshape(plane.height, plane.line_size)[:, : plane.width])
    deep = np.frombuffer(plane, "<u2").reshape(plane.height, plane.line_size // 2)[:, : plane.width]
    return np.asarray(deep >> (bits - 8), dtype=np.uint8)


def shrink(luma: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Averages of whole squares of pixels, so that the long side is about 160; the odd rim is dropped.

    >>> shrink(np.full((1080, 1920), 7, np.uint8)).shape
    (90, 160)
    """
    by = max(1, round(max(luma.shape) / LONG_SIDE))
    h, w = luma.shape[0] // by, luma.shape[1] // by
    rows = np.add.reduce(luma[: h * by, : w * by].reshape(h, by, w * by), axis=1, dtype=np.uint16)
    sums = np.add.reduce(rows.reshape(h, w, by), axis=2, dtype=np.uint32)
    return np.asarray((sums + by * by // 2) // (by * by), dtype=np.uint8)


def _slowed(container: Any, stream: Any, reel: _Shrunk) -> float | None:
    """How many times slower than taken the film plays, by the rate the phone noted beside it."""
    noted = container.metadata.get(CAPTURE_RATE) or stream.metadata.get(CAPTURE_RATE)
    if not noted or len(reel.times) < 2:
        return None
    try:
        factor = float(noted) * (reel.times[-1] - reel.times[0]) / (len(reel.times) - 1)
    except ValueError:
        return None
    return float(round(factor)) if RETIMED < factor < 100 else None


def _breaks_off(container: Any, reel: _Shrunk) -> bool:
    if not container.duration or len(reel.times) < 2:
        return False
    span = reel.times[-1] - reel.times[0]
    return bool(container.duration / 1e6 - span > SOUND_RUNS_ON_S + 3 * span / (len(reel.times) - 1))
