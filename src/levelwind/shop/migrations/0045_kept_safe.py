"""How the book is kept safe: the folder for its copies, how the last one went, what was said of clock and codes."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("shop", "0044_reels_of_the_shops_own")]

    operations = [
        migrations.CreateModel(
            name="Safekeeping",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("folder", models.CharField(blank=True, max_length=300, verbose_name="folder for a copy each day")),
                ("proved_at", models.DateTimeField(blank=True, null=True, verbose_name="when a copy was last proved")),
                ("proved_folder", models.CharField(blank=True, max_length=400, verbose_name="where that copy is")),
                ("tried_at", models.DateTimeField(blank=True, null=True, verbose_name="when one was last tried")),
                ("said", models.CharField(blank=True, max_length=500, verbose_name="what went wrong at the last try")),
                ("codes_closed_at", models.DateTimeField(blank=True, null=True, verbose_name="codes for phones shown before this open nothing")),
                ("clock_right_at", models.DateTimeField(blank=True, null=True, verbose_name="when somebody said the clock is right")),
            ],
            options={
                "verbose_name_plural": "safekeeping",
                "constraints": [models.CheckConstraint(condition=models.Q(("pk", 1)), name="safekeeping_is_one_row")],
            },
        ),
    ]
