"""A sound recording from a phone in, one channel of samples out, decoded in a limited process."""

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.recordings.limits import Answer, run_limited
from levelwind.recordings.media import ALLOWED, opened
from levelwind.recordings.media import kind_of as kind_of

if TYPE_CHECKING:
    from av.container import InputContainer

LARGEST_BYTES = 200_000_000
LONGEST_S = 600.0
SAMPLE_HZ = 24_000
"""What every recording is brought to: clicks are told well below 12 kHz, and phones keep little above."""


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """One channel, from -1 to 1."""

    samples: NDArray[np.float32]
    sample_hz: float
    sha256: str

    @property
    def duration_s(self) -> float:
        return len(self.samples) / self.sample_hz


def read_sound(source: bytes | Path, *, name: str = "") -> Sound:
    """Check and decode; raises InputError in one sentence for what is no sound, is damaged, too long or too large."""
    name = name or (source.name if isinstance(source, Path) else "the recording")
    size = source.stat().st_size if isinstance(source, Path) else len(source)
    if size > LARGEST_BYTES:
        raise InputError(name, f"{size / 1e6:.0f} MB", f"a recording of at most {LARGEST_BYTES / 1e6:.0f} MB")
    data = source.read_bytes() if isinstance(source, Path) else source
    if kind_of(data) is None:
        raise InputError(name, "empty" if not data else "no sound recording", ALLOWED)
    answer = run_limited(decode_sound, data, name=name, seconds=60, megabytes=2000, title=name)
    return Sound(np.frombuffer(answer.blobs[0], np.float32), float(SAMPLE_HZ), sha256(data).hexdigest())


def decode_sound(data: bytes | Path, *, title: str) -> Answer:
    """The part that touches the codecs; runs in the limited process."""
    with opened(data, title) as container:
        if not container.streams.audio:
            raise InputError(title, "without any sound", ALLOWED)
        samples, damaged = _decoded(container, title)
    if damaged and len(samples) < SAMPLE_HZ:
        raise InputError(title, "cut short or damaged", ALLOWED)
    if not len(samples):
        raise InputError(title, "without any sound", ALLOWED)
    return Answer({"damaged": damaged}, (samples.tobytes(),))


def _decoded(container: "InputContainer", title: str) -> tuple[NDArray[np.float32], bool]:
    """Everything that can be decoded, and whether it broke off before its end."""
    import av

    resampler = av.AudioResampler(format="flt", layout="mono", rate=SAMPLE_HZ)
    parts: list[NDArray[np.float32]] = []
    length, damaged = 0, False
    try:
        for frame in container.decode(audio=0):
            for piece in resampler.resample(frame):
                parts.append(piece.to_ndarray()[0].astype(np.float32))
                length += len(parts[-1])
            if length > LONGEST_S * SAMPLE_HZ:
                raise InputError(title, f"over {LONGEST_S / 60:.0f} minutes long", "a shorter recording of one spin")
        parts += [piece.to_ndarray()[0].astype(np.float32) for piece in resampler.resample(None)]
    except av.FFmpegError:
        damaged = True
    whole = np.concatenate(parts) if parts else np.empty(0, np.float32)
    return np.nan_to_num(whole, posinf=0.0, neginf=0.0), damaged
