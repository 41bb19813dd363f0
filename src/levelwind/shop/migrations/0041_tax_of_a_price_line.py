"""A line of a price has its own rate of tax; those in the book keep the shop's usual one."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("shop", "0040_own_places_laid_by")]

    operations = [
        migrations.AddField(
            "priceline",
            "rate",
            models.CharField(
                blank=True,
                default="",
                help_text="In percent; empty: the usual one.",
                max_length=6,
                verbose_name="rate of its tax",
            ),
        ),
    ]
