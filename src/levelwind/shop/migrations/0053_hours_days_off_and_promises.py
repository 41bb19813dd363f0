"""When the bench is worked at, and every promise as it was given; those given before stand as they are now."""

from typing import Any

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


def keep_what_is_promised(apps: Any, editor: Any) -> None:
    """Of a day that was promised earlier it is not known when: the reel's booking stands for it."""
    job, promise = apps.get_model("shop", "Job"), apps.get_model("shop", "Promise")
    rows = job.objects.filter(promised_on__isnull=False).values_list("pk", "promised_on", "promise_chance", "booked_in_at")
    promise.objects.bulk_create(
        promise(job_id=pk, day=day, chance=chance, at=at) for pk, day, chance, at in rows.iterator(2000)
    )


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0052_measuring_sheets'),
    ]

    operations = [
        migrations.AddField(
            model_name='shop',
            name='hours',
            field=models.JSONField(blank=True, default=list, verbose_name='hours of work at the bench, Monday first'),
        ),
        migrations.CreateModel(
            name='DayOff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first', models.DateField(verbose_name='from')),
                ('last', models.DateField(verbose_name='to')),
                ('what', models.CharField(blank=True, max_length=80, verbose_name='why')),
            ],
            options={
                'verbose_name_plural': 'days off',
                'ordering': ['first', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('last__gte', models.F('first'))), name='day_off_first_before_last')],
            },
        ),
        migrations.CreateModel(
            name='Promise',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField(verbose_name='promised day')),
                ('chance', models.FloatField(blank=True, null=True, verbose_name='chance of keeping it, as it was told')),
                ('foretold', models.BooleanField(default=False, verbose_name="the chance came from the bench's futures")),
                ('moved', models.BooleanField(default=False, verbose_name='moved by waiting, not given anew')),
                ('at', models.DateTimeField(default=django.utils.timezone.now, verbose_name='when')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='promises', to='shop.job')),
            ],
            options={
                'ordering': ['at', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('chance__isnull', True), models.Q(('chance__gte', 0), ('chance__lte', 1)), _connector='OR'), name='promise_chance_from_0_to_1')],
            },
        ),
        migrations.RunPython(keep_what_is_promised, migrations.RunPython.noop),
    ]
