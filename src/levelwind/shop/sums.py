"""Sums of the ledgers, kept by the database's own triggers: the stock of each part, and what each owner owes.

Whoever writes an entry moves its sum with it, so that a list of all parts, or of all who owe, adds nothing up. Before
tables are changed the triggers are taken away, and afterwards made again and the sums told anew, because SQLite makes a
changed table anew without its triggers. `levelwind prove` holds the sums to the ledgers.
"""

from dataclasses import dataclass
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.transaction import atomic

from levelwind.shop.triggers import trigger_made, triggers_there


@dataclass(frozen=True, slots=True)
class Trigger:
    """What is done after a row of a table is inserted, updated (one of these columns) or deleted."""

    table: str
    verb: str
    does: tuple[str, ...]
    columns: str = ""

    @property
    def name(self) -> str:
        return f"sum_{self.table.removeprefix('shop_')}_{self.verb}"


def _ordered(row: str, sign: str) -> str:
    """An order not yet here, counted in or out."""
    return (
        f"UPDATE shop_partstock SET on_order = on_order {sign} {row}.count "  # noqa: S608
        f"WHERE part_id = {row}.part_id AND {row}.arrived_on IS NULL"
    )


def _job_owes(whose: str, sign: str) -> str:
    owes = "(SELECT COALESCE(sum(amount_minor), 0) FROM shop_moneyentry WHERE job_id = NEW.id)"
    return f"UPDATE shop_balance SET owes_minor = owes_minor {sign} {owes} WHERE owner_id = {whose}.owner_id"  # noqa: S608


_CAME_NEW = "CASE WHEN NEW.used THEN 0 ELSE NEW.change END"
_CAME_USED = "CASE WHEN NEW.used THEN NEW.change ELSE 0 END"
_LEAST = "(SELECT keep_at_least FROM shop_part WHERE id = NEW.part_id AND merged_into_id IS NULL)"

TRIGGERS = (
    Trigger(
        "shop_part",
        "insert",
        (
            "INSERT INTO shop_partstock (part_id, new, used, here, on_order, short) "
            "SELECT id, 0, 0, 0, 0, keep_at_least > 0 FROM shop_part WHERE id = NEW.id",
        ),
    ),
    Trigger(
        "shop_part",
        "update",
        (
            "UPDATE shop_partstock SET short = here < NEW.keep_at_least AND NEW.merged_into_id IS NULL "
            "WHERE part_id = NEW.id",
        ),
        columns="keep_at_least, merged_into_id",
    ),
    Trigger(
        "shop_stockentry",
        "insert",
        (
            f"UPDATE shop_partstock SET new = shop_partstock.new + {_CAME_NEW}, used = used + {_CAME_USED}, "  # noqa: S608
            f"here = here + NEW.change, short = COALESCE(here + NEW.change < {_LEAST}, FALSE) "
            "WHERE part_id = NEW.part_id",
        ),
    ),
    Trigger("shop_partorder", "insert", (_ordered("NEW", "+"),)),
    Trigger(
        "shop_partorder", "update", (_ordered("OLD", "-"), _ordered("NEW", "+")), columns="part_id, count, arrived_on"
    ),
    Trigger("shop_partorder", "delete", (_ordered("OLD", "-"),)),
    Trigger("shop_owner", "insert", ("INSERT INTO shop_balance (owner_id, owes_minor) VALUES (NEW.id, 0)",)),
    Trigger(
        "shop_moneyentry",
        "insert",
        (
            "UPDATE shop_balance SET owes_minor = owes_minor + NEW.amount_minor "
            "WHERE owner_id = COALESCE(NEW.owner_id, (SELECT owner_id FROM shop_job WHERE id = NEW.job_id))",
        ),
    ),
    Trigger("shop_job", "update", (_job_owes("OLD", "-"), _job_owes("NEW", "+")), columns="owner_id"),
)

TOLD_ANEW = (
    "DELETE FROM shop_partstock",
    """INSERT INTO shop_partstock (part_id, new, used, here, on_order, short)
    SELECT p.id, COALESCE(s.new, 0), COALESCE(s.used, 0), COALESCE(s.here, 0), COALESCE(o.coming, 0),
    COALESCE(s.here, 0) < p.keep_at_least AND p.merged_into_id IS NULL FROM shop_part p
    LEFT JOIN (SELECT part_id, sum(CASE WHEN used THEN 0 ELSE change END) AS new,
    sum(CASE WHEN used THEN change ELSE 0 END) AS used, sum(change) AS here
    FROM shop_stockentry GROUP BY part_id) s ON s.part_id = p.id
    LEFT JOIN (SELECT part_id, sum(count) AS coming FROM shop_partorder WHERE arrived_on IS NULL GROUP BY part_id) o
    ON o.part_id = p.id""",
    "DELETE FROM shop_balance",
    """INSERT INTO shop_balance (owner_id, owes_minor)
    SELECT o.id, COALESCE(e.owes, 0) FROM shop_owner o
    LEFT JOIN (SELECT COALESCE(m.owner_id, j.owner_id) AS whose, sum(m.amount_minor) AS owes FROM shop_moneyentry m
    LEFT JOIN shop_job j ON j.id = m.job_id GROUP BY COALESCE(m.owner_id, j.owner_id)) e ON e.whose = o.id""",
)
"""The sums by the ledgers themselves."""


def sums_keep(using: str = DEFAULT_DB_ALIAS, **signal: Any) -> None:
    """Make the triggers and tell the sums anew, unless the triggers are there. After every migration."""
    connection = connections[using]
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        if "shop_balance" not in tables or triggers_there(connection, cursor, "sum") == len(TRIGGERS):
            return
    sums_let_go(using)
    with atomic(using), connection.cursor() as cursor:
        for statement in (*_triggers(connection.vendor), *TOLD_ANEW):
            cursor.execute(statement)


def sums_let_go(using: str = DEFAULT_DB_ALIAS, plan: Any = True, **signal: Any) -> None:
    """Take the triggers away, so that tables can be changed. Before every migration that changes any."""
    if not plan:
        return
    connection = connections[using]
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        for trigger in TRIGGERS:
            if connection.vendor == "sqlite":
                cursor.execute(f"DROP TRIGGER IF EXISTS {trigger.name}")
            elif trigger.table in tables:
                cursor.execute(f"DROP TRIGGER IF EXISTS {trigger.name} ON {trigger.table}")


def _triggers(vendor: str) -> list[str]:
    statements = []
    for each in TRIGGERS:
        does = " ".join(f"{step};" for step in each.does)
        statements += trigger_made(vendor, each.name, table=each.table, verb=each.verb, does=does, columns=each.columns)
    return statements
