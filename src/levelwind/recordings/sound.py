"""A sound recording from a phone in, one channel of samples out.

What is here touches codecs: it runs in the limited process that ``spin_file.read_spin`` starts.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.recordings.media import ALLOWED, check_codec, opened

if TYPE_CHECKING:
    from av.container import InputContainer

LARGEST_BYTES = 200_000_000
LONGEST_S = 600.0
MOST_CHANNELS = 16
"""Past what any microphone here has; the decoder mixes up to some sixty."""
SAMPLE_HZ = 24_000
"""What every recording is brought to: clicks are told well below 12 kHz, and phones keep little above."""
SAMPLE_BYTES = 4


def decode_sound(source: bytes | Path, *, title: str) -> tuple[NDArray[np.float32], bool]:
    """One channel of samples at 24 kHz, from -1 to 1, and whether it broke off before its end.

    Raises InputError in one sentence for what is no sound, is damaged, or is over ten minutes long.
    """
    with opened(source, title) as container:
        if not container.streams.audio:
            raise InputError(title, "without any picture or sound", ALLOWED)
        check_codec(container.streams.audio[0], title)
        channels = container.streams.audio[0].codec_context.channels
        if channels > MOST_CHANNELS:
            raise InputError(title, f"a sound of {channels} channels", f"at most {MOST_CHANNELS}")
        samples, damaged = _decoded(container, title)
    if damaged and len(samples) < SAMPLE_HZ:
        raise InputError(title, "cut short or damaged", ALLOWED)
    if not len(samples):
        raise InputError(title, "without any sound", ALLOWED)
    return samples, damaged


def _decoded(container: "InputContainer", title: str) -> tuple[NDArray[np.float32], bool]:
    """Everything that can be decoded, and whether it broke off before its end."""
    import av

    resampler = av.AudioResampler(format="flt", layout="mono", rate=SAMPLE_HZ)
    heard, damaged = bytearray(), False  # it grows in place: parts put together at the end would be there twice
    try:
        for frame in container.decode(audio=0):
            for piece in resampler.resample(frame):
                heard += piece.to_ndarray()[0].astype(np.float32).data
            if len(heard) > LONGEST_S * SAMPLE_HZ * SAMPLE_BYTES:
                raise InputError(title, f"over {LONGEST_S / 60:.0f} minutes long", "a shorter recording of one spin")
        for piece in resampler.resample(None):
            heard += piece.to_ndarray()[0].astype(np.float32).data
    except av.FFmpegError:
        damaged = True
    return np.nan_to_num(np.frombuffer(heard, np.float32), copy=False, posinf=0.0, neginf=0.0), damaged
