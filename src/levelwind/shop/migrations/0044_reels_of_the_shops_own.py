"""Reels of the shop's own: what was paid for them, what they were sold for; and boxes of reels taken in for spares."""

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

STAGES = [
    ("booked_in", "booked in"),
    ("looked_over", "looked over"),
    ("price_sent", "price sent"),
    ("agreed", "agreed"),
    ("apart", "apart"),
    ("together", "together"),
    ("proved", "proved"),
    ("boxed", "boxed"),
    ("home", "home"),
    ("sent_back", "sent back unmended"),
    ("spares", "kept for spares"),
]
WITH_SOLD = [*STAGES, ("sold", "sold")]


def known(stages: list[tuple[str, str]]) -> models.CheckConstraint:
    return models.CheckConstraint(condition=models.Q(("stage__in", [key for key, _ in stages])), name="job_stage_known")


def sold_went_home(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """An older version knows no reel that is sold."""
    jobs = apps.get_model("shop", "Job").objects
    jobs.filter(stage="sold").update(stage="home")


class Migration(migrations.Migration):
    dependencies = [("shop", "0043_sold_over_the_counter")]

    operations = [
        migrations.AlterField(
            "owner",
            "kind",
            models.CharField(
                blank=True,
                choices=[
                    ("", "a person or a boat"),
                    ("passing", "customers without a name"),
                    ("shop", "the shop itself"),
                ],
                default="",
                editable=False,
                max_length=7,
            ),
        ),
        migrations.AddField(
            "bonereel",
            "box",
            models.CharField(
                blank=True,
                db_index=True,
                default="",
                max_length=32,
                verbose_name="the box it came in with others",
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "job",
            "bought_minor",
            models.PositiveBigIntegerField(blank=True, null=True, verbose_name="what the shop paid for it"),
        ),
        migrations.AddField(
            "job",
            "sold_for",
            models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="reel_sold",
                to="shop.moneyentry",
                verbose_name="what it was sold for",
            ),
        ),
        migrations.RemoveConstraint("job", "job_stage_known"),
        migrations.AlterField(
            "job",
            "stage",
            models.CharField(choices=WITH_SOLD, db_index=True, default="booked_in", max_length=12),
        ),
        migrations.AlterField(
            "job",
            "ended_from",
            models.CharField(
                blank=True, choices=WITH_SOLD, default="", max_length=12, verbose_name="stage at which it ended"
            ),
        ),
        migrations.AddConstraint("job", known(WITH_SOLD)),
        migrations.RunPython(migrations.RunPython.noop, sold_went_home),
    ]
