"""The short form of ``make fire``: the same script, killed a few times; each thing it tries is said in a sentence."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

ROOT = Path(__file__).parent.parent.parent


@pytest.mark.django_db
def test_a_shop_under_fire_loses_nothing_it_acknowledged(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite3"
    with sqlite3.connect(str(connection.settings_dict["NAME"])) as made, sqlite3.connect(book) as copy:
        made.backup(copy)
    environment = {name: text for name, text in os.environ.items() if not name.startswith(("DJANGO", "LEVELWIND"))}
    command = [sys.executable, "scripts/fire.py", "--kills", "2", "--book", str(book)]
    ended = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=300)
    said = dict(line.split(": ", 1) for line in ended.stdout.splitlines())
    assert ended.returncode == 0 and "LOST" not in ended.stdout, ended.stdout + ended.stderr
    assert "none lost; ledgers and files whole" in said["killed while writing"]
    assert "each is whole" in said["killed while copying"]
    assert "the shop was whole after each" in said["killed while restoring"]
    assert "has a damaged file" in said["a copy cut short"]
    assert "disk" in said["a full disk"]
    assert "clock says 1 January 1970" in said["a clock in 1970"]
    assert "close it there first" in said["two on one book"]
