"""The search's own tables, kept by triggers: whoever writes a job, an owner, a part or a bill writes them too.

Before tables are changed the triggers are taken away, and afterwards made again and everything filled, because SQLite
makes a changed table anew without its triggers and neither database changes a table that others speak of.
"""

from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.transaction import atomic

from levelwind.shop.triggers import trigger_made, triggers_there

FIELDS = ("number", "name", "phone", "mail", "reel", "pattern", "serial", "complaint", "came", "sent")
ON_THE_SHELF = "lies"
"""The column that the shelf's own search looks into besides, and no other."""
KEPT = (*FIELDS, ON_THE_SHELF)
ALL = "lower(mark || ' ' || " + " || ' ' || ".join(FIELDS) + ")"
"""A row's words in one, as PostgreSQL's index has them and a query must write them to use it."""
ALL_OF_A_PART = f"lower(number || ' ' || name || ' ' || {ON_THE_SHELF})"
WORDS = ("name", "reel", "pattern", "complaint")
SHORTEST_WORD, LONGEST_WORD = 4, 30
"""Letters of a word that is kept to compare mistyped ones with; our choice."""
MARKS_OF_WRITING = "\n\r\t\\.,;:!?()/-+=*'’“”\""
"""What stands between words besides blanks; our choice."""

_PATTERN = "t.maker || ' ' || t.model || ' ' || t.size"
WHAT = {
    "§jo": (
        {
            "number": "j.tag",
            "name": "o.name",
            "phone": "{digits:o.phone}",
            "mail": "o.email",
            "reel": "j.reel",
            "pattern": f"COALESCE({_PATTERN}, '')",
            "serial": "{number:j.serial}",
            "complaint": "j.complaint",
            "came": "{number:p.tracking}",
            "sent": "COALESCE({number:s.tracking}, '')",
        },
        "shop_job j JOIN shop_owner o ON o.id = j.owner_id JOIN shop_parcel p ON p.id = j.parcel_id "
        "LEFT JOIN shop_pattern t ON t.id = j.pattern_id LEFT JOIN shop_sending s ON s.job_id = j.id",
        "j",
    ),
    "§ow": ({"name": "o.name", "phone": "{digits:o.phone}", "mail": "o.email"}, "shop_owner o", "o"),
    "§pa": (
        {
            "number": "a.number",
            "name": "a.name || ' ' || a.kind || ' ' || a.maker",
            ON_THE_SHELF: "a.material || ' ' || a.spot",
        },
        "shop_part a",
        "a",
    ),
    "§bi": ({"number": "b.number", "name": "o.name"}, "shop_bill b JOIN shop_owner o ON o.id = b.owner_id", "b"),
    "§pt": ({"pattern": _PATTERN}, "shop_pattern t", "t"),
}
"""By the mark of what is found: what stands in which column, out of which tables, and whose key it has."""

WATCHED = {
    "shop_job": (
        "tag, owner_id, parcel_id, pattern_id, reel, serial, complaint",
        {"§jo": "j.id = {row}.id"},
    ),
    "shop_owner": (
        "name, phone, email",
        {"§ow": "o.id = {row}.id", "§jo": "j.owner_id = {row}.id", "§bi": "b.owner_id = {row}.id"},
    ),
    "shop_parcel": ("tracking", {"§jo": "j.parcel_id = {row}.id"}),
    "shop_sending": ("tracking, job_id", {"§jo": "j.id = {row}.job_id"}),
    "shop_part": ("number, name, kind, maker, material, spot", {"§pa": "a.id = {row}.id"}),
    "shop_bill": ("number, owner_id", {"§bi": "b.id = {row}.id"}),
    "shop_pattern": ("maker, model, size", {"§pt": "t.id = {row}.id", "§jo": "j.pattern_id = {row}.id"}),
}
"""By table: the columns whose change matters, and which rows are written anew then."""
OWN = {"shop_job": "§jo", "shop_owner": "§ow", "shop_part": "§pa", "shop_bill": "§bi", "shop_pattern": "§pt"}
TABLE_OF = {mark: table for table, mark in OWN.items()}


def findings_keep(using: str = DEFAULT_DB_ALIAS, **signal: Any) -> None:
    """Make the triggers and indexes, and fill the tables, unless they are there. After every migration."""
    connection = connections[using]
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        if "shop_findable" not in tables or triggers_there(connection, cursor, "find") == len(
            _names(connection.vendor)
        ):
            return
    findings_let_go(using)
    with atomic(using), connection.cursor() as cursor:
        cursor.execute("DELETE FROM shop_findable")
        cursor.execute("DELETE FROM shop_findableword")
        for statement in _MADE[connection.vendor] + _triggers(connection.vendor):
            cursor.execute(statement)
        for mark, (_, _, key) in WHAT.items():
            cursor.execute(_written(connection.vendor, mark, f"{key}.id > 0 ORDER BY {key}.id"))


def findings_let_go(using: str = DEFAULT_DB_ALIAS, plan: Any = True, **signal: Any) -> None:
    """Take the triggers and indexes away, so that tables can be changed. Before every migration that changes any."""
    if not plan:
        return
    connection = connections[using]
    with connection.cursor() as cursor:
        for statement in _taken(connection.vendor, connection.introspection.table_names(cursor)):
            cursor.execute(statement)


def _names(vendor: str) -> dict[str, tuple[str, str]]:
    """The triggers: on which table, and at what."""
    names = {f"find_{table}_{verb}": (table, verb) for table in WATCHED for verb in ("insert", "update", "delete")}
    own = ("insert", "delete") if vendor == "sqlite" else ("insert",)
    return names | {f"find_findable_{verb}": ("shop_findable", verb) for verb in own} | _words_of(vendor)


def _words_of(vendor: str) -> dict[str, tuple[str, str]]:
    verbs = ("insert", "delete") if vendor == "sqlite" else ()
    return {f"find_word_{verb}": ("shop_findableword", verb) for verb in verbs}


def _triggers(vendor: str) -> list[str]:
    statements = []
    for name, (table, verb) in _names(vendor).items():
        columns = WATCHED[table][0] if verb == "update" else ""
        does = _does(vendor, table, verb)
        statements += trigger_made(vendor, name, table=table, verb=verb, does=does, columns=columns)
    return statements


def _does(vendor: str, table: str, verb: str) -> str:
    if table not in WATCHED:
        return _OWN_DOES[vendor][table, verb]
    row = "OLD" if verb == "delete" else "NEW"
    lines: list[str] = []
    own = OWN.get(table)
    if verb == "delete" and own:
        return f"DELETE FROM shop_findable WHERE mark = '{own}' AND ref = OLD.id;"  # noqa: S608
    for mark, rows in WATCHED[table][1].items():
        if verb == "insert" and own:
            # Nothing was kept of a row that was not there, and nothing else speaks of it yet.
            lines += [f"{_written(vendor, mark, rows.format(row=row))};"] if mark == own else []
            continue
        _, _, key = WHAT[mark]
        which = rows.format(row=row)
        refs = f"SELECT {key}.id FROM {TABLE_OF[mark]} {key} WHERE {which}"  # noqa: S608
        lines.append(f"DELETE FROM shop_findable WHERE mark = '{mark}' AND ref IN ({refs});")  # noqa: S608
        lines.append(f"{_written(vendor, mark, which)};")
    return " ".join(lines)


def _written(vendor: str, mark: str, which: str) -> str:
    columns, tables, key = WHAT[mark]
    values = ", ".join(_value(vendor, columns.get(field, "''")) for field in KEPT)
    return (
        f"INSERT INTO shop_findable (mark, ref, {', '.join(KEPT)}) "  # noqa: S608
        f"SELECT '{mark}', {key}.id, {values} FROM {tables} WHERE {which}"
    )


def _value(vendor: str, written: str) -> str:
    """``{digits:column}`` and ``{number:column}`` as this database writes them."""
    if "{digits:" in written:
        column = written.partition("{digits:")[2].partition("}")[0]
        spelled = f"regexp_replace({column}, '[^0-9]', '', 'g')" if vendor == "postgresql" else column
        for mark in " -()/.+" if vendor == "sqlite" else "":
            spelled = f"replace({spelled}, '{mark}', '')"
        return spelled
    if "{number:" in written:
        before, _, rest = written.partition("{number:")
        column, _, after = rest.partition("}")
        without = f"' ' || replace({column}, ' ', '')"
        return f"{before}{column} || CASE WHEN {column} LIKE '% %' THEN {without} ELSE '' END{after}"
    return written


def _split_sqlite(text: str) -> str:
    """The words of a text as JSON: SQLite's triggers have no other way to take a text apart."""
    spaced = f"lower({text})"
    for mark in MARKS_OF_WRITING:
        spaced = f"replace({spaced}, '{mark.replace(chr(39), chr(39) * 2)}', ' ')"
    return f"'[' || replace(json_quote({spaced}), ' ', '\",\"') || ']'"


_TEXT = " || ' ' || ".join(f"NEW.{field}" for field in WORDS)
_LENGTH = f"BETWEEN {SHORTEST_WORD} AND {LONGEST_WORD}"
_COLUMNS = ", ".join(("mark", *KEPT))
_ROW = {row: ", ".join(f"{row}.{field}" for field in ("mark", *KEPT)) for row in ("NEW", "OLD")}
_OWN_DOES = {
    "sqlite": {
        ("shop_findable", "insert"): (
            f"INSERT INTO find_text (rowid, {_COLUMNS}) VALUES (NEW.id, {_ROW['NEW']}); "  # noqa: S608
            "INSERT OR IGNORE INTO shop_findableword (word) "
            f"SELECT value FROM json_each({_split_sqlite(_TEXT)}) WHERE length(value) {_LENGTH};"
        ),
        ("shop_findable", "delete"): (
            f"INSERT INTO find_text (find_text, rowid, {_COLUMNS}) VALUES ('delete', OLD.id, {_ROW['OLD']});"  # noqa: S608
        ),
        ("shop_findableword", "insert"): (
            "INSERT INTO find_word (rowid, padded) VALUES (NEW.id, '  ' || NEW.word || ' ');"
        ),
        ("shop_findableword", "delete"): "DELETE FROM find_word WHERE rowid = OLD.id;",
    },
    "postgresql": {
        ("shop_findable", "insert"): (
            "INSERT INTO shop_findableword (word) SELECT DISTINCT word "  # noqa: S608
            f"FROM regexp_split_to_table(lower({_TEXT}), '[^[:alnum:]]+') AS word "
            f"WHERE length(word) {_LENGTH} ON CONFLICT DO NOTHING;"
        ),
    },
}
_MADE = {
    "sqlite": [
        f"CREATE VIRTUAL TABLE find_text USING fts5({_COLUMNS}, content='shop_findable', content_rowid='id', "
        "tokenize='trigram')",
        "CREATE VIRTUAL TABLE find_word USING fts5(padded, tokenize='trigram')",
    ],
    "postgresql": [
        "CREATE EXTENSION IF NOT EXISTS pg_trgm",
        f"CREATE INDEX find_text ON shop_findable USING gin (({ALL}) gin_trgm_ops)",
        f"CREATE INDEX find_part ON shop_findable USING gin (({ALL_OF_A_PART}) gin_trgm_ops) WHERE mark = '§pa'",
        "CREATE INDEX find_word ON shop_findableword USING gist (word gist_trgm_ops)",
    ],
}


def _taken(vendor: str, tables: list[str]) -> list[str]:
    if vendor == "sqlite":
        triggers = [f"DROP TRIGGER IF EXISTS {name}" for name in _names(vendor)]
        return [*triggers, "DROP TABLE IF EXISTS find_text", "DROP TABLE IF EXISTS find_word"]
    triggers = [
        f"DROP TRIGGER IF EXISTS {name} ON {table}" for name, (table, _) in _names(vendor).items() if table in tables
    ]
    return [*triggers, *(f"DROP INDEX IF EXISTS {name}" for name in ("find_text", "find_part", "find_word"))]
