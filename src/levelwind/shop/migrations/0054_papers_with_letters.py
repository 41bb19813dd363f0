"""Papers that go with a letter, each kept as it went; and the price as a letter named it."""

from importlib import import_module

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

LETTERS = import_module("levelwind.shop.migrations.0033_letters")
KEPT = "a paper is kept as it went with its letter"


def keep(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        # a column added to SQLite makes the table anew, without its trigger
        schema_editor.execute("DROP TRIGGER IF EXISTS shop_letter_kept")
        LETTERS.keep(apps, schema_editor)
        schema_editor.execute(
            "CREATE TRIGGER shop_enclosure_kept BEFORE UPDATE ON shop_enclosure "
            f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION levelwind_enclosure_kept() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{KEPT}'; END $$"
        )
        schema_editor.execute(
            "CREATE TRIGGER shop_enclosure_kept BEFORE UPDATE ON shop_enclosure "
            "FOR EACH ROW EXECUTE FUNCTION levelwind_enclosure_kept()"
        )


def let_go(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute("DROP TRIGGER shop_enclosure_kept")
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP TRIGGER shop_enclosure_kept ON shop_enclosure")
        schema_editor.execute("DROP FUNCTION levelwind_enclosure_kept()")


def keep_letters(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """On the way back too the table is made anew: its trigger comes last."""
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute("DROP TRIGGER IF EXISTS shop_letter_kept")
        LETTERS.keep(apps, schema_editor)


class Migration(migrations.Migration):
    dependencies = [("shop", "0053_hours_days_off_and_promises")]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep_letters, elidable=False),
        migrations.AddField(
            "letter", "price_said", models.CharField("the price it names", blank=True, default="", max_length=120)
        ),
        migrations.CreateModel(
            "Enclosure",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("words", models.CharField(max_length=40)),
                ("file_name", models.CharField(max_length=80)),
                ("pdf", models.BinaryField()),
                (
                    "bill",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.bill"
                    ),
                ),
                (
                    "went",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="enclosures", to="shop.letterway"
                    ),
                ),
            ],
            options={"ordering": ["pk"]},
        ),
        migrations.RunPython(keep, let_go, elidable=False),
    ]
