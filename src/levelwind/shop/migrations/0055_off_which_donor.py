"""Which donor reel a part came off stands in a column; filled once from the notes that said it until now."""

import re

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLE = "shop_stockentry"
SAID = re.compile(r"bone box (\d{1,18})\.$")
"""How a note named the donor reel."""
STAYS = "a ledger entry is never edited or taken away"


def may_be_edited(schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {TABLE}_no_update")
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"ALTER TABLE {TABLE} DISABLE TRIGGER {TABLE}_only_grows")


def is_never_edited(schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute(
            f"CREATE TRIGGER {TABLE}_no_update BEFORE UPDATE ON {TABLE} BEGIN SELECT RAISE(ABORT, '{STAYS}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"ALTER TABLE {TABLE} ENABLE TRIGGER {TABLE}_only_grows")


def said_in_notes(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    entries, bones = apps.get_model("shop", "StockEntry"), apps.get_model("shop", "BoneReel")
    known = set(bones.objects.values_list("pk", flat=True))
    notes = entries.objects.filter(why="donor", note__contains="bone box").values_list("pk", "note")
    said = [(pk, int(found[1])) for pk, note in notes if (found := SAID.search(note))]
    if not said:
        return
    may_be_edited(schema_editor)
    for pk, bone in said:
        if bone in known:
            entries.objects.filter(pk=pk).update(bone=bone)
    is_never_edited(schema_editor)


def watched_again(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Where the column goes, SQLite makes the table anew, without its triggers (0046)."""
    if schema_editor.connection.vendor == "sqlite":
        for verb, when in (("update", ""), ("delete", "WHEN OLD.came_by_id IS NULL ")):
            schema_editor.execute(
                f"CREATE TRIGGER IF NOT EXISTS {TABLE}_no_{verb} BEFORE {verb} ON {TABLE} {when}"
                f"BEGIN SELECT RAISE(ABORT, '{STAYS}'); END"
            )


class Migration(migrations.Migration):
    dependencies = [("shop", "0054_papers_with_letters")]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, watched_again, elidable=False),
        migrations.AddField(
            "stockentry",
            "bone",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="stock_entries",
                to="shop.bonereel",
                verbose_name="the donor reel it came off",
            ),
        ),
        migrations.RunPython(said_in_notes, migrations.RunPython.noop, elidable=False),
    ]
