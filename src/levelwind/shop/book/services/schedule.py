"""A copy of the book each day, proved, and of the earlier ones as many kept as are worth keeping."""

import logging
import shutil
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.utils import timezone

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.backups import backup_make
from levelwind.shop.book.services.files import PREFIX, backups_in
from levelwind.shop.book.services.proving import BackupProof, backup_prove
from levelwind.shop.disk import told_in_words
from levelwind.shop.people.safekeeping import safekeeping_get, safekeeping_set

log = logging.getLogger(__name__)

EACH = timedelta(days=1)
AGAIN = timedelta(hours=1)
"""After a try that failed, such as with the stick not in. Our choice."""
OLD = timedelta(days=2)
"""A last copy older than this is told as a warning. Our choice: one day was missed."""
DAYS, WEEKS, MONTHS = 7, 4, 12
"""Of each of so many days, weeks and months the newest copy is kept. Common practice, no source."""
HALF_MADE = timedelta(days=1)
"""A copy still unfinished after so long was cut off."""


def folder_choose(*, folder: str) -> None:
    """Where a copy goes each day; empty for none. Raises InputError for a folder that is not there or is the shop's."""
    if folder:
        _checked(Path(folder))
    safekeeping_set(folder=folder)


def _checked(folder: Path) -> Path:
    own = {Path(settings.DATA).resolve(), Path(settings.SHARED).resolve(), Path(settings.MEDIA_ROOT).resolve()}
    if not folder.is_absolute() or not folder.is_dir():
        raise InputError("folder for copies", folder, "one that is there now, such as a stick that is in: /media/stick")
    if inside := own & {folder.resolve(), *folder.resolve().parents}:
        data = max(inside, key=lambda path: -len(path.parts))
        raise InputError("folder for copies", folder, f"one outside the shop's own folder {data}, best on another disk")
    return folder


def copy_now() -> BackupProof:
    """Make a copy in the chosen folder, prove it, and let go of those no longer worth keeping.

    Raises LevelwindError, which is kept to be shown, for a folder that is not there, a full disk, a shop not whole.
    """
    kept = safekeeping_get()
    try:
        folder = _checked(Path(kept.folder))
        _half_made_clear(folder)
        proof = backup_prove(folder=backup_make(into=folder))
        with told_in_words(folder):
            for old in copies_to_let_go(backups_in(folder)):
                shutil.rmtree(old)
    except LevelwindError as refusal:
        safekeeping_set(tried_at=timezone.now(), said=f"{str(refusal).rstrip('.')}."[:500])
        raise
    now = timezone.now()
    safekeeping_set(tried_at=now, proved_at=now, proved_folder=str(proof.folder)[:400], said="")
    return proof


def copy_sweep() -> None:
    """Make the day's copy where one is due; asked every minute, beside the pages.

    Of several machines on one book the one makes it that has the folder.
    """
    kept, now = safekeeping_get(), timezone.now()
    if not kept.folder or (connection.vendor == "postgresql" and not Path(kept.folder).is_dir()):
        return
    wait = AGAIN if kept.said else EACH
    if kept.tried_at and timedelta() <= now - kept.tried_at < wait:
        return
    try:
        copy_now()
    except LevelwindError as refusal:
        log.warning("The day's copy was not made: %s", refusal)


def copies_to_let_go(folders: Sequence[Path]) -> list[Path]:
    """All but the newest of each of seven days, four weeks and twelve months in which there are any."""
    made = {folder: at for folder in folders if (at := made_at(folder))}
    newest_first = sorted(made, key=lambda folder: made[folder], reverse=True)
    ages: tuple[tuple[int, Callable[[datetime], str]], ...] = (
        (DAYS, lambda at: f"{at:%Y-%m-%d}"),
        (WEEKS, lambda at: f"{at:%G-%V}"),
        (MONTHS, lambda at: f"{at:%Y-%m}"),
    )
    keep: set[Path] = set(newest_first[:1])
    for most, age in ages:
        newest_of: dict[str, Path] = {}
        for folder in newest_first:
            newest_of.setdefault(age(made[folder]), folder)
        keep |= set(list(newest_of.values())[:most])
    return [folder for folder in newest_first if folder not in keep]


def made_at(folder: Path) -> datetime | None:
    """By its name; None for a folder that no copy of ours is called by.

    >>> made_at(Path("levelwind-backup-20261101-120000"))
    datetime.datetime(2026, 11, 1, 12, 0)
    """
    try:
        return datetime.strptime(folder.name, f"{PREFIX}%Y%m%d-%H%M%S")  # noqa: DTZ007 - names are in UTC throughout
    except ValueError:
        return None


def _half_made_clear(folder: Path) -> None:
    """What a copy that was cut off left behind."""
    for half in folder.glob(f".{PREFIX}*.unfinished"):
        at = made_at(half.with_name(half.stem.removeprefix(".")))
        if at and timezone.now().replace(tzinfo=None) - at > HALF_MADE:
            shutil.rmtree(half, ignore_errors=True)
