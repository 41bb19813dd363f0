"""Stays of one reel are linked. Of older books only what cannot be a guess: same owner, serial number and pattern."""

from collections import defaultdict

import django.db.models.deletion
import django.utils.timezone
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def link_the_same(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    Job, Reel = apps.get_model("shop", "Job"), apps.get_model("shop", "Reel")
    same = defaultdict(list)
    rows = Job.objects.exclude(serial="").exclude(pattern=None).order_by("booked_in_at", "pk")
    for pk, *key in rows.values_list("pk", "owner", "serial", "pattern"):
        same[tuple(key)].append(pk)
    for stays in same.values():
        if len(stays) > 1:
            Job.objects.filter(pk__in=stays).update(history=Reel.objects.create())


class Migration(migrations.Migration):

    dependencies = [("shop", "0030_notes_and_calls")]

    operations = [
        migrations.CreateModel(
            "Reel",
            [
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "since",
                    models.DateTimeField(
                        default=django.utils.timezone.now, verbose_name="since when its stays are known as one reel's"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            "job",
            "history",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="stays",
                to="shop.reel",
                verbose_name="which reel",
            ),
        ),
        migrations.AddField(
            "job",
            "comeback_of",
            models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="comeback",
                to="shop.job",
                verbose_name="the stay whose guarantee it comes back under",
            ),
        ),
        migrations.AddField(
            "job",
            "free",
            models.BooleanField(default=False, verbose_name="nothing is charged, under the guarantee"),
        ),
        migrations.AddConstraint(
            "job",
            models.CheckConstraint(
                condition=models.Q(free=False) | models.Q(comeback_of__isnull=False), name="job_free_as_a_comeback"
            ),
        ),
        migrations.AddField(
            "shop",
            "guarantee_days",
            models.PositiveSmallIntegerField(default=0, verbose_name="days a comeback is free of charge"),
        ),
        migrations.RunPython(link_the_same, migrations.RunPython.noop),
    ]
