"""Ledgers only grow: the database itself refuses to edit or delete an entry, whoever asks."""

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

LEDGERS = ["shop_stockentry", "shop_moneyentry"]


def forbid(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        for table in LEDGERS:
            for verb in ("UPDATE", "DELETE"):
                schema_editor.execute(
                    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                    "BEGIN SELECT RAISE(ABORT, 'a ledger entry is never edited or taken away'); END"
                )
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION levelwind_ledger_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'a ledger entry is never edited or taken away'; END $$"
        )
        for table in LEDGERS:
            schema_editor.execute(
                f"CREATE TRIGGER {table}_only_grows BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION levelwind_ledger_only_grows()"
            )


def allow(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        for table in LEDGERS:
            for verb in ("update", "delete"):
                schema_editor.execute(f"DROP TRIGGER {table}_no_{verb}")
    elif schema_editor.connection.vendor == "postgresql":
        for table in LEDGERS:
            schema_editor.execute(f"DROP TRIGGER {table}_only_grows ON {table}")
        schema_editor.execute("DROP FUNCTION levelwind_ledger_only_grows()")


class Migration(migrations.Migration):
    dependencies = [("shop", "0001_the_book")]
    operations = [migrations.RunPython(forbid, allow, elidable=False)]
