"""An empty book and the invented shop, each made once and kept while nothing that shapes it changes.

Seeding takes most of a minute, so the shop's folder is kept under ``var/`` by the sum of the source it came from and by
the day: it is told up to yesterday. Sixty migrations take ten seconds, so the empty book is kept likewise. Whoever
needs one takes a copy.
"""

import fcntl
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

from django.core.management import call_command
from django.db import connections
from django.test import override_settings
from django.utils import timezone

from levelwind.demo.seed import seed
from tests.reading_here import reading_here

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "levelwind"
KEPT = ROOT / "var" / "tests"
NO_PART_IN_IT = ("web", "cli", "project")
"""Packages above the demo, which never shape it."""


def demo_copy(to: Path) -> Path:
    """A copy of the seeded shop in the new folder ``to``, as ``LEVELWIND_DATA`` names it; seeded first if need be."""
    return Path(shutil.copytree(_kept("demo", f"{_sum(SOURCE)[:16]}-{timezone.localdate()}", _seed_into), to))


def empty_book() -> Path:
    """A migrated book without a row of the shop's, not to be written to."""
    shop = SOURCE / "shop"
    whole = "".join(_sum(shop / folder) for folder in ("migrations", "models", "finding"))
    files = (shop / "sums.py", shop / "triggers.py", ROOT / "requirements-dev.txt")  # other packages bring tables too
    whole += "".join(sha256(file.read_bytes()).hexdigest() for file in files)
    return _kept("empty", sha256(whole.encode()).hexdigest()[:16], _migrate_into) / "book.sqlite3"


def _kept(kind: str, of: str, make: Callable[[Path], None]) -> Path:
    """The folder that ``make`` fills, made by whoever is first; others wait for it. One of a kind is kept."""
    KEPT.mkdir(parents=True, exist_ok=True)
    with (KEPT / f"{kind}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        template = KEPT / f"{kind}-{of}"
        if not template.exists():
            for old in KEPT.glob(f"{kind}-*"):
                shutil.rmtree(old)
            make(KEPT / f"{kind}-under-way")
            (KEPT / f"{kind}-under-way").rename(template)
        return template


@contextmanager
def book_in(folder: Path) -> Iterator[None]:
    """The database and the media of the shop in ``folder`` in place of the test's own."""
    connection = connections["default"]
    own = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = str(folder / "book.sqlite3")
    try:
        with override_settings(MEDIA_ROOT=folder / "media"):
            yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = own


def _seed_into(folder: Path) -> None:
    (folder / "media").mkdir(parents=True)
    shutil.copy(empty_book(), folder)
    with book_in(folder), reading_here():
        seed()


def _migrate_into(folder: Path) -> None:
    folder.mkdir()
    if connections["default"].vendor != "sqlite":
        in_one_file = {"LEVELWIND_DATA": str(folder), "LEVELWIND_DATABASE": ""}
        settings = {"DJANGO_SETTINGS_MODULE": "levelwind.project.settings"}
        migrating = [sys.executable, "-m", "django", "migrate", "--verbosity", "0", "--no-input"]
        subprocess.run(migrating, env=os.environ | in_one_file | settings, check=True)
        return
    with book_in(folder):
        call_command("migrate", verbosity=0, interactive=False)
        with connections["default"].cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _sum(top: Path) -> str:
    """Of every file in this folder that may shape the shop, names and contents."""
    whole = sha256()
    for path in sorted(top.rglob("*")):
        if path.is_file() and path.suffix != ".pyc" and path.relative_to(SOURCE).parts[0] not in NO_PART_IN_IT:
            whole.update(f"{path.relative_to(SOURCE)}\n{sha256(path.read_bytes()).hexdigest()}\n".encode())
    return whole.hexdigest()
