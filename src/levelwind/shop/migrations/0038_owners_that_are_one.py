"""Two owners that are one: what went over, so that it can come back."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("shop", "0037_corrosion_by_looks")]

    operations = [
        migrations.AddField(
            "owner",
            "merged_into",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="merged_from",
                to="shop.owner",
                verbose_name="who it is the same as",
            ),
        ),
        migrations.AddField(
            "owner",
            "went_over",
            models.JSONField(blank=True, default=dict, verbose_name="what went over to them"),
        ),
    ]
