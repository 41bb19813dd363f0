"""Readings typed and read from files, kept with their analysis, compared as found and as left."""

import pytest
from django.core.files.base import ContentFile

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services.sendings import job_prove
from levelwind.shop.models import Job, Reading, Stage
from levelwind.shop.papers.selectors.sheets import proof_sheet
from levelwind.shop.readings.selectors.figures import compared
from levelwind.shop.readings.selectors.readings import readings_of
from levelwind.shop.readings.services.readings import (
    reading_correct,
    reading_strike_out,
    reading_type,
    recording_upload,
)
from tests.jobs import a_job

pytestmark = pytest.mark.django_db

RAMP = [(i / 20, 40.0 * min(1.0, i / 20)) for i in range(20)]
STEADY = [(1 + i / 20, 30.0 + 0.2 * (i % 3)) for i in range(120)]
SLACK = [(7 + i / 20, 0.0) for i in range(20)]


def a_log(header: str = "time (s),force (N)") -> "ContentFile[bytes]":
    rows = [(t - 1, 0.0) for t, _ in RAMP] + RAMP + STEADY + SLACK
    text = "\n".join([header, *(f"{t + 1:.3f},{force:.3f}" for t, force in rows)])
    return ContentFile(text.encode(), name="scale.csv")


def test_a_log_is_kept_with_what_was_found_in_it() -> None:
    job = a_job()
    reading = recording_upload(job=job, kind="pull", moment="found", file=a_log())
    assert reading.refused == ""
    pull = reading.analysis["pulls"][0]
    assert pull["running_N"]["value"] == pytest.approx(30.2, abs=0.3)
    assert (len(reading.sha256), reading.core_version != "") == (64, True)
    with reading.file.open("rb") as stored:
        assert stored.read() == a_log().read()


def test_a_log_without_a_unit_is_kept_refused_and_read_again_in_one_named() -> None:
    job = a_job()
    reading = recording_upload(job=job, kind="pull", moment="found", file=a_log("time,force"))
    assert "unit" in reading.refused
    assert not readings_of(job).latest and reading.brief == {}
    again = reading_correct(reading=reading, options={"unit": "lbf"})
    assert again.refused == ""
    assert again.analysis["pulls"][0]["running_N"]["value"] == pytest.approx(30.2 * 4.448, rel=0.02)
    assert again.brief["running_N"] == again.analysis["pulls"][0]["running_N"]
    reading.refresh_from_db()
    assert (reading.struck_out, again.corrects) == (True, reading)


@pytest.mark.parametrize("content", [b"", b"time (s),force (N)\n", b"\x00\x01\x02" * 400, b"time (s)\n1\n2\n"])
def test_a_file_that_says_nothing_is_kept_with_the_reason(content: bytes) -> None:
    reading = recording_upload(job=a_job(), kind="pull", moment="left", file=ContentFile(content, name="log.csv"))
    assert reading.refused
    assert reading.analysis == {}


def test_as_found_against_as_left() -> None:
    job = a_job()
    reading_type(job=job, kind="pull", moment="found", typed={"breakaway_N": 60.0, "running_N": 37.0})
    reading_type(job=job, kind="pull", moment="left", typed={"breakaway_N": 42.0, "running_N": 37.0})
    reading_type(job=job, kind="spin", moment="found", typed={"spin_time_s": 11.0})
    reading_type(job=job, kind="spin", moment="left", typed={"spin_time_s": 34.0})
    briefs = [sorted(row.brief) for row in job.readings.all()]
    assert briefs == [["running_N", "startup_ratio"]] * 2 + [["by_hand_s"]] * 2
    readings = readings_of(job)
    assert "start-up ratio 1.62 to 1.14: down" in readings.verdict
    spin = next(pair for pair in readings.pairs if pair.name == "Spin time")
    assert spin.difference.startswith("up by 23 s (11 to 35)")
    assert proof_sheet(job).measured.startswith("Start-up ratio 1.62")


def test_struck_out_readings_count_for_nothing_and_stay() -> None:
    job = a_job()
    reading = reading_type(job=job, kind="spin", moment="left", typed={"spin_time_s": 34.0})
    reading_strike_out(reading=reading)
    assert not readings_of(job).latest
    assert Reading.objects.count() == 1


@pytest.mark.parametrize(
    ("kind", "typed"),
    [
        ("pull", {"breakaway_N": 10.0, "running_N": 37.0}),
        ("pull", {"breakaway_N": 10.0, "running_N": -1.0}),
        ("spin", {"spin_time_s": 0.0}),
        ("end_float", {"end_float_mm": 400.0}),
        ("turn", {"torque_Nm": -1.0}),
        ("hum", {}),
    ],
)
def test_a_number_that_cannot_be_is_refused_and_not_kept(kind: str, typed: dict[str, float]) -> None:
    with pytest.raises(InputError, match="allowed is"):
        reading_type(job=a_job(), kind=kind, moment="found", typed=typed)
    assert not Reading.objects.exists()


def test_the_curves_are_drawn_in_the_shops_unit() -> None:
    job = a_job()
    recording_upload(job=job, kind="pull", moment="left", file=a_log())
    figure = compared(readings_of(job, "lbf"), "pull", "lbf")
    assert figure is not None and [line.role for line in figure.lines] == ["as-left"]
    assert max(force for _, force in figure.lines[0].points) == pytest.approx(38 / 4.4482, rel=1e-3)
    assert figure.y.name == "lbf"


def test_a_reel_is_proved_by_a_reading_as_left() -> None:
    job: Job = a_job()
    with pytest.raises(LevelwindError, match="Nothing is measured as left"):
        job_prove(job=job)
    reading_type(job=job, kind="spin", moment="left", typed={"spin_time_s": 34.0})
    assert job_prove(job=job).stage == Stage.PROVED
