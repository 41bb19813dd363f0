"""A running shop is copied whole, the copy is proved, and comes back; a damaged copy is named as such."""

import json
import sqlite3
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from PIL import Image
from pytest_django import Settings

from levelwind.cli.latch import the_only_one
from levelwind.cli.main import main
from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.backups import backup_make, backup_restore
from levelwind.shop.book.services.files import BOOK, LIST
from levelwind.shop.book.services.proving import backup_prove, shop_prove
from levelwind.shop.jobs.services.photos import photo_add
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
    assert (shop_folder / "media").is_dir() and Path(aside, "media").is_dir()
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


@pytest.fixture
def shop_as_it_stands(shop_folder: Path, tmp_path: Path) -> Path:
    """A photo beside the recording, and the book where the shop looks for it."""
    picture = BytesIO()
    Image.new("RGB", (60, 40), "gray").save(picture, "JPEG")
    photo_add(job=Job.objects.get(), file=ContentFile(picture.getvalue(), name="reel.jpg"))
    backup_restore(folder=backup_make(into=tmp_path / "safe"))
    return shop_folder


def test_the_shop_as_it_stands_is_proved(shop_as_it_stands: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["prove"]) == 0
    assert "The shop is whole: 1 jobs, and all 3 files they name are there." in capsys.readouterr().out
    assert main(["prove", "--json"]) == 0
    answer = {"status": "ok", "jobs": 1, "files": 3, "compared": 2}
    assert json.loads(capsys.readouterr().out) == answer, "a thumbnail has no sum of its own"


@pytest.mark.parametrize("column", ["shop_photo.picture", "shop_photo.thumbnail", "shop_reading.file"])
def test_a_file_that_the_shop_lost_is_named(shop_as_it_stands: Path, column: str) -> None:
    name = _named(shop_as_it_stands, column)
    (shop_as_it_stands / "media" / name).unlink()
    with pytest.raises(LevelwindError, match=f"The book in the shop names a file that is not there: {name}"):
        shop_prove()


@pytest.mark.parametrize("column", ["shop_photo.picture", "shop_reading.file"])
def test_one_changed_byte_in_a_picture_or_a_recording_is_found(shop_as_it_stands: Path, column: str) -> None:
    name = _named(shop_as_it_stands, column)
    path = shop_as_it_stands / "media" / name
    path.write_bytes(path.read_bytes()[:-1] + b"\x00")
    with pytest.raises(LevelwindError, match=f"damaged file: {name}"):
        shop_prove()


@pytest.mark.parametrize(
    ("harm", "complaint"),
    [
        ("PRAGMA foreign_keys=OFF; DELETE FROM shop_owner;", "The book in the shop has rows that point to nothing"),
        ("ALTER TABLE shop_job RENAME TO shop_jobs;", "The book in the shop cannot be read: no such table"),
    ],
)
def test_a_harmed_book_of_the_shop_is_named(shop_as_it_stands: Path, harm: str, complaint: str) -> None:
    with sqlite3.connect(shop_as_it_stands / BOOK) as book:
        book.executescript(harm)
    with pytest.raises(LevelwindError, match=complaint):
        shop_prove()


def test_a_book_that_is_no_book_and_a_folder_without_one(shop_as_it_stands: Path) -> None:
    (shop_as_it_stands / BOOK).write_bytes(b"not a book" * 500)
    with pytest.raises(LevelwindError, match="The book in the shop cannot be read"):
        shop_prove()
    (shop_as_it_stands / BOOK).unlink()
    with pytest.raises(InputError, match="a folder with a book in it"):
        shop_prove()


def test_the_word_before_is_gone(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["check"])
    assert left.value.code == 2 and "invalid choice: 'check'" in capsys.readouterr().err


def test_a_restore_onto_a_running_shop_is_refused_and_changes_nothing(
    shop_as_it_stands: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """``levelwind open`` holds the latch for as long as it is open."""
    with the_only_one():
        before = sorted(shop_as_it_stands.rglob("*"))
        assert main(["restore", str(tmp_path / "safe")]) == 3
        assert "close it there first" in capsys.readouterr().err
        assert sorted(shop_as_it_stands.rglob("*")) == before


def _named(shop: Path, column: str) -> str:
    table, field = column.split(".")
    with sqlite3.connect(shop / BOOK) as book:
        return str(book.execute(f"SELECT {field} FROM {table}").fetchone()[0])  # noqa: S608


def test_the_commands(shop_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["backup", str(tmp_path / "safe"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["jobs"] == 1
    assert main(["prove", str(tmp_path / "safe")]) == 0
    assert "is whole: 1 jobs" in capsys.readouterr().out
    assert main(["prove", str(tmp_path / "nothing"), "--json"]) == 3
    out, err = capsys.readouterr()
    assert json.loads(out)["status"] == "refused"
    assert len(err.strip().splitlines()) == 1
