"""PostgreSQL empties a table without touching its rows: a ledger refuses that too. SQLite has no such command."""

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

LEDGERS = ["shop_stockentry", "shop_moneyentry"]


def forbid(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "postgresql":
        for table in LEDGERS:
            schema_editor.execute(
                f"CREATE TRIGGER {table}_not_emptied BEFORE TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION levelwind_ledger_only_grows()"
            )


def allow(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "postgresql":
        for table in LEDGERS:
            schema_editor.execute(f"DROP TRIGGER {table}_not_emptied ON {table}")


class Migration(migrations.Migration):
    dependencies = [("shop", "0028_standins")]
    operations = [migrations.RunPython(forbid, allow, elidable=False)]
