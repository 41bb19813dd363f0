"""Files as they come: whatever is wrong with one, it is kept, one clear sentence says why, and nothing else moves."""

import tracemalloc
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.files.base import ContentFile, File
from django.core.files.uploadedfile import TemporaryUploadedFile
from pytest_django import Settings

from levelwind.core.errors import InputError
from levelwind.shop import disk
from levelwind.shop.models import Job, Reading, Shop, Work
from levelwind.shop.readings.selectors.brief import brief_kept, brief_of
from levelwind.shop.readings.selectors.stored import bearing_heard, cautions_of, questions_of
from levelwind.shop.readings.services.readings import reading_type, recording_upload
from tests.core.spin import sounds
from tests.full_size import cases
from tests.jobs import a_job, a_pattern
from tests.recordings.test_spin_file import film, table
from tests.shop.readings.test_readings import a_log

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def media(settings: Settings, tmp_path: Path) -> Path:
    """A folder of its own for every test."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    return tmp_path / "media"


def _kept(media: Path) -> list[Path]:
    return [path for path in media.rglob("*") if path.is_file()]


def _upload(data: bytes, name: str, kind: str = "pull", job: Job | None = None, **more: Any) -> Reading:
    file = ContentFile(data, name=name)
    return recording_upload(job=job or a_job(), kind=kind, moment="found", file=file, **more)


def _rows(rows: Any, header: str = "time (s),force (N)") -> bytes:
    return "\n".join([header, *(",".join(str(cell) for cell in row) for row in rows)]).encode()


LOGS = {
    "one column": (_rows([[i] for i in range(40)], "force (N)"), "one column"),
    "all forces equal": (_rows([[i, 5] for i in range(40)]), "every force in the log is 5 N"),
    "times backwards": (_rows([[40 - i, i] for i in range(40)]), "running backwards"),
    "NaN": (_rows([[i, "nan"] for i in range(40)]), "every force in log.csv was missing"),
    "empty": (b"", "empty"),
    "not text": (bytes(range(256)) * 40, "not text"),
    "no workbook": (b"PK\x03\x04" + b"\x00" * 400, "not a workbook"),
}


@pytest.mark.parametrize("what", LOGS)
def test_a_log_that_says_nothing(what: str, media: Path) -> None:
    data, why = LOGS[what]
    other = reading_type(job=a_job(), kind="spin", moment="left", typed={"spin_time_s": 30.0})
    before = Reading.objects.filter(pk=other.pk).values().get()
    reading = _upload(data, "log.csv", job=a_job("26-0002", owner=other.job.owner))
    assert why in reading.refused
    _one_clear_sentence(reading, data)
    assert Reading.objects.filter(pk=other.pk).values().get() == before


RECORDINGS = {
    "a text named mp4": (b"shopping: line, hooks, bread\n" * 40, "spin.mp4", "neither film nor sound"),
    "a playlist named mp4": (b"#EXTM3U\n#EXTINF:1,\nfile:///etc/passwd\n", "spin.mp4", "neither film nor sound"),
    "an empty file": (b"", "spin.mp4", "empty"),
    "no sound": (b"RIFF\x24\x00\x00\x00WAVEfmt " + b"\xff" * 400, "spin.wav", "cut short or damaged"),
    "no table": (b"a letter to a friend\n" * 9, "spin.csv", "allowed is"),
}


@pytest.mark.parametrize("what", RECORDINGS)
def test_a_recording_that_is_none(what: str) -> None:
    data, name, why = RECORDINGS[what]
    reading = _upload(data, name, "spin")
    assert why in reading.refused and name in reading.refused
    _one_clear_sentence(reading, data)


def test_half_a_film() -> None:
    half = film()[: len(film()) // 2]
    reading = _upload(half, "spin.mp4", "spin")
    assert "cut short or damaged" in reading.refused
    assert not reading.analysis, "nothing of it could be read, so nothing can be put right"
    _one_clear_sentence(reading, half)


def _one_clear_sentence(reading: Reading, data: bytes) -> None:
    assert (reading.work, "pulls" in reading.analysis, "spins" in reading.analysis) == (Work.READ, False, False)
    assert "\n" not in reading.refused and "Traceback" not in reading.refused
    with reading.file.open("rb") as stored:
        assert stored.read() == data
    assert reading.job.events.filter(text__startswith=f"{reading} gives no number: ").count() == 1


@pytest.mark.limited
@pytest.mark.sampled
def test_up_to_a_million_rows_are_read() -> None:
    reading = _upload(_long_log(cases(100_000, 1_000_000)), "log.csv")
    assert reading.refused == ""
    assert reading.analysis["pulls"][0]["running_N"]["value"] == pytest.approx(30.0, abs=0.01)


@pytest.mark.limited
def test_two_million_rows_are_refused_in_words() -> None:
    reading = _upload(b"time,force\n" + b"1,2\n" * 2_000_000, "log.csv")
    assert reading.refused.startswith("log.csv was 2000001 rows long")
    assert "1500000" in reading.refused


def test_a_film_is_read_with_its_still_and_where_the_spool_is(media: Path) -> None:
    reading = _upload(film(), "spin.mp4", "spin")
    assert reading.refused == ""
    assert reading.analysis["spins"][0]["initial_rev_s"]["value"] > 5
    assert set(reading.analysis["disc"]) == {"x", "y", "r"}
    assert len(reading.analysis["spins"][0]["speed"]["t_s"]) > 2
    with reading.still.open("rb") as still:
        assert still.read(3) == b"\xff\xd8\xff"
    again = _upload(film(), "spin.mp4", "spin", job=reading.job)
    assert again.still.name == reading.still.name
    assert len(_kept(media)) == 2


def test_a_table_is_read_and_its_part_alone_when_told() -> None:
    job = a_job()
    whole = _upload(table(), "spin.csv", "spin", job=job)
    part = _upload(table(), "spin.csv", "spin", job=job, options={"between_s": [2, 12]})
    assert whole.analysis["spins"][0]["start_s"] < 1 < part.analysis["spins"][0]["start_s"]
    assert part.analysis["given"] == {"between_s": [2.0, 12.0]}
    assert brief_kept(whole) == brief_of(whole), "worked out once, as it is read"
    assert [rest.from_rev_s for rest in brief_kept(whole).rests][:3] == [2.0, 3.0, 4.0]


@cache
def _made() -> sounds.Made:
    made = sounds.recording(11)
    assert made.marks == 4 and not made.broken
    return made


def test_a_sound_is_told_the_ticks_a_turn_and_the_bearing_that_its_pattern_knows() -> None:
    pattern = a_pattern(ticks_a_turn=4, bearing_balls=7, bearing_ball_mm=1.588, bearing_pitch_mm=7.0)
    job, sound = a_job(pattern=pattern), sounds.encoded(_made().samples, "pcm_s16le", "wav")
    reading = _upload(sound, "spin.wav", "spin", job=job)
    assert reading.options == {}
    assert reading.analysis["given"]["marks"] == 4
    heard = bearing_heard(reading)
    assert heard is not None
    told = _upload(sound, "spin.wav", "spin", job=job, options={"marks": 2})
    assert told.analysis["given"]["marks"] == 2
    ratio = _first_speed(told) / _first_speed(reading)
    assert ratio == pytest.approx(2.0, rel=0.02)


@pytest.mark.parametrize(("codec", "container"), [("aac", "mp4"), ("libopus", "webm")])
def test_so_is_one_that_a_phone_saved_in_a_films_container(codec: str, container: str) -> None:
    sound = sounds.encoded(_made().samples, codec, container)
    reading = _upload(sound, f"spin.{container}", "spin", job=a_job(pattern=a_pattern(ticks_a_turn=4)))
    assert (reading.analysis["source"], reading.analysis["given"]) == ("sound", {"marks": 4})
    assert not reading.analysis.get("questions")


def _first_speed(reading: Reading) -> float:
    return float(reading.analysis["spins"][0]["initial_rev_s"]["value"])


def test_a_film_counts_its_own_marks_whatever_the_pattern_ticks() -> None:
    job = a_job(pattern=a_pattern(ticks_a_turn=4))
    assert "marks" not in _upload(film(), "spin.mp4", "spin", job=job).analysis["given"]


def test_a_pull_is_held_against_the_shops_scale() -> None:
    Shop.objects.create(pk=1, scale_most_N=38.0)
    job = a_job()
    ramp = recording_upload(job=job, kind="pull", moment="found", file=a_log())
    assert ramp.analysis["given"] == {"capacity_N": 38.0}
    assert any("its limit of 38 N" in str(note) for note in cautions_of(ramp))
    told = recording_upload(job=job, kind="pull", moment="found", file=a_log(), options={"capacity_N": 500})
    assert told.analysis["given"] == {"capacity_N": 500.0}


def test_a_unit_that_is_missing_is_asked_for() -> None:
    data = a_log("time,force").read()
    reading = _upload(data, "scale.csv")
    assert reading.refused == "The unit of force is not written in scale.csv: say which it is."
    (question,) = reading.analysis["questions"]
    assert (question["about"], set(question["answers"])) == ("unit", {"N", "kgf", "lbf", "ozf", "gf"})


def test_a_unit_that_makes_no_sense_is_asked_about() -> None:
    data = a_log("time (s),force (kN)").read()
    (question,) = questions_of(_upload(data, "scale.csv"))
    assert "really in kN?" in str(question.words)
    said = _upload(data, "scale.csv", job=Job.objects.get(), options={"unit": "N"})
    assert "questions" not in said.analysis


def test_a_unit_that_a_person_named_is_not_doubted() -> None:
    strong = _rows([[i / 20, 300 + i % 3 if 20 < i < 180 else 0] for i in range(200)], "time (s),force")
    said = _upload(strong, "scale.csv", options={"unit": "kgf"})
    assert said.analysis["pulls"][0]["running_N"]["value"] == pytest.approx(301 * 9.80665, rel=0.01)
    assert "questions" not in said.analysis


class Huge(File):  # type: ignore[type-arg]
    """A file that says it is large; only its head is there to be read."""

    def __init__(self, size: int, name: str, head: bytes = b"") -> None:
        super().__init__(ContentFile(head), name=name)
        self.size = size

    def chunks(self, chunk_size: int | None = None) -> Iterator[bytes]:
        raise AssertionError("a file over the limit was read")


MP4 = b"\x00\x00\x00\x18ftypmp42"


@pytest.mark.parametrize(
    ("kind", "file", "most"),
    [
        ("spin", Huge(4_000_000_000, "spin.mp4", MP4), "4,000 MB; allowed is a film of one spin of at most 600 MB"),
        ("spin", Huge(600_000_001, "IMG_1", MP4), "a film of one spin of at most 600 MB"),
        ("spin", Huge(200_000_001, "spin.m4a", b"RIFF\x24\x00\x00\x00WAVEfmt "), "a sound recording of one spin"),
        ("spin", Huge(50_000_001, "spin.csv", b"t,n"), "a table of one spin of at most 50 MB"),
        ("pull", Huge(50_000_001, "pull.mp4", MP4), "a force log of at most 50 MB"),
    ],
)
def test_only_what_is_too_large_is_refused_and_not_kept(kind: str, file: Huge, most: str, media: Path) -> None:
    with pytest.raises(InputError) as refusal:
        recording_upload(job=a_job(), kind=kind, moment="found", file=file)
    assert most in str(refusal.value) and str(file.name) in str(refusal.value)
    assert not Reading.objects.exists()
    assert not _kept(media)


@pytest.mark.limited
@pytest.mark.limited
def test_a_large_upload_is_moved_and_never_whole_in_memory(media: Path) -> None:
    file = TemporaryUploadedFile("scale.csv", "text/csv", 0, None)
    file.file.write(_long_log(300_000))
    file.size = file.file.tell()
    file.file.flush()
    lies_at = Path(file.temporary_file_path()).stat().st_ino
    tracemalloc.start()
    reading = recording_upload(job=a_job(), kind="pull", moment="found", file=file)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < file.size / 4
    assert Path(reading.file.path).stat().st_ino == lies_at
    assert not list(media.parent.glob("*.upload*"))
    file.close()
    assert reading.refused == "" and Path(reading.file.path).is_file()


def _long_log(rows: int) -> bytes:
    """Four pulls, a thousand readings a second."""
    body = "".join(f"{i / 1000:.3f},{30 if i % 250_000 > 9000 else 0}.{i % 7}\n" for i in range(rows))
    return b"time (s),force (N)\n" + body.encode()


def test_the_same_file_twice_is_kept_once(media: Path) -> None:
    job = a_job()
    first, second = (recording_upload(job=job, kind="pull", moment="found", file=a_log()) for _ in range(2))
    assert first.file.name == second.file.name
    assert len(_kept(media)) == 1


def test_a_file_half_written_when_the_plug_was_pulled_is_written_again(media: Path) -> None:
    first = recording_upload(job=a_job(), kind="pull", moment="found", file=a_log())
    Path(first.file.path).write_bytes(b"time (s)")
    second = recording_upload(job=first.job, kind="pull", moment="found", file=a_log())
    assert second.file.name == first.file.name
    assert Path(first.file.path).read_bytes() == a_log().read()


def test_a_file_is_on_the_disk_before_the_book_names_it(media: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    flushed: list[bool] = []
    monkeypatch.setattr(disk.os, "fsync", lambda handle: flushed.append(Reading.objects.exists()))
    recording_upload(job=a_job(), kind="pull", moment="found", file=a_log())
    assert len(flushed) >= 2 and not any(flushed), "the file and its folder, then the row"


@pytest.mark.parametrize("name", ["../../../etc/cron.d/x.csv", "a" * 300 + ".csv", "scale\n.csv", ""])
def test_a_hostile_name_names_nothing_outside(name: str, media: Path) -> None:
    reading = _upload(a_log().read(), name)
    assert reading.refused == ""
    assert [path.name for path in _kept(media)] == [reading.sha256]
    assert len(reading.file_name) <= 120 and "/" not in reading.file_name


def test_only_pulls_and_spins_are_read_from_files() -> None:
    with pytest.raises(InputError, match="one of pull, spin"):
        _upload(b"", "x.csv", "turn")


def test_a_spin_is_read_by_the_same_dice_each_time() -> None:
    job = a_job()
    one, other = (_upload(table(), "spin.csv", "spin", job=job) for _ in range(2))
    assert one.analysis == other.analysis
    assert np.isfinite(one.analysis["spins"][0]["spin_time_s"]["value"])
