"""Letters, each kept as it was written: the database refuses to change one."""

import django.db.models.deletion
import django.utils.timezone
import uuid
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


KEPT = "a letter is kept as it was written"


def keep(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute(
            f"CREATE TRIGGER shop_letter_kept BEFORE UPDATE ON shop_letter BEGIN SELECT RAISE(ABORT, '{KEPT}'); END"
        )
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION levelwind_letter_kept() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{KEPT}'; END $$"
        )
        schema_editor.execute(
            "CREATE TRIGGER shop_letter_kept BEFORE UPDATE ON shop_letter "
            "FOR EACH ROW EXECUTE FUNCTION levelwind_letter_kept()"
        )


def let_go(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor == "sqlite":
        schema_editor.execute("DROP TRIGGER shop_letter_kept")
    elif schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("DROP TRIGGER shop_letter_kept ON shop_letter")
        schema_editor.execute("DROP FUNCTION levelwind_letter_kept()")


class Migration(migrations.Migration):

    dependencies = [
        ('shop', "0032_pattern_pictures"),
    ]

    operations = [
        migrations.CreateModel(
            name='LetterText',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('price', 'the price'), ('ask_again', 'ask again'), ('ready', 'it is ready'), ('sent', 'it is sent'), ('thanks', 'thanks'), ('service', 'time for a service'), ('other', 'a word about the reel')], max_length=9, unique=True)),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField(max_length=6000)),
            ],
        ),
        migrations.AddField(
            model_name='shop',
            name='service_months',
            field=models.PositiveSmallIntegerField(default=12, verbose_name='months until it is time for a service'),
        ),
        migrations.CreateModel(
            name='Letter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('price', 'the price'), ('ask_again', 'ask again'), ('ready', 'it is ready'), ('sent', 'it is sent'), ('thanks', 'thanks'), ('service', 'time for a service'), ('other', 'a word about the reel')], max_length=9)),
                ('once', models.UUIDField(default=uuid.uuid4, unique=True, verbose_name='of the page it was written on')),
                ('to_name', models.CharField(max_length=120)),
                ('to_email', models.EmailField(blank=True, max_length=254, verbose_name='to')),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField(max_length=8000, verbose_name='text')),
                ('written_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('by', models.CharField(blank=True, max_length=80)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='letters', to='shop.job')),
                ('price', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='letters', to='shop.price')),
            ],
            options={
                'ordering': ['-written_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='LetterWay',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('way', models.CharField(blank=True, choices=[('mail', 'by e-mail'), ('message', 'as a message'), ('post', 'on paper, by post'), ('hand', 'handed over')], default='', max_length=7, verbose_name='how it went')),
                ('state', models.CharField(choices=[('sent', 'sent'), ('stopped', 'held back')], max_length=9)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.CharField(blank=True, max_length=80)),
                ('letter', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='went', to='shop.letter')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('sent_at__isnull', False), ('state', 'sent')), models.Q(models.Q(('state', 'sent'), _negated=True), ('sent_at__isnull', True)), _connector='OR'), name='letter_sent_has_its_day')],
            },
        ),
        migrations.RunPython(keep, let_go, elidable=False),
    ]
