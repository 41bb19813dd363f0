"""Sound files as phones save them, and files that are none."""

import io
import wave

import numpy as np
import pytest

from levelwind.core.errors import InputError
from levelwind.recordings import sound
from levelwind.recordings.media import kind_of
from levelwind.recordings.sound import decode_sound
from tests.core.spin.sounds import SAMPLE_HZ, encoded


def heard(data: bytes) -> np.ndarray:
    return decode_sound(data, title="a.m4a")[0]


TONE = (0.5 * np.sin(2 * np.pi * 440 * np.arange(2 * SAMPLE_HZ) / SAMPLE_HZ)).astype(np.float32)


@pytest.mark.parametrize(
    ("codec", "container", "kind"),
    [
        ("pcm_s16le", "wav", "wav"),
        ("aac", "mp4", "mp4"),
        ("mp3", "mp3", "mp3"),
        ("libopus", "ogg", "ogg"),
        ("flac", "flac", "flac"),
        ("aac", "adts", "aac"),
    ],
)
def test_each_kind_is_heard(codec: str, container: str, kind: str) -> None:
    data = encoded(TONE, codec, container)
    samples = heard(data)
    assert kind_of(data) == kind
    assert len(samples) / SAMPLE_HZ == pytest.approx(2.0, abs=0.1)
    power = np.abs(np.fft.rfft(samples[4800:43200])) ** 2
    assert np.argmax(power) * SAMPLE_HZ / 38400 == pytest.approx(440, abs=2)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"hello, this is text",
        b"#EXTM3U\nhttp://192.0.2.1/a.ts\n",
        b"RIFF\x24\0\0\0WAVEfmt ",
        b"\xff\xfb" + b"x" * 400,
        b"\0\0\0\x18ftypM4A " + b"\0" * 200,
    ],
    ids=["empty", "text", "playlist", "header only", "not mp3", "not m4a"],
)
def test_what_is_no_sound_is_one_sentence(data: bytes) -> None:
    with pytest.raises(InputError, match=r"a\.m4a") as refusal:
        heard(data)
    assert "\n" not in str(refusal.value)


def test_half_a_file_gives_its_half_or_a_sentence() -> None:
    whole = encoded(TONE, "flac", "flac")
    assert 1.0 < len(heard(whole[: len(whole) * 3 // 4])) / SAMPLE_HZ < 1.9
    with pytest.raises(InputError, match="cut short or damaged"):
        heard(encoded(TONE, "aac", "mp4")[:4000])


def test_a_coding_that_nothing_here_reads_is_told() -> None:
    data = encoded(TONE, "pcm_s16be", "mov")
    with pytest.raises(InputError, match=r"a\.m4a was written in a coding that is not known here"):
        heard(data.replace(b"twos", b"zzzz"))


@pytest.mark.parametrize("channels", [2, 3, 6, 64])
def test_all_channels_are_mixed_up_to_what_a_microphone_has(channels: int) -> None:
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as out:
        out.setparams((channels, 2, SAMPLE_HZ, 0, "NONE", ""))
        out.writeframes(np.repeat((TONE * 32767).astype("<i2")[:, None], channels, axis=1).tobytes())
    if channels == 64:
        with pytest.raises(InputError, match=r"a\.m4a was a sound of 64 channels; allowed is at most 16"):
            heard(buffer.getvalue())
    else:
        assert len(heard(buffer.getvalue())) / SAMPLE_HZ == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize(
    ("at", "lie"),
    [
        (22, b"\0\0"),
        (24, b"\0\0\0\0"),
        (24, b"\1\0\0\0"),
        (24, b"\0\xca\x9a\x3b"),
        (24, b"\xff\xff\xff\xff"),
        (34, b"\0\0"),
    ],
    ids=["no channels", "no rate", "1 Hz", "1 GHz", "4 GHz", "no bits"],
)
def test_a_head_that_lies_is_one_sentence(at: int, lie: bytes) -> None:
    """The places of channels, rate and bits in a wav's head: from memory."""
    data = encoded(TONE, "pcm_s16le", "wav")
    with pytest.raises(InputError, match=r"^a\.m4a was ") as refusal:
        heard(data[:at] + lie + data[at + len(lie) :])
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("size", [b"\0\0\0\0", b"\xff\xff\xff\xff", b"\0\0\0\x80"])
def test_a_size_that_lies_costs_nothing(size: bytes) -> None:
    """A recorder that was switched off leaves none, or the largest there is."""
    data = encoded(TONE, "pcm_s16le", "wav")
    at = data.index(b"data") + 4
    assert len(heard(data[:at] + size + data[at + 4 :])) / SAMPLE_HZ == pytest.approx(2.0, abs=0.01)


def test_too_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sound, "LONGEST_S", 1.0)
    with pytest.raises(InputError, match="minutes long"):
        sound.decode_sound(encoded(TONE, "flac", "flac"), title="long")
