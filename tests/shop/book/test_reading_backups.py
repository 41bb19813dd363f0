"""A backup holds readings' files and stills, and one that lost either is refused."""

import json
import sqlite3
from pathlib import Path

import pytest
from pytest_django import Settings

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.backups import backup_make
from levelwind.shop.book.services.files import BOOK, LIST, sha256_of
from levelwind.shop.book.services.proving import backup_prove
from levelwind.shop.models import Reading
from levelwind.shop.readings.services.files import still_keep
from levelwind.shop.readings.services.readings import recording_upload
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def backup(settings: Settings, tmp_path: Path) -> Path:
    settings.DATA = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA / "media"
    settings.DATA.mkdir()
    reading = recording_upload(job=a_job(), kind="pull", moment="found", file=a_log())
    still_keep(reading=reading, jpeg=b"\xff\xd8\xff as good as a picture")
    reading.save(update_fields=["still"])
    return backup_make(into=tmp_path / "safe")


def test_both_are_in_it(backup: Path) -> None:
    reading = Reading.objects.get()
    assert backup_prove(folder=backup).files == 4
    for name in (reading.file.name, reading.still.name):
        assert (backup / "media" / name).is_file()


@pytest.mark.parametrize("lost", ["file", "still"])
def test_one_that_is_gone_without_a_trace_is_missed(backup: Path, lost: str) -> None:
    name = getattr(Reading.objects.get(), lost).name
    (backup / "media" / name).unlink()
    _relist(backup, {f"media/{name}"})
    with pytest.raises(LevelwindError, match=f"names a file that is not there: {name}"):
        backup_prove(folder=backup)


def test_a_book_without_a_column_that_no_version_was_without_is_not_called_whole(backup: Path) -> None:
    """The first tables had it already: this program could not open such a book."""
    with sqlite3.connect(backup / BOOK) as book:
        book.execute("ALTER TABLE shop_reading DROP COLUMN still")
    _relist(backup, {BOOK})
    with pytest.raises(LevelwindError, match="shop_reading has lost still"):
        backup_prove(folder=backup)


def _relist(backup: Path, without: set[str]) -> None:
    """The list made again, as whoever meant harm would, or as an earlier version made it."""
    listed = json.loads((backup / LIST).read_text())
    files = {path.relative_to(backup).as_posix(): sha256_of(path) for path in backup.rglob("*") if path.is_file()}
    listed["files"] = {name: files[name] for name in listed["files"] if name in files and name not in without - {BOOK}}
    (backup / LIST).write_text(json.dumps(listed))
