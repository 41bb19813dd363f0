"""Two parts that are one: what went over, so that it can come back."""

import django.db.models.deletion
from django.db import migrations, models

WHY = [
    ("bought", "bought"),
    ("donor", "from a donor reel"),
    ("counted", "counted"),
    ("taken", "taken for a job"),
    ("back", "put back from a job"),
    ("thrown", "thrown away"),
    ("sold", "sold over the counter"),
    ("brought", "brought back"),
    ("merged", "one with another part"),
]


class Migration(migrations.Migration):
    dependencies = [("shop", "0049_who_did_what")]

    operations = [
        migrations.AddField(
            "part",
            "merged_into",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="merged_from",
                to="shop.part",
                verbose_name="which part it is the same as",
            ),
        ),
        migrations.AddField(
            "part", "went_over", models.JSONField(blank=True, default=dict, verbose_name="what went over to it")
        ),
        migrations.AlterField("stockentry", "why", models.CharField(choices=WHY, max_length=8)),
    ]
