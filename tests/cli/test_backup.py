"""A running shop is copied whole, the copy is proved, and comes back; a damaged copy is named as such."""

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from pytest_django import Settings

from levelwind.cli.main import main
from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.backups import BOOK, LIST, backup_make, backup_prove, backup_restore
from levelwind.shop.models import Job
from levelwind.shop.readings.services.readings import recording_upload
from tests.jobs import a_job

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop_folder(settings: Settings, tmp_path: Path) -> Iterator[Path]:
    """A data folder of its own, with one job and one recording in it."""
    settings.DATA = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA / "media"
    settings.DATA.mkdir()
    recording_upload(job=a_job(), kind="pull", moment="found", file=ContentFile(b"not a log", name="log.csv"))
    yield settings.DATA


def test_a_backup_holds_the_book_and_the_recordings(shop_folder: Path, tmp_path: Path) -> None:
    proof = backup_prove(folder=backup_make(into=tmp_path / "safe"))
    assert (proof.jobs, proof.files) == (1, 3)
    with sqlite3.connect(proof.folder / BOOK) as book:
        assert book.execute("SELECT tag FROM shop_job").fetchall() == [("26-0001",)]


def test_a_write_after_the_backup_is_not_in_it_and_comes_back_never(shop_folder: Path, tmp_path: Path) -> None:
    folder = backup_make(into=tmp_path / "safe")
    a_job("26-0002")
    aside = backup_restore(folder=tmp_path / "safe")
    with sqlite3.connect(shop_folder / BOOK) as book:
        assert book.execute("SELECT count(*) FROM shop_job").fetchone() == (1,)
    assert (shop_folder / "media").is_dir() and (aside / "media").is_dir()
    assert backup_prove(folder=folder).jobs == 1
    assert Job.objects.count() == 2  # the test's own book is another file


@pytest.mark.parametrize("harm", ["lost file", "damaged file", "damaged list", "climbing name"])
def test_a_harmed_backup_is_refused(shop_folder: Path, tmp_path: Path, harm: str) -> None:
    folder = backup_make(into=tmp_path / "safe")
    recording = next(path for path in (folder / "media").rglob("*") if path.is_file())
    listed = json.loads((folder / LIST).read_text())
    if harm == "lost file":
        recording.unlink()
    elif harm == "damaged file":
        recording.write_bytes(b"not a l0g")
    elif harm == "damaged list":
        (folder / LIST).write_text("{")
    else:
        listed["files"]["../../outside"] = "0" * 64
        (folder / LIST).write_text(json.dumps(listed))
    with pytest.raises(LevelwindError, match=r"lost|damaged|cannot be read"):
        backup_prove(folder=folder)


def test_a_book_that_names_a_missing_picture_is_refused(shop_folder: Path, tmp_path: Path) -> None:
    folder = backup_make(into=tmp_path / "safe")
    recording = next(path for path in (folder / "media").rglob("*") if path.is_file())
    listed = json.loads((folder / LIST).read_text())
    del listed["files"][recording.relative_to(folder).as_posix()]
    (folder / LIST).write_text(json.dumps(listed))
    recording.unlink()
    with pytest.raises(LevelwindError, match="names a file that is not there"):
        backup_prove(folder=folder)


def test_no_backup_there_is_said_in_words(shop_folder: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a backup made by levelwind backup"):
        backup_prove(folder=tmp_path)


def test_the_commands(shop_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["backup", str(tmp_path / "safe"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["jobs"] == 1
    assert main(["check", str(tmp_path / "safe")]) == 0
    assert "is whole: 1 jobs" in capsys.readouterr().out
    assert main(["check", str(tmp_path / "nothing"), "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "refused"
    assert len(err.strip().splitlines()) == 1
