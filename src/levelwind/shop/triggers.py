"""Triggers that keep tables of the book's own, written for either database."""

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.utils import CursorWrapper


def trigger_made(vendor: str, name: str, *, table: str, verb: str, does: str, columns: str = "") -> list[str]:
    """Statements that make it: what it ``does`` after a row is written; of an update, one of these ``columns``."""
    of = f" OF {columns}" if columns else ""
    when = f"CREATE TRIGGER {name} AFTER {verb}{of} ON {table}"
    if vendor == "sqlite":
        return [f"{when} BEGIN {does} END"]
    return [
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {does} RETURN NULL; END $$",
        f"{when} FOR EACH ROW EXECUTE FUNCTION {name}()",
    ]


def triggers_there(connection: BaseDatabaseWrapper, cursor: CursorWrapper, prefix: str) -> int:
    """How many triggers have a name that begins so."""
    kept = "sqlite_master WHERE type = 'trigger'" if connection.vendor == "sqlite" else "pg_trigger WHERE true"
    name = "name" if connection.vendor == "sqlite" else "tgname"
    cursor.execute(f"SELECT count(*) FROM {kept} AND {name} LIKE '{prefix}\\_%' ESCAPE '\\'")  # noqa: S608
    return int(cursor.fetchone()[0])
