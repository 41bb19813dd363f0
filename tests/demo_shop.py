"""The invented shop, seeded once for every test that needs it and kept while nothing that shapes it changes.

Seeding takes most of a minute, so its folder is kept under ``var/`` by the sum of the source it came from and by the
day: the shop is told up to yesterday. Whoever needs the shop takes a copy.
"""

import fcntl
import shutil
from collections.abc import Iterator
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
    KEPT.mkdir(parents=True, exist_ok=True)
    with (KEPT / "demo.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        template = KEPT / f"demo-{_sum()[:16]}-{timezone.localdate()}"
        if not template.exists():
            for old in KEPT.glob("demo-*"):
                shutil.rmtree(old)
            _seed_into(KEPT / "demo-under-way")
            (KEPT / "demo-under-way").rename(template)
        return Path(shutil.copytree(template, to))


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
    with book_in(folder), reading_here():
        call_command("migrate", verbosity=0, interactive=False)
        seed()


def _sum() -> str:
    """Of every file below the demo and in it, names and contents."""
    whole = sha256()
    for path in sorted(SOURCE.rglob("*")):
        if path.is_file() and path.suffix != ".pyc" and path.relative_to(SOURCE).parts[0] not in NO_PART_IN_IT:
            whole.update(f"{path.relative_to(SOURCE)}\n{sha256(path.read_bytes()).hexdigest()}\n".encode())
    return whole.hexdigest()
