"""Lists brought into the book. A count that came by one may go with it; every other entry stays for good, as before."""

import django.db.models.deletion
import django.utils.timezone
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

STAYS = "a ledger entry is never edited or taken away"


def may_go(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        _written_anew(schema_editor, "WHEN OLD.came_by_id IS NULL ")
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE OR REPLACE FUNCTION levelwind_stock_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN IF TG_OP = 'DELETE' AND OLD.came_by_id IS NOT NULL THEN RETURN OLD; END IF; "
            f"RAISE EXCEPTION '{STAYS}'; END $$"
        )
        _watched_by(schema_editor, "levelwind_stock_only_grows")


def stays(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Its column is gone by now, and on SQLite its table was made anew, without triggers."""
    if schema_editor.connection.vendor == "sqlite":
        _written_anew(schema_editor, "")
    elif schema_editor.connection.vendor == "postgresql":
        _watched_by(schema_editor, "levelwind_ledger_only_grows")
        schema_editor.execute("DROP FUNCTION levelwind_stock_only_grows()")


def _written_anew(schema_editor: BaseDatabaseSchemaEditor, unless: str) -> None:
    for verb, when in (("update", ""), ("delete", unless)):
        schema_editor.execute(f"DROP TRIGGER IF EXISTS shop_stockentry_no_{verb}")
        schema_editor.execute(
            f"CREATE TRIGGER shop_stockentry_no_{verb} BEFORE {verb} ON shop_stockentry {when}"
            f"BEGIN SELECT RAISE(ABORT, '{STAYS}'); END"
        )


def _watched_by(schema_editor: BaseDatabaseSchemaEditor, function: str) -> None:
    schema_editor.execute("DROP TRIGGER IF EXISTS shop_stockentry_only_grows ON shop_stockentry")
    schema_editor.execute(
        "CREATE TRIGGER shop_stockentry_only_grows BEFORE UPDATE OR DELETE ON shop_stockentry "
        f"FOR EACH ROW EXECUTE FUNCTION {function}()"
    )


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0045_kept_safe'),
    ]

    operations = [
        migrations.CreateModel(
            name='Import',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('owners', 'owners'), ('shelf', 'parts on the shelf'), ('fits', 'parts lists and fits'), ('jobs', 'past jobs')], max_length=6, verbose_name='what is listed')),
                ('state', models.CharField(choices=[('open', 'not in the book yet'), ('under_way', 'being written into the book'), ('done', 'in the book'), ('taken_back', 'taken back'), ('dropped', 'put aside')], default='open', max_length=11)),
                ('file_name', models.CharField(max_length=120)),
                ('data', models.BinaryField(default=bytes, verbose_name='the file as it came')),
                ('sheets', models.JSONField(default=list, verbose_name="the file's sheets")),
                ('sheet', models.CharField(blank=True, max_length=120)),
                ('written', models.JSONField(default=dict, verbose_name='how it is written')),
                ('rows', models.BinaryField(default=bytes, verbose_name='its rows, packed')),
                ('head_row', models.PositiveIntegerField(default=1, verbose_name='row of the headings, 0 for none')),
                ('headings_digest', models.CharField(db_index=True, max_length=64)),
                ('matched', models.JSONField(default=dict, verbose_name='which column holds what')),
                ('counts', models.JSONField(default=dict, verbose_name='how many rows of each sort')),
                ('refused_rows', models.BinaryField(default=bytes, verbose_name='rows not taken, packed')),
                ('made', models.BinaryField(default=bytes, verbose_name='what came by it, packed')),
                ('said', models.CharField(blank=True, max_length=300, verbose_name='why it is not in the book')),
                ('begun_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('started_at', models.DateTimeField(blank=True, null=True, verbose_name='since when it is being written')),
                ('done_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.CharField(blank=True, max_length=80)),
            ],
            options={
                'ordering': ['-begun_at', '-pk'],
            },
        ),
        migrations.RunPython(migrations.RunPython.noop, stays, elidable=False),
        migrations.AddField(
            model_name='stockentry',
            name='came_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stock_entries', to='shop.import', verbose_name='the list it came by'),
        ),
        migrations.RunPython(may_go, migrations.RunPython.noop, elidable=False),
    ]
