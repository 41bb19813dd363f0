"""Whether a book is the book this program wrote: its tables, its guards, its ledgers, and the files it names.

Everything is asked of the file itself, not through the models, because it may be a backup, or the book of an earlier
version. Each function raises LevelwindError that names the first thing wrong.
"""

import sqlite3
from collections.abc import Collection, Iterable
from pathlib import Path

from django.apps import apps
from django.apps.registry import Apps
from django.db.migrations.loader import MigrationLoader

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.files import climbs, sha256_of

ONLY_ADDED = ("shop_moneyentry", "shop_stockentry", "shop_bill")
"""Tables nothing is ever taken out of, so that their rows are as many as were ever written."""
GUARDS = {
    "shop_stockentry_no_update": "0002",
    "shop_stockentry_no_delete": "0002",
    "shop_moneyentry_no_update": "0002",
    "shop_moneyentry_no_delete": "0002",
    "shop_letter_kept": "0033",
}
"""Triggers that keep what was written as it was, each with the migration it came with."""
FILES_NAMED_IN = (
    ("shop_photo", "picture", "picture_sha256"),
    ("shop_photo", "thumbnail", ""),
    ("shop_patternpicture", "picture", "picture_sha256"),
    ("shop_patternpicture", "thumbnail", ""),
    ("shop_reading", "file", "sha256"),
    ("shop_reading", "still", ""),
)
"""Where the book names a file that must be there, and where its sum stands, if the book keeps one.

A book of an earlier version may not have the column yet."""
SUMS: tuple[tuple[str, str, dict[str, str]], ...] = (
    (
        "the stock of a part below nothing",
        "SELECT p.number FROM shop_stockentry e JOIN shop_part p ON p.id = e.part_id "
        "GROUP BY e.part_id, e.used HAVING sum(e.change) < 0 LIMIT 1",
        {},
    ),
    (
        "the stock of a part kept otherwise than its ledger has it",
        "SELECT p.number FROM shop_part p LEFT JOIN shop_partstock s ON s.part_id = p.id LEFT JOIN "
        "(SELECT part_id, sum(change) AS here, sum(CASE WHEN used THEN change ELSE 0 END) AS used FROM shop_stockentry "
        "GROUP BY part_id) e ON e.part_id = p.id WHERE s.here IS NOT COALESCE(e.here, 0) "
        "OR s.used IS NOT COALESCE(e.used, 0) OR s.new IS NOT s.here - s.used LIMIT 1",
        {"shop_partstock": "here"},
    ),
    (
        "a part with another count on order than its orders come to",
        "SELECT p.number FROM shop_partstock s JOIN shop_part p ON p.id = s.part_id LEFT JOIN (SELECT part_id, "
        "sum(count) AS coming FROM shop_partorder WHERE arrived_on IS NULL GROUP BY part_id) o ON o.part_id = p.id "
        "WHERE s.on_order != COALESCE(o.coming, 0) LIMIT 1",
        {"shop_partstock": "on_order"},
    ),
    (
        "an owner's balance kept otherwise than the money ledger has it",
        "SELECT o.name FROM shop_owner o LEFT JOIN shop_balance b ON b.owner_id = o.id LEFT JOIN (SELECT "
        "COALESCE(m.owner_id, j.owner_id) AS whose, sum(m.amount_minor) AS owes FROM shop_moneyentry m LEFT JOIN "
        "shop_job j ON j.id = m.job_id GROUP BY 1) e ON e.whose = o.id WHERE b.owes_minor IS NOT COALESCE(e.owes, 0) "
        "LIMIT 1",
        {"shop_balance": "owes_minor"},
    ),
    (
        "a payment taken back with another sum than it was",
        "SELECT r.text FROM shop_moneyentry r JOIN shop_moneyentry e ON e.id = r.reverses_id "
        "WHERE r.amount_minor + e.amount_minor != 0 LIMIT 1",
        {"shop_moneyentry": "reverses_id"},
    ),
    (
        "a void bill that still comes to something",
        "SELECT b.number FROM shop_bill b JOIN shop_moneyentry e ON e.bill_id = b.id "
        "WHERE b.voided_at IS NOT NULL GROUP BY b.id HAVING sum(e.amount_minor) != 0 LIMIT 1",
        {"shop_bill": "voided_at"},
    ),
)
"""What the ledgers can never come to: in words, as a question to the book, and the columns it needs."""


def book_prove(book: sqlite3.Connection, whose: str) -> int:
    """The book is whole, of a version known here, with all its tables and guards, and its ledgers add up.

    Gives the number of jobs.
    """
    try:
        if book.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
            raise LevelwindError(f"The book in {whose} is damaged.")
        _tables(book, whose)
        if book.execute("PRAGMA foreign_key_check").fetchone():
            raise LevelwindError(f"The book in {whose} has rows that point to nothing.")
        _guards(book, whose)
        _nothing_taken_out(book, whose)
        _sums(book, whose)
        return int(book.execute("SELECT count(*) FROM shop_job").fetchone()[0])
    except sqlite3.DatabaseError as error:
        raise LevelwindError(f"The book in {whose} cannot be read: {error}.") from None


def files_prove(book: sqlite3.Connection, whose: str, media: Path, without: Collection[str] = ()) -> dict[str, str]:
    """Every file the book names is there, is not empty, and is as it was written; gives each with its sum.

    Without a sum where the book keeps none. ``without`` are known to be lost.
    """
    try:
        named = _files_named(book)
    except sqlite3.DatabaseError as error:
        raise LevelwindError(f"The book in {whose} cannot be read: {error}.") from None
    for name, sha256 in named.items():
        path = media / name
        if name in without:
            continue
        if climbs(name):
            raise LevelwindError(f"The book in {whose} names a file outside its folder: {name}.")
        if not path.is_file():
            raise LevelwindError(f"The book in {whose} names a file that is not there: {name}.")
        if not sha256 and not path.stat().st_size:
            raise LevelwindError(f"{whose.capitalize()} has an empty file: {name}.")
        if sha256 and sha256_of(path) != sha256:
            raise LevelwindError(f"{whose.capitalize()} has a damaged file: {name}. A backup may have it whole.")
    return named


def unknown_migrations(applied: Iterable[tuple[str, str]]) -> list[str]:
    """Changes of the shop's own tables that this version has never heard of: a newer one made them.

    A library may gather its old ones into one and drop them, which makes nothing newer.
    """
    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations or {}
    return [name for app, name in applied if app == "shop" and (app, name) not in known]


def _tables(book: sqlite3.Connection, whose: str) -> None:
    """Against the models as they were after the migrations that this book has seen."""
    applied = _applied(book)
    if not any(app == "shop" for app, _ in applied):
        raise LevelwindError(f"The book in {whose} is empty.")
    if newer := unknown_migrations(applied):
        raise LevelwindError(
            f"The book in {whose} was written by a newer Levelwind ({newer[0]}): only that one can read it."
        )
    for model in _models(applied).get_models(include_auto_created=True):
        table = model._meta.db_table
        if not model._meta.managed or model._meta.proxy:
            continue
        there = _columns(book, table)
        if not there:
            raise LevelwindError(f"The book in {whose} cannot be read: no such table: {table}.")
        lost = {str(field.column) for field in model._meta.local_concrete_fields} - there
        if lost:
            raise LevelwindError(f"The book in {whose} cannot be read: {table} has lost {', '.join(sorted(lost))}.")


def _models(applied: set[tuple[str, str]]) -> Apps:
    loader = MigrationLoader(None, ignore_no_migrations=True)
    if applied >= set(loader.graph.nodes):
        return apps
    return loader.project_state([node for node in loader.graph.nodes if node in applied]).apps


def _applied(book: sqlite3.Connection) -> set[tuple[str, str]]:
    if not _columns(book, "django_migrations"):
        return set()
    return set(book.execute("SELECT app, name FROM django_migrations"))


def _columns(book: sqlite3.Connection, table: str) -> set[str]:
    return {row[1] for row in book.execute(f"PRAGMA table_info({table})")}


def _guards(book: sqlite3.Connection, whose: str) -> None:
    seen = {name[:4] for app, name in _applied(book) if app == "shop"}
    there = {name for (name,) in book.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
    for guard, since in GUARDS.items():
        if since in seen and guard not in there:
            raise LevelwindError(f"The book in {whose} has lost the guard {guard}: its ledgers may have been changed.")


def _nothing_taken_out(book: sqlite3.Connection, whose: str) -> None:
    """A row's key is never given twice, so the highest ever given is how many there must be."""
    for table in ONLY_ADDED:
        given = book.execute("SELECT seq FROM sqlite_sequence WHERE name = ?", (table,)).fetchone()
        (there,) = book.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
        if given and there < given[0]:
            what = table.removeprefix("shop_")
            raise LevelwindError(
                f"The book in {whose} has lost rows of its {what} table: {given[0]} were written, {there} are there."
            )


def _sums(book: sqlite3.Connection, whose: str) -> None:
    for words, question, needs in SUMS:
        if all(column in _columns(book, table) for table, column in needs.items()):
            found = book.execute(question).fetchone()
            if found:
                raise LevelwindError(f"The book in {whose} has {words}: {found[0]}.")


def _files_named(book: sqlite3.Connection) -> dict[str, str]:
    """Every file the book names, with its sum; without one where the book keeps none."""
    named: dict[str, str] = {}
    for table, column, sum_column in FILES_NAMED_IN:
        there = _columns(book, table)
        if column in there:
            kept = sum_column if sum_column in there else "''"
            named |= book.execute(f"SELECT {column}, {kept} FROM {table} WHERE {column} != ''").fetchall()  # noqa: S608
    return named
