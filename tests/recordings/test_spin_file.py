"""Every kind of recording of a spin read whole, and everything that is none refused in a sentence."""

import io
from dataclasses import replace
from functools import cache
from hashlib import sha256
from pathlib import Path
from threading import Event

import numpy as np
import pytest
from PIL import Image

from levelwind.core.codec import from_stored
from levelwind.core.errors import InputError
from levelwind.core.spin.bearing import BearingHeard
from levelwind.core.spin.law import Law, speed_after
from levelwind.core.spin.options import Bearing, SpinOptions
from levelwind.recordings.limited import Stopped
from levelwind.recordings.spin_file import SpinRead, read_spin
from tests.core.spin import sounds
from tests.core.spin.films import Filmed, Scene, encoded, shoot, shoot_with_truth, stop_after

CALM = stop_after(replace(Scene(), frames_per_s=60.0, shake=0.0, roll=0.0, lamp_depth=0.0), 4.0)
LAW, FIRST_REV_S = Law(0.3, 0.05, 0.002), 25.0


@cache
def shot() -> tuple[np.ndarray, Filmed]:
    return shoot_with_truth(CALM, np.random.default_rng(5))


@cache
def film() -> bytes:
    full, made = shot()
    return encoded(full, made.t_s)


@cache
def slow_film() -> bytes:
    """The same played four times slower."""
    full, made = shot()
    return encoded(full, 4 * made.t_s)


def truth() -> Filmed:
    return shot()[1]


TOLD: list[tuple[float, str]] = []
"""What was said while the film was read."""


@cache
def film_read() -> SpinRead:
    return read_spin(film(), name="spin.mp4", progress=lambda part, doing: TOLD.append((part, doing)))


@cache
def still_spool() -> bytes:
    """Nothing turns: one picture all the time, with the noise of each moment."""
    rng = np.random.default_rng(5)
    one = shoot(replace(CALM, after_s=-4.0), rng)[0][0]
    frames = np.clip(one + rng.normal(0, 3, (120, *one.shape)), 0, 255).astype(np.uint8)
    return encoded(frames, np.arange(120) / 30)


@cache
def sound() -> sounds.Made:
    return sounds.recording(10, codec=None)


def table(rows: int = 60, step_s: float = 0.5) -> bytes:
    t = step_s * np.arange(rows)
    speeds = 60 * speed_after(LAW, FIRST_REV_S, t)
    return "\n".join(["time (s),speed (rpm)", *(f"{a},{b:.1f}" for a, b in zip(t, speeds, strict=True))]).encode()


def test_a_film() -> None:
    read = film_read()
    assert read.source == "video" and read.refused == ""
    assert read.sha256 == sha256(film()).hexdigest()
    assert read.result is not None
    (spin,) = read.result.spins
    assert spin.start_s is not None and spin.initial_rev_s is not None
    true = truth().speed_at(np.array([spin.start_s]))[0]
    assert spin.initial_rev_s.value == pytest.approx(true, rel=0.01)
    assert "bearing" not in read.analysis


def test_where_the_spool_was_seen_lies_on_the_picture_that_is_shown() -> None:
    read = film_read()
    assert read.still is not None
    assert Image.open(io.BytesIO(read.still)).size == (320, 240)
    assert read.analysis["disc"]["x"] == pytest.approx(CALM.centre[0] / 320, abs=0.02)
    assert read.analysis["disc"]["y"] == pytest.approx(CALM.centre[1] / 240, abs=0.02)
    assert read.analysis["disc"]["r"] == pytest.approx(CALM.radius / 320, rel=0.1)


def test_a_path_is_read_as_its_bytes_are(tmp_path: Path) -> None:
    path = tmp_path / "3f2a"
    path.write_bytes(film())
    assert read_spin(path, name="spin.mp4") == film_read()


def test_a_film_that_cannot_tell_still_shows_its_picture() -> None:
    read = read_spin(still_spool(), name="spin.mp4")
    assert read.result is None and "spins" not in read.analysis
    assert "nothing turns" in read.refused
    assert read.still is not None and Image.open(io.BytesIO(read.still)).size == (320, 240)


def test_a_tap_beside_the_spool_is_told() -> None:
    assert "pointed out" in read_spin(film(), options=SpinOptions(mark_at=(0.02, 0.98))).refused
    assert (
        read_spin(film(), options=SpinOptions(mark_at=(CALM.centre[0] / 320, CALM.centre[1] / 240))).result is not None
    )


def test_a_film_slowed_by_four_is_four_times_faster() -> None:
    read, plain = read_spin(slow_film(), options=SpinOptions(slowed=4.0)), film_read()
    assert read.result is not None and plain.result is not None
    (one,), (other,) = read.result.spins, plain.result.spins
    assert one.start_s is not None and other.start_s is not None
    # Two films of other frame times are compressed otherwise, so one may be followed from a block earlier.
    moment = max(one.start_s, other.start_s) + 0.5
    quick, usual = (float(np.interp(moment, *np.array(spin.speed).T)) for spin in (one, other))
    assert quick == pytest.approx(usual, rel=1e-3)
    assert one.end_s == pytest.approx(other.end_s, abs=0.05)


def test_marks_told_of_a_film_are_said_to_change_nothing() -> None:
    told = read_spin(film(), options=SpinOptions(marks=4))
    assert told.result and any("changes no number" in str(note) for note in told.result.cautions)
    assert not any("changes no number" in str(note) for note in film_read().result.cautions)


def test_slow_motion_that_says_nothing_of_itself_is_asked_about_until_told() -> None:
    asked = read_spin(slow_film()).result
    assert asked is not None
    assert [(question.about, question.answers) for question in asked.questions] == [("slowed", (1.0, 2.0, 4.0, 8.0))]
    assert any("slow motion" in str(note) for note in asked.cautions)
    for told in (read_spin(slow_film(), options=SpinOptions(slowed=1.0)).result, film_read().result):
        assert told is not None and told.questions == ()


def test_only_a_part_by_the_clock_of_the_whole() -> None:
    read = read_spin(film(), options=SpinOptions(between_s=(1.5, 4.0)))
    assert read.result is not None
    (spin,) = read.result.spins
    assert spin.start_s is not None and spin.end_s is not None
    assert 1.45 < spin.start_s < 1.7 and spin.end_s <= 4.05
    assert spin.initial_rev_s is not None
    assert spin.initial_rev_s.value == pytest.approx(truth().speed_at(np.array([spin.start_s]))[0], rel=0.02)


@pytest.mark.limited
def test_a_sound_and_a_bearing_in_it() -> None:
    data = sounds.encoded(sound().samples, "pcm_s16le", "wav")
    read = read_spin(data, name="spin.wav", options=SpinOptions(marks=sound().marks, bearing=Bearing(9, 7.94, 39.04)))
    assert read.source == "sound" and read.still is None and "disc" not in read.analysis
    assert read.result is not None
    assert read.result.spins[0].initial_rev_s.value == pytest.approx(sound().rev_s[0], rel=0.05)
    heard = from_stored(BearingHeard, read.analysis["bearing"])
    assert str(heard.words) == "nothing seen at this bearing's rates"
    assert {part.part for part in heard.parts} == {"outer ring", "inner ring", "ball", "cage"}


@pytest.mark.parametrize(
    ("codec", "container", "name"),
    [("aac", "mp4", "spin.mp4"), ("aac", "ipod", "a.m4a"), ("libopus", "webm", "a.webm"), ("aac", "adts", "a.aac")],
)
def test_what_holds_no_picture_is_listened_to_whatever_its_name(codec: str, container: str, name: str) -> None:
    data = sounds.encoded(sound().samples, codec, container)
    read = read_spin(data, name=name, options=SpinOptions(marks=sound().marks))
    assert read.source == "sound" and read.result is not None


def test_a_cover_is_no_film() -> None:
    import av

    buffer, jpeg = io.BytesIO(), io.BytesIO()
    Image.new("RGB", (64, 64)).save(jpeg, "JPEG")
    with av.open(buffer, "w", format="mp4") as out:
        stream, cover = out.add_stream("aac", rate=sounds.SAMPLE_HZ), out.add_stream("mjpeg")
        cover.width = cover.height = 64
        cover.pix_fmt, cover.disposition = "yuvj420p", av.stream.Disposition.attached_pic
        packet = av.Packet(jpeg.getvalue())
        packet.stream, packet.pts, packet.dts = cover, 0, 0
        out.start_encoding()
        out.mux(packet)
        frame = av.AudioFrame.from_ndarray(sound().samples[None, :], format="flt", layout="mono")
        frame.sample_rate = sounds.SAMPLE_HZ
        resampler = av.AudioResampler(stream.format.name, stream.layout.name, sounds.SAMPLE_HZ)
        for piece in resampler.resample(frame):
            out.mux(stream.encode(piece))
        out.mux(stream.encode(None))
    assert read_spin(buffer.getvalue(), name="spin.m4a", options=SpinOptions(marks=sound().marks)).source == "sound"


def test_a_kind_that_was_not_named_is_not_opened_behind_another_ones_head() -> None:
    """A tag of the kind mp3 files begin with stands before other sounds too, and before playlists."""
    other = b"ID3\x04" + bytes(6) + sounds.encoded(sound().samples, "tta", "tta")
    with pytest.raises(InputError, match="cut short or damaged"):
        read_spin(other, name="spin.mp3")


def test_silence_is_told() -> None:
    data = sounds.encoded(np.zeros(24_000 * 4, np.float32), "flac", "flac")
    read = read_spin(data, name="spin.flac")
    assert read.result is None and read.refused and read.source == "sound"


def test_a_sound_that_breaks_off_is_used_and_that_is_said() -> None:
    data = sounds.encoded(sound().samples, "flac", "flac")
    read = read_spin(data[: len(data) * 9 // 10], name="spin.flac", options=SpinOptions(marks=sound().marks))
    assert read.result is not None
    assert "breaks off" in str(read.result.cautions[0])


@pytest.mark.limited
def test_a_table_and_a_part_of_it() -> None:
    whole, part = read_spin(table()), read_spin(table(), options=SpinOptions(between_s=(5.0, 15.0)))
    assert whole.source == "table"
    assert whole.result is not None and part.result is not None
    assert whole.result.spins[0].initial_rev_s.value == pytest.approx(FIRST_REV_S, rel=1e-3)
    assert part.result.spins[0].start_s == pytest.approx(5.0)


def test_the_moments_a_mark_went_by() -> None:
    """Turns at each moment by the law's own integral, the moments by stepping: 2 marks, so half a turn apart."""
    t = np.linspace(0, 30, 3_000_001)
    turns = np.concatenate([[0.0], np.cumsum(speed_after(LAW, FIRST_REV_S, t)[:-1] * np.diff(t))])
    moments = np.interp(np.arange(0, turns[-1], 0.5), turns, t)
    data = "\n".join(f"{moment:.6f}" for moment in moments).encode()
    told, asked = read_spin(data, name="passes.txt", options=SpinOptions(marks=2)), read_spin(data, name="passes.txt")
    assert told.result is not None and asked.result is not None
    assert told.result.spins[0].initial_rev_s.value == pytest.approx(FIRST_REV_S, rel=1e-3)
    assert told.result.questions == ()
    assert asked.result.spins[0].initial_rev_s.value == pytest.approx(2 * FIRST_REV_S, rel=1e-3)
    assert [question.about for question in asked.result.questions] == ["marks"]
    assert any("one mark a turn" in str(note) for note in asked.result.cautions)


def test_progress_rises_to_the_end_and_says_what_is_done() -> None:
    film_read()
    parts = [part for part, _ in TOLD]
    assert parts == sorted(parts) and parts[0] == 0.0 and parts[-1] == 1.0
    assert {"reading the film", "holding the picture still", "following the mark"} <= {doing for _, doing in TOLD}


@pytest.mark.limited
def test_it_can_be_stopped() -> None:
    stop = Event()
    with pytest.raises(Stopped, match="stopped by hand"):
        read_spin(film(), progress=lambda part, doing: stop.set(), stop=stop)


ALLOWED = "allowed is a film saved as mp4, mov, m4v or webm, or a sound saved as"
JOINED = b"ffconcat version 1.0\nfile '/etc/passwd'\n"
PLAYLIST = b"#EXTM3U\n#EXTINF:9,\n/etc/passwd\n"
REFUSED = {
    "empty film": ("spin.mp4", b"", f"empty; {ALLOWED}"),
    "empty table": ("spin.csv", b"", "empty"),
    "text as a film": ("spin.mp4", table(), f"neither film nor sound, whatever its name; {ALLOWED}"),
    "text as a sound": ("spin.m4a", b"hello", f"neither film nor sound, whatever its name; {ALLOWED}"),
    "playlist as a film": ("spin.mp4", PLAYLIST, "neither film nor sound"),
    "playlist as a table": ("spin.txt", PLAYLIST, "without a table of numbers"),
    "joining list as a film": ("spin.mov", JOINED, "neither film nor sound"),
    "playlist behind a film's head": ("spin.mp4", b"\0\0\0\x18ftypmp42" + PLAYLIST, "cut short or damaged"),
    "a head alone": ("spin.mp4", b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom", "cut short or damaged"),
    "no sound after its head": ("spin.wav", b"RIFF\x24\0\0\0WAVEfmt ", "cut short or damaged"),
    "a photo": ("spin.jpg", b"\xff\xd8\xff\xe0" + bytes(400), "not text"),
    "a workbook cut short": ("spin.xlsx", b"PK\x03\x04" + bytes(99), "not a workbook that can be read"),
    "zeros as a film": ("spin.mp4", bytes(4000), "neither film nor sound"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_recording_is_refused_in_one_sentence(case: str) -> None:
    name, data, why = REFUSED[case]
    with pytest.raises(InputError, match=why) as refusal:
        read_spin(data, name=name)
    assert str(refusal.value).startswith(name)
    assert "\n" not in str(refusal.value)
    assert "force" not in str(refusal.value)


@pytest.mark.limited
def test_half_a_film_is_refused() -> None:
    with pytest.raises(InputError, match=r"spin\.mp4 was cut short or damaged"):
        read_spin(film()[: len(film()) // 2], name="spin.mp4")


def test_a_film_that_lost_its_pictures_is_not_blamed_for_having_no_sound() -> None:
    with pytest.raises(InputError, match=r"spin\.mp4 was without any picture or sound"):
        read_spin(film().replace(b"trak", b"free"), name="spin.mp4")


def test_a_film_of_ten_hours_is_refused_by_its_head() -> None:
    frames = np.full((12, 64, 64), 90, np.uint8)
    with pytest.raises(InputError, match=r"10\.0 hours long; allowed is one spin .* at most 10 minutes"):
        read_spin(encoded(frames, np.linspace(0, 36_000, 12)), name="spin.mp4")


@pytest.mark.parametrize(
    ("name", "head", "most"),
    [("spin.mp4", b"\0\0\0\x18ftypmp42", 600), ("spin.wav", b"RIFF\0\0\0\0WAVE", 200), ("spin.csv", b"time,rpm\n", 50)],
)
def test_four_gigabytes_are_refused_unread(name: str, head: bytes, most: int, tmp_path: Path) -> None:
    large = tmp_path / name
    with large.open("wb") as file:
        file.write(head)
        file.truncate(4 * 2**30)
    with pytest.raises(InputError, match=rf"{name} was 4295 MB; allowed is at most {most} MB"):
        read_spin(large)


def test_a_path_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"gone\.mp4 was not there"):
        read_spin(tmp_path / "gone.mp4")


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"marks": 0}, "marks a turn was 0"),
        ({"slowed": 0.5}, "times slower than life it plays was 0.5"),
        ({"slowed": float("nan")}, "times slower than life it plays was nan"),
        ({"between_s": (50.0, 60.0)}, "the part to look at was 50 to 60 s"),
    ],
)
def test_what_a_person_says_must_be_possible(said: dict[str, float], why: str) -> None:
    with pytest.raises(InputError, match=why):
        read_spin(table(), options=SpinOptions(**said))  # type: ignore[arg-type]
