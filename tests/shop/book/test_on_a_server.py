"""A book in PostgreSQL copied, proved by restoring, and brought back by Levelwind's own commands."""

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.db import connection
from django.test import Client
from pytest_django import Settings

from levelwind.cli.main import main
from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.backups import backup_restore
from levelwind.shop.book.services.files import BOOK, DUMP, LIST, MEDIA, backups_in, sha256_of
from levelwind.shop.book.services.postgresql import BESIDE, connected, put_in_place
from levelwind.shop.book.services.proving import backup_prove, shop_prove
from levelwind.shop.book.services.schedule import copy_sweep
from levelwind.shop.book.services.versions import refuse_an_outgrown_book
from levelwind.shop.models import Job
from levelwind.shop.people.safekeeping import safekeeping_set
from levelwind.shop.readings.services.readings import recording_upload
from tests.emptied import emptied_afterwards, triggers_back
from tests.jobs import a_job

__all__ = ["emptied_afterwards", "triggers_back"]

pytestmark = pytest.mark.skipif(
    connection.vendor != "postgresql", reason="tests/test_postgresql.py runs it, on a server"
)


@pytest.fixture
def safe(settings: Settings, tmp_path: Path, emptied_afterwards: None) -> Iterator[Path]:
    """A folder for copies, and a shop with one job and one recording."""
    settings.DATA = settings.SHARED = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA / "media"
    settings.MEDIA_ROOT.mkdir(parents=True)
    recording_upload(job=a_job(), kind="pull", moment="found", file=ContentFile(b"not a log", name="log.csv"))
    yield tmp_path / "safe"
    for name in _databases("_before_restore_"):
        _server(f'DROP DATABASE "{name}"')


def _server(words: str) -> list[tuple[object, ...]]:
    with connected(str(connection.settings_dict["NAME"])) as server:
        said = server.execute(words)
        return said.fetchall() if said.description else []


def _databases(like: str) -> list[str]:
    """Those beside this test run's own: others may run on the same server."""
    named = f"datname LIKE '{connection.settings_dict['NAME']}{like}%'"
    return [str(name) for (name,) in _server(f"SELECT datname FROM pg_database WHERE {named}")]  # noqa: S608


def test_it_is_copied_while_open_and_comes_back_once_it_is_closed(
    safe: Path, settings: Settings, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["backup", str(safe), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["jobs"], told["files"]) == (1, 3) and _databases(BESIDE) == []
    a_job("26-0002")
    (kept,) = (path for path in settings.MEDIA_ROOT.rglob("*") if path.is_file())
    kept.write_bytes(b"not a l0g")
    assert main(["prove"]) == 3 and f"damaged file: {kept.relative_to(settings.MEDIA_ROOT)}" in capsys.readouterr().err

    with connected(str(connection.settings_dict["NAME"])) as bench:
        bench.execute("SET application_name = 'Levelwind on bench 2'")
        assert main(["restore", str(safe)]) == 3
        assert "is open (Levelwind on bench 2, from 127.0.0.1): close it there first" in capsys.readouterr().err
        with pytest.raises(LevelwindError, match="is open"):
            put_in_place("reels_beside")
    assert Job.objects.count() == 2 and kept.read_bytes() == b"not a l0g"

    assert main(["restore", str(safe)]) == 0
    (aside,) = _databases("_before_restore_")
    assert f"What was there before is kept in the database {aside}" in capsys.readouterr().out
    assert list(Job.objects.values_list("tag", flat=True)) == ["26-0001"] and _databases(BESIDE) == []
    with connected(aside) as before:
        assert before.execute("SELECT count(*) FROM shop_job").fetchall() == [(2,)]
    assert main(["prove"]) == 0 and "The shop is whole: 1 jobs, and all 1 files" in capsys.readouterr().out
    a_job("26-0003")


def test_a_shop_that_is_not_whole_is_not_called_whole(safe: Path) -> None:
    for harm, said in (
        ("ALTER TABLE shop_moneyentry DISABLE TRIGGER shop_moneyentry_only_grows", "has lost the guard"),
        ("ALTER TABLE shop_moneyentry ENABLE TRIGGER shop_moneyentry_only_grows", ""),
        ("UPDATE shop_balance SET owes_minor = 7", "an owner's balance kept otherwise than the money ledger has it"),
        ("UPDATE shop_balance SET owes_minor = 0", ""),
        (
            "INSERT INTO django_migrations (app, name, applied) VALUES ('shop', '9999_later', now())",
            "a newer Levelwind",
        ),
        ("DELETE FROM django_migrations WHERE name = '9999_later'", ""),
    ):
        _server(harm)
        if "9999_later" in harm and said:
            with pytest.raises(LevelwindError, match=r"changed the book \(9999_later\)"):
                refuse_an_outgrown_book()
        if said:
            with pytest.raises(LevelwindError, match=said):
                shop_prove()
    refuse_an_outgrown_book()
    assert shop_prove().files == 1


def test_the_day_s_copy_and_what_it_needs_and_what_is_wrong_with_it_are_said(
    safe: Path, client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of several machines the one makes it that has the folder. A copy's list is made again after each harm."""
    safekeeping_set(folder=str(safe))
    copy_sweep()
    assert "No copy of the book has been made from here" in client.get("/counter/").content.decode()
    safe.mkdir()
    assert "Copied and proved: 1 jobs, 3 files" in client.post("/counter/copies/now/", follow=True).content.decode()
    assert "last copied and proved" in client.get("/counter/").content.decode()
    (copy,) = backups_in(safe)

    _server("CREATE ROLE poor LOGIN")
    for change, said in (
        ((connection.settings_dict, "USER", "poor"), r"the account poor may make none.*ALTER ROLE poor CREATEDB"),
        ((connection.settings_dict, "PORT", "1"), "does not answer"),
        ((os.environ, "PATH", str(tmp_path)), "pg_restore is not on this machine: install PostgreSQL's client"),
    ):
        with monkeypatch.context() as now, pytest.raises(LevelwindError, match=said):
            now.setitem(*change)  # type: ignore[arg-type]
            backup_prove(folder=safe)
    _server("DROP ROLE poor")
    with monkeypatch.context() as now, pytest.raises(LevelwindError, match="PostgreSQL: set LEVELWIND_DATABASE"):
        now.setattr(connection, "vendor", "sqlite")
        backup_prove(folder=safe)

    whole = (copy / DUMP).read_bytes()
    (copy / DUMP).write_bytes(whole[: len(whole) * 9 // 10])
    _list_again(copy)
    with pytest.raises(LevelwindError, match="pg_restore refused"):
        backup_restore(folder=copy)
    (copy / DUMP).write_bytes(whole)
    shutil.rmtree(copy / MEDIA)
    _list_again(copy)
    with pytest.raises(LevelwindError, match="names a file that is not there"):
        backup_restore(folder=copy)
    (copy / DUMP).rename(copy / BOOK)
    with pytest.raises(LevelwindError, match="is of a book in one file, and this shop keeps its book in PostgreSQL"):
        backup_restore(folder=copy)
    assert _databases(BESIDE) == [] and Job.objects.count() == 1


def _list_again(copy: Path) -> None:
    listed = json.loads((copy / LIST).read_text())
    listed["files"] = {name: sha256_of(copy / name) for name in listed["files"] if (copy / name).is_file()}
    (copy / LIST).write_text(json.dumps(listed))
