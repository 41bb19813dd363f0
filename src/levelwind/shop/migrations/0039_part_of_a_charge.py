"""A charge for a part off the shelf knows its part, so that it is billed once whatever the line is called."""

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLE = "shop_moneyentry"


def only_grows(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """SQLite makes a changed table anew, without its triggers (0002): here they are again."""
    if schema_editor.connection.vendor == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            schema_editor.execute(
                f"CREATE TRIGGER IF NOT EXISTS {TABLE}_no_{verb.lower()} BEFORE {verb} ON {TABLE} "
                "BEGIN SELECT RAISE(ABORT, 'a ledger entry is never edited or taken away'); END"
            )


class Migration(migrations.Migration):

    dependencies = [("shop", "0038_owners_that_are_one")]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, only_grows),
        migrations.AddField(
            "moneyentry",
            "part",
            models.ForeignKey(
                blank=True,
                help_text="Where it came off the shelf for the job: so many of it are billed.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="money",
                to="shop.part",
            ),
        ),
        migrations.RunPython(only_grows, migrations.RunPython.noop),
    ]
