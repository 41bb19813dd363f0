"""Whether a book is the book this program wrote: its tables, its guards, its ledgers, and the files it names.

Everything is asked of the book itself, not through the models, because it may be a backup, or the book of an earlier
version. Each function raises LevelwindError that names the first thing wrong.
"""

from collections.abc import Collection
from pathlib import Path

from django.apps import apps
from django.apps.registry import Apps
from django.db.migrations.loader import MigrationLoader

from levelwind.core.errors import LevelwindError
from levelwind.shop.book.services.asked import Asked
from levelwind.shop.book.services.files import climbs, sha256_of
from levelwind.shop.book.services.versions import unknown_migrations

ONLY_ADDED = ("shop_moneyentry", "shop_stockentry", "shop_bill")
"""Tables nothing is ever taken out of, so that their rows are as many as were ever written."""
GUARDS = {
    "sqlite": {
        "shop_stockentry_no_update": "0002",
        "shop_stockentry_no_delete": "0002",
        "shop_moneyentry_no_update": "0002",
        "shop_moneyentry_no_delete": "0002",
        "shop_letter_kept": "0033",
    },
    "postgresql": {
        "shop_stockentry_only_grows": "0002",
        "shop_moneyentry_only_grows": "0002",
        "shop_stockentry_not_emptied": "0029",
        "shop_moneyentry_not_emptied": "0029",
        "shop_letter_kept": "0033",
    },
}
"""Triggers that keep what was written as it was, for either database, each with the migration it came with."""
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
        "GROUP BY e.part_id, e.used, p.number HAVING sum(e.change) < 0 LIMIT 1",
        {},
    ),
    (
        "the stock of a part kept otherwise than its ledger has it",
        "SELECT p.number FROM shop_part p LEFT JOIN shop_partstock s ON s.part_id = p.id LEFT JOIN "
        "(SELECT part_id, sum(change) AS here, sum(CASE WHEN used THEN change ELSE 0 END) AS used FROM shop_stockentry "
        "GROUP BY part_id) e ON e.part_id = p.id WHERE s.part_id IS NULL OR s.here != COALESCE(e.here, 0) "
        "OR s.used != COALESCE(e.used, 0) OR s.new != s.here - s.used LIMIT 1",
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
        "shop_job j ON j.id = m.job_id GROUP BY 1) e ON e.whose = o.id WHERE b.owner_id IS NULL "
        "OR b.owes_minor != COALESCE(e.owes, 0) LIMIT 1",
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


def book_prove(book: Asked, whose: str) -> int:
    """The book is whole, of a version known here, with all its tables and guards, and its ledgers add up.

    Gives the number of jobs.
    """
    if not book.is_readable():
        raise LevelwindError(f"The book in {whose} is damaged.")
    _tables(book, whose)
    if book.points_nowhere():
        raise LevelwindError(f"The book in {whose} has rows that point to nothing.")
    _guards(book, whose)
    _nothing_taken_out(book, whose)
    _sums(book, whose)
    return int(book.rows("SELECT count(*) FROM shop_job")[0][0])


def files_prove(book: Asked, whose: str, media: Path, without: Collection[str] = ()) -> dict[str, str]:
    """Every file the book names is there, is not empty, and is as it was written; gives each with its sum.

    Without a sum where the book keeps none. ``without`` are known to be lost.
    """
    named = _files_named(book)
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


def _tables(book: Asked, whose: str) -> None:
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
        there = book.columns(table)
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


def _applied(book: Asked) -> set[tuple[str, str]]:
    if not book.columns("django_migrations"):
        return set()
    return {(app, name) for app, name in book.rows("SELECT app, name FROM django_migrations")}


def _guards(book: Asked, whose: str) -> None:
    seen = {name[:4] for app, name in _applied(book) if app == "shop"}
    there = book.triggers()
    for guard, since in GUARDS[book.vendor].items():
        if since in seen and guard not in there:
            raise LevelwindError(f"The book in {whose} has lost the guard {guard}: its ledgers may have been changed.")


def _nothing_taken_out(book: Asked, whose: str) -> None:
    """A row's key is never given twice, so the highest ever given is how many there must be."""
    for table in ONLY_ADDED:
        given = book.ever_given(table)
        there = book.rows(f"SELECT count(*) FROM {table}")[0][0]  # noqa: S608
        if given and there < given:
            what = table.removeprefix("shop_")
            raise LevelwindError(
                f"The book in {whose} has lost rows of its {what} table: {given} were written, {there} are there."
            )


def _sums(book: Asked, whose: str) -> None:
    for words, question, needs in SUMS:
        if all(column in book.columns(table) for table, column in needs.items()) and (found := book.rows(question)):
            raise LevelwindError(f"The book in {whose} has {words}: {found[0][0]}.")


def _files_named(book: Asked) -> dict[str, str]:
    """Every file the book names, with its sum; without one where the book keeps none."""
    named: dict[str, str] = {}
    for table, column, sum_column in FILES_NAMED_IN:
        there = book.columns(table)
        if column in there:
            kept = sum_column if sum_column in there else "''"
            named |= dict(book.rows(f"SELECT {column}, {kept} FROM {table} WHERE {column} != ''"))  # noqa: S608
    return named
