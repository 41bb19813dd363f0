"""On a machine without fcntl, resource, pwd, SIGALRM and killpg, such as one with Windows, what a bench needs goes."""

import json
import os
import sqlite3
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import setuptools
from django.db import connection

from levelwind.demo.simulation import PRESETS, Hand, Rig, Scale, simulate_log
from levelwind.shop import disk
from tests.core.spin.films import Scene, encoded, shoot_with_truth, stop_after

ROOT = Path(__file__).parents[2]
WITHOUT = """
import asyncio, filelock, getpass, os, platformdirs, psutil, shutil, signal, socket, subprocess, sys, tempfile
# What these use of the system they run on is their own matter; from here on there is no more of it.
for name in ("fcntl", "resource", "pwd", "grp", "termios"):
    sys.modules[name] = None
for name in ("killpg", "setsid", "getuid", "geteuid", "fork", "statvfs", "pidfd_open"):
    delattr(os, name)
for name in ("SIGALRM", "SIGXCPU", "setitimer", "alarm"):
    delattr(signal, name)
"""
DAY = """
import os, signal, sys, threading, urllib.request
from levelwind.cli.main import main

class Page(threading.Thread):
    def __init__(self, out):
        super().__init__()
        self.out, self.said = out, ""
    def write(self, text):
        self.said += text
        if "Ctrl-C" in text:
            self.start()
    def flush(self):
        pass
    def run(self):
        address = self.said.split(" at ")[1].split("  ")[0]
        try:
            with urllib.request.urlopen(address, timeout=60) as page:
                print("page", page.status, file=self.out)
        finally:
            os.kill(os.getpid(), signal.SIGTERM)

film, log, copies = sys.argv[1:]
screen, sys.stdout = sys.stdout, Page(sys.stdout)
opened = main(["open", "--port", "0"])
sys.stdout = screen
print("open", opened, flush=True)
for words in (["spin", film, "--json"], ["pull", log, "--json"], ["backup", copies], ["prove", copies]):
    print(words[0], main(words), flush=True)
"""


@pytest.mark.django_db
def test_a_day_goes_without_what_only_one_kind_of_system_has(tmp_path: Path) -> None:
    shop, site = tmp_path / "½ shop #1?", tmp_path / "site"
    shop.mkdir()
    site.mkdir()
    with sqlite3.connect(str(connection.settings_dict["NAME"])) as made, sqlite3.connect(shop / "book.sqlite3") as copy:
        made.backup(copy)
    (site / "sitecustomize.py").write_text(WITHOUT)
    said = _day(tmp_path, LEVELWIND_DATA=str(shop), PYTHONPATH=os.pathsep.join([str(site), str(ROOT / "src")]))
    told = [json.loads(line) for line in said if line.startswith("{")]
    assert {"page 200", "open 0", "spin 0", "pull 0", "backup 0", "prove 0"} <= set(said), said
    assert [(one["kind"], one["status"]) for one in told] == [("spin", "ok"), ("pull", "ok")]
    assert told[0]["source"] == "video" and len(told[1]["pulls"]) == 1


def _day(folder: Path, **more: str) -> list[str]:
    scene = stop_after(replace(Scene(), frames_per_s=30.0, shake=0.0, roll=0.0, lamp_depth=0.0), 3.0)
    full, made = shoot_with_truth(scene, np.random.default_rng(5))
    (folder / "película.mp4").write_bytes(encoded(full, made.t_s))
    pull = simulate_log(PRESETS["dry leather"], np.random.default_rng(2), rig=Rig(), hand=Hand(), scale=Scale())
    (folder / "pull.csv").write_text(pull.as_csv("kgf"))
    environment = {name: text for name, text in os.environ.items() if not name.startswith(("DJANGO", "LEVELWIND"))}
    command = [sys.executable, "-c", DAY, folder / "película.mp4", folder / "pull.csv", folder / "copies"]
    ended = subprocess.run(command, env=environment | more, capture_output=True, text=True, check=False, timeout=300)
    assert ended.returncode == 0, ended.stdout + ended.stderr
    return ended.stdout.splitlines()


def test_where_no_folder_can_be_flushed_its_files_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As on Windows, which opens no folder, and flushes no file that was opened to be read alone."""
    opened: list[tuple[Path, int]] = []

    def opening(path: Path, flags: int) -> int:
        opened.append((path, flags))
        return os.open(path, flags)

    monkeypatch.setattr(disk, "WINDOWS", True)
    monkeypatch.setattr(disk, "os", type("System", (), {**vars(os), "open": staticmethod(opening)}))
    (tmp_path / "picture.jpg").write_bytes(b"x")
    disk.flush_with_folders(tmp_path / "picture.jpg", up_to=tmp_path)
    assert opened == [(tmp_path / "picture.jpg", os.O_RDWR)]


def test_a_day_is_written_as_every_system_can() -> None:
    """``%-d`` is known to some C libraries alone (Python's documentation of strftime, from memory)."""
    sources = (ROOT / "src").rglob("*.py")
    assert not [path.name for path in sources if "%-d" in path.read_text(encoding="utf-8")]


def test_the_wheel_takes_all_that_is_no_program_along(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    listed = setuptools.Distribution()
    listed.parse_config_files()
    build = listed.get_command_obj("build_py")
    build.ensure_finalized()
    build.manifest_files = {}  # nothing but what pyproject.toml names
    packed = {Path(path) for path in build.find_data_files("levelwind", "src/levelwind")}
    assert build.packages and all(package.split(".")[0] == "levelwind" for package in build.packages)
    there = {
        path.relative_to(ROOT)
        for path in (ROOT / "src/levelwind").rglob("*")
        if path.is_file() and path.suffix not in (".py", ".pyc") and not path.name.startswith(".")
    }
    assert len(there) > 300 and there <= packed
