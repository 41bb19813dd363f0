"""Django, for the few commands that need the shop's book."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

from levelwind.core.errors import LevelwindError


def set_up() -> None:
    """Raises LevelwindError, in a sentence, where the settings in the environment cannot be."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "levelwind.project.settings")
    import django
    from django.core.exceptions import ImproperlyConfigured

    try:
        django.setup()
    except ImproperlyConfigured as error:
        if "psycopg" in str(error):
            missing = (
                "PostgreSQL needs its driver: install levelwind with [postgres], or leave LEVELWIND_DATABASE away."
            )
            raise LevelwindError(missing) from None
        raise LevelwindError(str(error)) from None
    except OSError as error:
        where = error.filename or os.environ.get("LEVELWIND_DATA") or "the shop's folder"
        raise LevelwindError(f"{where}: {error.strerror}.") from None


def bring_up_to_date() -> None:
    """The book's tables as this version wants them; a book that is there is copied first.

    Raises LevelwindError where the database does not answer, the book was lost, or a newer version wrote it.
    """
    from django.conf import settings
    from django.core.management import call_command

    from levelwind.shop.book.services.backups import book_copy_before_update, refuse_a_lost_book
    from levelwind.shop.disk import told_in_words

    refuse_a_lost_book()
    make_sure_it_answers()
    with told_in_words(settings.DATA), _one_at_a_time():
        if _to_be_changed():
            book_copy_before_update()
        call_command("migrate", verbosity=0, interactive=False)


def make_sure_it_answers() -> None:
    """Raises LevelwindError where the database does not: it is down, or its address or password is wrong."""
    from django.conf import settings
    from django.db import OperationalError, connection

    from levelwind.shop.disk import told_in_words

    try:
        with told_in_words(settings.DATA):
            connection.ensure_connection()
    except OperationalError as error:
        why = " ".join(str(error).split())[:200]
        raise LevelwindError(
            f"The database {_where()} does not answer ({why}). Is it running, and the address right?"
        ) from None


UPDATE_LOCK = 1_818_587_502
"""Number of PostgreSQL's advisory lock while tables are changed: any that nothing else in the database takes."""


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    """Several machines may open one database after an update; the first changes its tables, the others wait."""
    from django.db import connection

    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [UPDATE_LOCK])
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [UPDATE_LOCK])


def _to_be_changed() -> bool:
    """Whether this version wants other tables. Raises LevelwindError for a book of a newer version."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from levelwind.shop.book.services.versions import unknown_migrations

    executor = MigrationExecutor(connection)
    if newer := unknown_migrations(executor.loader.applied_migrations):
        raise LevelwindError(
            f"The book {_where()} was written by a newer Levelwind ({newer[0]}): open it with that one."
        )
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def _where() -> str:
    """Without its password."""
    from django.db import connection

    known = connection.settings_dict
    return f"{known['NAME']} at {known['HOST']}" if known.get("HOST") else str(known["NAME"])
