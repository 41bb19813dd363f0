"""A phone's film in, small grey frames with their own times out, and one picture of it to look at.

What is here touches codecs: it runs in the limited process that ``spin_file.read_spin`` starts.
"""

import io
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.notes import Note
from levelwind.recordings.media import ALLOWED, check_codec, opened, pictures_of

if TYPE_CHECKING:
    from av import VideoFrame
    from av.container import InputContainer

LARGEST_BYTES = 600_000_000
LARGEST_PIXELS = 10_000_000
"""Of one frame: 4096 by 2304 and a little more."""
LARGEST_FRAME_BYTES = 30_000_000
"""As decoded: that many pixels with ten bits and colours at half their number. A decoder holds up to some twenty."""
LONGEST_S = 600.0
"""As it plays: a spin of 50 s, taken at 240 pictures a second and stretched to 30, plays for under seven minutes."""
MOST_FRAMES = 16_000
MOST_KEPT_BYTES = 180_000_000
"""Of all shrunk frames together: 12,500 of 160 by 90, 9,300 of 160 by 120. Following the spool takes as much again."""
MOST_THREADS = 4
"""Each holds some frames of its own: of 4096 by 2304 pixels 14 MB, with ten bits 28 MB. Our choice."""
LONG_SIDE = 160
FEWEST_FRAMES = 10
LEAST_SIDE = 32
"""Of a shrunk frame: a strip of picture holds no spool."""
MOST_ASTRAY = 0.01
"""Of the pictures: more that stand out of order in time are told."""
RETIMED = 1.5
"""Taken this many times faster than it plays, a film is slow motion."""
SOUND_RUNS_ON_S = 0.4
"""A film's sound may end this much later than its last picture."""
CAPTURE_RATE = "com.android.capture.fps"
STILL_AT = 0.4
"""Of the film: the flick is over and the spool still turns."""
STILL_SIDE = 960
STILL_QUALITY = 80

Tell = Callable[[float, str], None]


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
    cautions: tuple[Note, ...]
    still: bytes
    """A frame from the midst of it as a JPEG, upright, at most 960 pixels long, with nothing said beside it."""


def decode_film(source: bytes | Path, *, title: str, tell: Tell = lambda part, doing: None) -> Film:
    """Check and decode.

    Raises InputError in one sentence for what is no film, is damaged, has no picture, or is over ten minutes, 10
    megapixels or as many frames as are kept: 16,000, or 12,500 of 160 by 90 as they are shrunk.
    """
    import av

    with opened(source, title) as container:
        stream = pictures_of(container)
        if stream is None:
            raise InputError(title, "without any picture", ALLOWED)
        check_codec(stream, title)
        _check_head(container, stream, title)
        stream.thread_type = "AUTO"
        stream.codec_context.thread_count = min(MOST_THREADS, os.cpu_count() or 1)
        reel = _Shrunk(title, container.duration / 1e6 if container.duration else None, tell)
        broken = False
        try:
            for frame in container.decode(stream):
                reel.add(frame)
        except MemoryError:  # one of FFmpeg's errors too
            raise
        except av.FFmpegError:
            broken = True
        codec, slowed = stream.codec_context.name, _slowed(container, stream, reel)
        broken = broken or _breaks_off(container, reel)
    if len(reel.times) < FEWEST_FRAMES:
        raise InputError(title, "cut short, damaged, or a still picture", ALLOWED)
    frames, times = reel.frames, reel.since_first()
    if min(frames.shape[1:]) < LEAST_SIDE:
        raise InputError(title, f"{reel.size[0]} by {reel.size[1]} pixels", "a picture that holds the whole spool")
    notes = (
        [Note.of("breaks_off", "the film breaks off before its end: only what could be read was used")]
        if broken
        else []
    )
    if reel.astray > MOST_ASTRAY * len(times):
        astray = "{pictures} pictures whose time is not after the one before are left out"
        notes.append(Note.of("pictures_astray", astray, pictures=reel.astray))
    return Film(frames, times, reel.rotation, codec, slowed, tuple(notes), reel.still())


def _check_head(container: "InputContainer", stream: Any, title: str) -> None:
    seconds = container.duration / 1e6 if container.duration else 0.0
    if seconds > LONGEST_S:
        raise _too_long(title, seconds)
    head = stream.codec_context
    _check_size(head.width, head.height, title)
    bits = head.format.padded_bits_per_pixel if head.format else 0
    if head.width * head.height * bits > 8 * LARGEST_FRAME_BYTES:
        was = f"{head.width} by {head.height} pixels of {bits} bits"
        raise InputError(title, was, f"at most {LARGEST_FRAME_BYTES / 1e6:.0f} MB a picture")


def _check_size(width: int, height: int, title: str) -> None:
    if width * height > LARGEST_PIXELS:
        raise InputError(title, f"{width} by {height} pixels", f"at most {LARGEST_PIXELS / 1e6:.0f} megapixels")


def _too_long(title: str, seconds: float) -> InputError:
    said = f"{seconds / 3600:.1f} hours long" if seconds > 3600 else f"{seconds / 60:.1f} minutes long"
    return InputError(title, said, f"one spin from flick to rest, at most {LONGEST_S / 60:.0f} minutes")


class _Shrunk:
    """Frames as they come, each shrunk and turned at once: a film at full size would not fit in memory, nor twice."""

    def __init__(self, title: str, length_s: float | None, tell: Tell) -> None:
        self.title, self.length_s, self.tell = title, length_s, tell
        self.times: list[float] = []
        self._kept_frames = bytearray()  # it grows in place: frames stacked at the end would be there twice
        self._shape = (0, 0)
        self.rotation = self.astray = 0
        self.size = (0, 0)
        self._kept: tuple[float, VideoFrame] | None = None

    def add(self, frame: "VideoFrame") -> None:
        if frame.pts is None or frame.time_base is None:
            return
        when = float(frame.pts * frame.time_base)
        if self.times and when <= self.times[-1]:
            self.astray += 1
            return
        _check_size(frame.width, frame.height, self.title)
        if self.times and (frame.width, frame.height) != self.size:
            raise InputError(self.title, "of changing size", "a film whose pictures are all of one size")
        if not self.times:
            self.size, self.rotation = (frame.width, frame.height), int(frame.rotation)
        self._put(np.rot90(shrink(_luma(frame)), k=round(self.rotation / 90)))
        self.times.append(when)
        self._keep(when - self.times[0], frame)
        self.tell(min(1.0, (when - self.times[0]) / (self.length_s or LONGEST_S)), "reading the film")
        if when - self.times[0] > LONGEST_S:
            raise _too_long(self.title, when - self.times[0])

    def _put(self, small: NDArray[np.uint8]) -> None:
        self._shape = small.shape
        if len(self.times) >= (most := min(MOST_FRAMES, MOST_KEPT_BYTES // max(1, small.size))):
            raise InputError(self.title, f"more than {most} pictures", "a shorter film of one spin")
        self._kept_frames += small.tobytes()

    def _keep(self, since_s: float, frame: "VideoFrame") -> None:
        """The frame to look at: of a film that does not say its length, one from its last third."""
        before_s = self._kept[0] if self._kept else -1.0
        due_s = STILL_AT * self.length_s if self.length_s else max(1.5 * before_s, 0.5)
        if self._kept is None or before_s < due_s <= since_s:
            self._kept = since_s, frame

    def still(self) -> bytes:
        from PIL import Image

        assert self._kept is not None
        frame = self._kept[1]
        by = min(1.0, STILL_SIDE / max(frame.width, frame.height))
        small = frame.reformat(width=round(frame.width * by), height=round(frame.height * by), format="rgb24")
        upright = np.ascontiguousarray(np.rot90(small.to_ndarray(), k=round(self.rotation / 90)))
        out = io.BytesIO()
        Image.fromarray(upright).save(out, "JPEG", quality=STILL_QUALITY)
        return out.getvalue()

    @property
    def frames(self) -> NDArray[np.uint8]:
        return np.frombuffer(self._kept_frames, np.uint8).reshape(-1, *self._shape)

    def since_first(self) -> NDArray[np.float64]:
        return np.asarray(np.array(self.times) - self.times[0])


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
    sums = rows[:, ::by].astype(np.uint32)
    for column in range(1, by):  # a sum of so few neighbours each would cost more in asking than in adding
        sums += rows[:, column::by]
    sums += by * by // 2
    sums //= by * by
    return np.asarray(sums, dtype=np.uint8)


def _slowed(container: "InputContainer", stream: Any, reel: _Shrunk) -> float | None:
    """How many times slower than taken the film plays, by the rate the phone noted beside it."""
    noted = container.metadata.get(CAPTURE_RATE) or stream.metadata.get(CAPTURE_RATE)
    if not noted or len(reel.times) < 2:
        return None
    try:
        factor = float(noted) * (reel.times[-1] - reel.times[0]) / (len(reel.times) - 1)
    except ValueError:
        return None
    return float(round(factor)) if RETIMED < factor < 100 else None


def _breaks_off(container: "InputContainer", reel: _Shrunk) -> bool:
    if not container.duration or len(reel.times) < 2:
        return False
    span = reel.times[-1] - reel.times[0]
    return bool(container.duration / 1e6 - span > SOUND_RUNS_ON_S + 3 * span / (len(reel.times) - 1))
