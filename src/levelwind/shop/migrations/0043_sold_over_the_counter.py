"""Parts sold over the counter, to somebody with a name or without; a bill knows the press that made it."""

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLE = "shop_stockentry"


def only_grows(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """SQLite makes a changed table anew, without its triggers (0002): here they are again."""
    if schema_editor.connection.vendor == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            schema_editor.execute(
                f"CREATE TRIGGER IF NOT EXISTS {TABLE}_no_{verb.lower()} BEFORE {verb} ON {TABLE} "
                "BEGIN SELECT RAISE(ABORT, 'a ledger entry is never edited or taken away'); END"
            )


WHY = [
    ("bought", "bought"),
    ("donor", "from a donor reel"),
    ("counted", "counted"),
    ("taken", "taken for a job"),
    ("back", "put back from a job"),
    ("thrown", "thrown away"),
    ("sold", "sold over the counter"),
    ("brought", "brought back"),
]


class Migration(migrations.Migration):
    dependencies = [("shop", "0042_entries_in_words")]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, only_grows),
        migrations.AddField(
            "bill",
            "press",
            models.CharField(
                blank=True,
                max_length=32,
                null=True,
                unique=True,
                verbose_name="the press of a button that made it",
            ),
        ),
        migrations.AddField(
            "owner",
            "kind",
            models.CharField(
                blank=True,
                choices=[("", "a person or a boat"), ("passing", "customers without a name")],
                default="",
                editable=False,
                max_length=7,
            ),
        ),
        migrations.AddConstraint(
            "owner",
            models.UniqueConstraint(
                condition=models.Q(("kind", ""), _negated=True), fields=("kind",), name="owner_of_a_kind_once"
            ),
        ),
        migrations.AlterField(
            "moneyentry",
            "part",
            models.ForeignKey(
                blank=True,
                help_text="Where it came off the shelf: so many of it are billed.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="money",
                to="shop.part",
            ),
        ),
        migrations.AlterField("stockentry", "why", models.CharField(choices=WHY, max_length=8)),
        migrations.AddField(
            "stockentry",
            "charge",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="stock_entries",
                to="shop.moneyentry",
                verbose_name="what it was sold for",
            ),
        ),
        migrations.AddConstraint(
            "stockentry",
            models.CheckConstraint(
                condition=models.Q(
                    ("charge__isnull", False), models.Q(("why", "sold"), _negated=True), _connector="OR"
                ),
                name="stock_sold_for_a_charge",
            ),
        ),
        migrations.RunPython(only_grows, migrations.RunPython.noop),
    ]
