"""What is not whole is never called whole; a restore cut off anywhere leaves a shop; no lost book is opened over.

The shop is the kept book (``tests/kept``), which an older version wrote: 56 jobs, money, stock, pictures, recordings.
"""

import errno
import json
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from pytest_django import Settings

from levelwind.core.errors import LevelwindError
from levelwind.shop import disk
from levelwind.shop.book.services import backups
from levelwind.shop.book.services.backups import (
    COPYING,
    PROVED,
    backup_restore,
    book_copy_before_update,
    refuse_a_lost_book,
    restore_finish,
)
from levelwind.shop.book.services.files import BOOK, LIST, sha256_of
from levelwind.shop.book.services.proving import backup_damaged, backup_prove, shop_prove
from levelwind.shop.disk import FlushedStorage, told_in_words, trouble_in_words
from tests.kept.book import unpack

JOBS = 56


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return unpack(tmp_path_factory.mktemp("kept"))


@pytest.fixture
def backup(kept: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(kept, tmp_path / "levelwind-backup-20261101-120000"))


@pytest.fixture
def shop(kept: Path, settings: Settings, tmp_path: Path) -> Path:
    """The same as a shop that stands."""
    settings.DATA = Path(shutil.copytree(kept, tmp_path / "data", ignore=shutil.ignore_patterns(LIST)))
    settings.MEDIA_ROOT = settings.DATA / "media"
    return Path(settings.DATA)


def _a_file(folder: Path, table: str, column: str) -> Path:
    with sqlite3.connect(folder / BOOK) as book:
        name = book.execute(f"SELECT {column} FROM {table} WHERE {column} != ''").fetchone()[0]  # noqa: S608
    return folder / "media" / str(name)


def _sql(script: str) -> Callable[[Path], None]:
    def harm(folder: Path) -> None:
        with sqlite3.connect(folder / BOOK) as book:
            book.executescript(script)

    return harm


def _cut(folder: Path) -> None:
    path = _a_file(folder, "shop_reading", "file")
    path.write_bytes(path.read_bytes()[:100])


HARMS: dict[str, tuple[Callable[[Path], None], str]] = {
    "a recording cut to 100 bytes": (_cut, "has a damaged file: readings/"),
    "a thumbnail emptied": (
        lambda f: _a_file(f, "shop_photo", "thumbnail").write_bytes(b""),
        "has an empty file: photos/",
    ),  # type: ignore[dict-item, return-value]
    "a dropped table": (_sql("PRAGMA foreign_keys=OFF; DROP TABLE shop_bonereel;"), "no such table: shop_bonereel"),
    "a dropped column": (_sql("ALTER TABLE shop_owner DROP COLUMN phone;"), "shop_owner has lost phone"),
    "a third of the money entries gone": (
        _sql(
            "DROP TRIGGER shop_moneyentry_no_delete; DELETE FROM shop_moneyentry WHERE id % 3 = 0;"
            "CREATE TRIGGER shop_moneyentry_no_delete BEFORE DELETE ON shop_moneyentry "
            "BEGIN SELECT RAISE(ABORT, ''); END;"
        ),
        "has lost rows of its moneyentry table: 115 were written, 77 are there",
    ),
    "a bill gone": (
        _sql(
            "PRAGMA foreign_keys=OFF; DROP TRIGGER shop_moneyentry_no_update;"
            "UPDATE shop_moneyentry SET bill_id = NULL WHERE bill_id = 3; DELETE FROM shop_bill WHERE id = 3;"
        ),
        "has lost",
    ),
    "its guards gone": (
        _sql("DROP TRIGGER shop_stockentry_no_update;"),
        "has lost the guard shop_stockentry_no_update",
    ),
    "stock at -9999": (
        _sql(
            "INSERT INTO shop_stockentry (at, by, note, part_id, used, change, why, unit_cost_minor)"
            "SELECT at, '', '', part_id, used, -9999, 'counted', 0 FROM shop_stockentry LIMIT 1;"
        ),
        "has the stock of a part below nothing",
    ),
    "a name that climbs": (_sql("UPDATE shop_reading SET file = '../' || file;"), "names a file outside its folder"),
    "a newer program's table": (
        _sql("INSERT INTO django_migrations (app, name, applied) VALUES ('shop', '9999_later', '2026-11-01');"),
        "was written by a newer Levelwind",
    ),
    "nothing in it": (lambda f: (f / BOOK).write_bytes(b""), "is empty"),  # type: ignore[dict-item, return-value]
}


@pytest.mark.parametrize("harm", HARMS)
def test_a_shop_or_a_backup_that_is_not_whole_is_not_called_whole(shop: Path, backup: Path, harm: str) -> None:
    """The backup's list is made again after the harm, so that it is not the list that tells."""
    does, said = HARMS[harm]
    does(shop)
    with pytest.raises(LevelwindError, match=said):
        shop_prove()
    does(backup)
    listed = json.loads((backup / LIST).read_text())
    listed["files"] = {name: sha256_of(backup / name) for name in listed["files"]}
    (backup / LIST).write_text(json.dumps(listed))
    with pytest.raises(LevelwindError, match=said):
        backup_prove(folder=backup)


def test_what_is_whole_is_called_whole_and_what_the_list_does_not_name_is_not_signed(shop: Path, backup: Path) -> None:
    assert shop_prove().jobs == backup_prove(folder=backup).jobs == JOBS
    (backup / "media" / "photos" / "slipped-in.jpg").write_bytes(b"x")
    with pytest.raises(LevelwindError, match="file that its list does not name: media/photos/slipped-in"):
        backup_prove(folder=backup)
    (backup / LIST).write_text("[" * 200_000)
    with pytest.raises(LevelwindError, match="cannot be read"):
        backup_prove(folder=backup)


def test_a_shop_from_before_pictures_had_sums_is_whole(shop: Path) -> None:
    """Of that book only the recordings have theirs."""
    with sqlite3.connect(shop / BOOK) as book:
        recordings = book.execute("SELECT count(DISTINCT file) FROM shop_reading WHERE file != ''").fetchone()[0]
        assert not [row for row in book.execute("PRAGMA table_info(shop_photo)") if row[1] == "picture_sha256"]
    proof = shop_prove()
    assert 0 < proof.compared == recordings < proof.files


def _state(shop: Path) -> str:
    """What stands there: the shop as it was, the one restored, or what is said to whoever opens it."""
    try:
        refuse_a_lost_book()
        shop_prove()
    except LevelwindError as refusal:
        return str(refusal)
    return "restored" if _owner(shop) == "Ansa Vell of the backup" else "as it was"


def _owner(shop: Path) -> str:
    with sqlite3.connect(shop / BOOK) as book:
        return str(book.execute("SELECT name FROM shop_owner ORDER BY id").fetchone()[0])


@pytest.fixture
def other(backup: Path) -> Path:
    """A backup that can be told from the shop."""
    _sql("UPDATE shop_owner SET name = 'Ansa Vell of the backup' WHERE id = (SELECT min(id) FROM shop_owner);")(backup)
    listed = json.loads((backup / LIST).read_text())
    listed["files"][BOOK] = sha256_of(backup / BOOK)
    (backup / LIST).write_text(json.dumps(listed))
    return backup


class Killed(BaseException):
    """As a process that is killed: nothing tidies up after it."""


def test_a_restore_cut_off_anywhere_leaves_the_old_shop_or_goes_on(
    shop: Path, other: Path, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each time one step further, until it comes through; the next start finds a whole shop, old or new."""
    (shop / f"{BOOK}-wal").write_bytes(b"")
    left, seen = 0, []

    def cut_off(path: Path) -> None:
        nonlocal left
        if left == 0:
            raise Killed
        left -= 1

    with monkeypatch.context() as cut:
        cut.setattr("levelwind.shop.book.services.files.flush", lambda path: None)
        cut.setattr(backups, "backup_prove", lambda folder, without: None)
        cut.setattr(backups, "flush", cut_off)
        for steps in range(12):
            left = steps
            try:
                backup_restore(folder=other)
            except Killed:
                pass
            else:
                break
            left = 1000
            restore_finish()
            seen.append(_state(shop))
            shutil.rmtree(shop)
            shutil.copytree(kept, shop, ignore=shutil.ignore_patterns(LIST))
    assert _state(shop) == "restored"
    assert set(seen) == {"as it was", "restored"} and seen == sorted(seen) and len(seen) > 5
    assert not (shop / COPYING).exists() and not (shop / PROVED).exists()


def test_a_restore_onto_a_full_disk_changes_nothing_and_says_so(
    shop: Path, other: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(source: Path, target: Path) -> None:
        Path(target).write_bytes(b"half")
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("levelwind.shop.book.services.files.shutil.copy2", full)
    with pytest.raises(LevelwindError, match="The disk is full"):
        backup_restore(folder=other)
    assert _state(shop) == "as it was" and sorted(os.listdir(shop)) == [BOOK, "media"]


def test_a_damaged_backup_is_refused_before_anything_is_moved(shop: Path, other: Path) -> None:
    _cut(other)
    with pytest.raises(LevelwindError, match="damaged file"):
        backup_restore(folder=other)
    assert _state(shop) == "as it was" and sorted(os.listdir(shop)) == [BOOK, "media"]
    damaged = backup_damaged(folder=other)
    assert len(damaged) == 1 and all(name.startswith("media/readings/") for name in damaged)
    backup_restore(folder=other, without=damaged)
    (lost,) = damaged
    assert _owner(shop) == "Ansa Vell of the backup" and not (shop / lost).exists()
    assert f"names a file that is not there: {lost.removeprefix('media/')}" in _state(shop)


def test_an_empty_book_beside_a_shop_is_not_opened(shop: Path) -> None:
    (shop / BOOK).write_bytes(b"")
    assert "gone or empty, but its pictures and recordings are still there" in _state(shop)
    aside = shop / "before-restore-20261101-120000"
    aside.mkdir()
    (aside / BOOK).write_bytes(b"the old one")
    (shop / BOOK).unlink()
    assert f"lies in {aside}: move its book and media back, or restore again" in _state(shop)
    shutil.rmtree(aside)
    shutil.rmtree(shop / "media")
    refuse_a_lost_book()


def test_the_book_is_copied_before_its_tables_are_changed(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for day in range(1, 6):
        (shop / f"before-update-2026110{day}-120000.sqlite3").write_bytes(b"older")
    monkeypatch.setattr(backups, "_copy_book", lambda half: shutil.copy2(shop / BOOK, half))
    copy = book_copy_before_update()
    assert copy is not None and sha256_of(copy) == sha256_of(shop / BOOK)
    assert len(list(shop.glob("before-update-*"))) == backups.KEPT_BEFORE_UPDATES
    (shop / BOOK).unlink()
    shutil.rmtree(shop / "media")
    assert "a copy of it is" in _state(shop)


def test_a_photo_is_on_the_disk_before_it_is_acknowledged_and_never_there_by_half(
    tmp_path: Path, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "uploads"
    settings.FILE_UPLOAD_TEMP_DIR.mkdir()
    store, flushed = FlushedStorage(location=tmp_path / "media"), []
    monkeypatch.setattr(disk, "flush", flushed.append)
    store.save("photos/ab/x.jpg", ContentFile(b"picture"))
    media = tmp_path / "media"
    assert flushed[1:] == [media / "photos/ab/x.jpg", media / "photos/ab", media / "photos", media]
    assert flushed[0].parent == settings.FILE_UPLOAD_TEMP_DIR

    def full(path: Path) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(disk, "flush", full)
    with pytest.raises(OSError, match="No space"):
        store.save("photos/cd/y.jpg", ContentFile(b"picture"))
    assert not (media / "photos/cd").exists() and not os.listdir(settings.FILE_UPLOAD_TEMP_DIR)


def test_a_disk_that_refuses_is_named_and_nothing_else_is(tmp_path: Path) -> None:
    with pytest.raises(LevelwindError, match=f"^{tmp_path}: The disk takes no writing"), told_in_words(tmp_path):
        raise OSError(errno.EROFS, "Read-only file system")
    with pytest.raises(LevelwindError, match="The disk is full"), told_in_words(tmp_path):
        raise sqlite3.OperationalError("database or disk is full")
    assert trouble_in_words(ValueError("disk is full")) is None


def test_a_book_that_a_read_only_disk_does_not_open_is_called_so_and_not_lost(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuses(*_: object, **__: object) -> None:
        raise sqlite3.OperationalError("unable to open database file")

    monkeypatch.setattr(sqlite3, "connect", refuses)
    for does in (shop_prove, refuse_a_lost_book):
        with pytest.raises(LevelwindError, match="the disk may be full, or belong to another account"):
            does()


def test_what_is_no_trouble_of_a_disk_is_not_called_one(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), told_in_words(tmp_path):
        raise ZeroDivisionError
