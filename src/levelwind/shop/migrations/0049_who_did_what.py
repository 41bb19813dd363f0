"""Who did what to an owner, a part, a pattern or a bill, and when."""

import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0048_safekeeping_is_there")]

    operations = [
        migrations.CreateModel(
            "Deed",
            [
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[("owner", "owner"), ("part", "part"), ("pattern", "pattern"), ("bill", "bill")],
                        max_length=7,
                        verbose_name="what it was done to",
                    ),
                ),
                ("ref", models.BigIntegerField(verbose_name="the row of it")),
                ("at", models.DateTimeField(default=django.utils.timezone.now, verbose_name="when")),
                ("by", models.CharField(blank=True, max_length=80, verbose_name="who")),
                ("text", models.CharField(max_length=300, verbose_name="what was done")),
                ("field", models.CharField(blank=True, max_length=40, verbose_name="of a changed field, its name")),
                ("was", models.CharField(blank=True, max_length=120, verbose_name="what stood there before")),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "indexes": [models.Index(fields=["kind", "ref"], name="deed_of")],
            },
        ),
    ]
