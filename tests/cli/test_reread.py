"""`levelwind reread`: recordings of an earlier law are listed, and read again where it is asked for."""

import json
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.base import ContentFile

from levelwind.cli.main import main
from levelwind.core.pull.model import LAW
from levelwind.shop.models import Reading
from levelwind.shop.readings.selectors.readings import readings_of
from levelwind.shop.readings.services.readings import recording_upload
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The book of a test is in memory: recordings that others left in the common folder would tell of a lost one."""
    monkeypatch.setattr(settings, "DATA", tmp_path)


@pytest.fixture
def old() -> Reading:
    """A pull that an earlier law read: it wrote no law down, and said another number."""
    reading = recording_upload(job=a_job(), kind="pull", moment="found", file=a_log())
    analysis = {key: value for key, value in reading.analysis.items() if key != "law"}
    analysis["pulls"][0]["running_N"] = {"value": 99.0, "low": 98.0, "high": 100.0}
    Reading.objects.filter(pk=reading.pk).update(analysis=analysis)
    reading.refresh_from_db()
    return reading


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    assert main(["reread", *words, "--json"]) == 0
    return dict(json.loads(capsys.readouterr().out))


def running(reading: Reading) -> float:
    pair = readings_of(reading.job).pair("running")
    assert pair and pair.found
    return pair.found.value


def test_nothing_is_read_again_unasked(old: Reading, capsys: pytest.CaptureFixture[str]) -> None:
    said = answer(capsys)
    assert said["laws"] == {"pull": LAW, "spin": LAW}
    tag = old.job.tag
    row = {"tag": tag, "reading": "pull as found", "file": "scale.csv", "law": 1, "read_by": None, "refused": ""}
    assert said["readings"] == [row]
    assert Reading.objects.count() == 1 and running(old) == 99.0
    assert main(["reread"]) == 0
    out = capsys.readouterr().out
    assert f"{tag}: pull as found, scale.csv, read by law 1" in out and "Nothing was read again" in out


@pytest.mark.parametrize("word", ["--all", "26-0001"])
def test_asked_for_it_is_read_by_todays_law_and_the_earlier_one_kept(
    word: str, old: Reading, capsys: pytest.CaptureFixture[str]
) -> None:
    assert old.job.tag == "26-0001"
    assert main(["reread", word]) == 0
    assert f"read by law 1, read again by law {LAW}" in capsys.readouterr().out
    old.refresh_from_db()
    assert old.struck_out and old.analysis["pulls"][0]["running_N"]["value"] == 99.0
    assert running(old) == pytest.approx(30.2, abs=0.3)
    assert answer(capsys, "--all")["readings"] == []


def test_where_todays_law_gives_no_number_what_was_said_counts_on(
    old: Reading, capsys: pytest.CaptureFixture[str]
) -> None:
    with old.file.storage.open(old.file.name, "wb") as file:
        file.write(b"time (s),force (N)\n" + b"".join(b"%d,5\n" % i for i in range(30)))
    (row,) = answer(capsys, "--all")["readings"]  # type: ignore[misc]
    assert row["refused"] and running(old) == 99.0
    assert answer(capsys)["readings"] == [], "tried once"


def test_what_today_read_and_what_was_typed_is_left_alone(capsys: pytest.CaptureFixture[str]) -> None:
    recording_upload(job=a_job(), kind="pull", moment="found", file=a_log())
    recording_upload(
        job=Reading.objects.get().job, kind="pull", moment="left", file=ContentFile(b"no log", name="a.csv")
    )
    assert answer(capsys, "--all")["readings"] == []
    assert main(["reread"]) == 0
    assert capsys.readouterr().out == "Every recording was read by today's law.\n"


def test_a_job_that_is_not_in_the_book(old: Reading, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["reread", "26-9999", "--json"]) == 3
    assert "26-9999" in json.loads(capsys.readouterr().out)["reason"]
