"""Which version of this program wrote the book's tables: this one, or one that came later."""

from collections.abc import Iterable
from functools import cache

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from levelwind.core.errors import LevelwindError


def unknown_migrations(applied: Iterable[tuple[str, str]]) -> list[str]:
    """Changes of the shop's own tables that this version has never heard of: a newer one made them.

    A library may gather its old ones into one and drop them, which makes nothing newer.
    """
    return [name for app, name in applied if app == "shop" and (app, name) not in _known()]


@cache
def _known() -> frozenset[tuple[str, str]]:
    return frozenset(MigrationLoader(None, ignore_no_migrations=True).disk_migrations or {})


def refuse_an_outgrown_book() -> None:
    """Raises LevelwindError once a newer Levelwind changed the tables of a book that this one has open.

    A book in one file is open in one process at a time, so that cannot happen to it.
    """
    if connection.vendor == "sqlite":
        return
    newest = MigrationRecorder.Migration.objects.filter(app="shop").order_by("-id").values_list("app", "name")[:1]
    if newer := unknown_migrations(newest):
        raise LevelwindError(
            f"A newer Levelwind changed the book ({newer[0]}): close this one and install that one here too"
        )
