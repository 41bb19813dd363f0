"""The shop says how numbers and days are written; until it does, they are written as before."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0080_parts_in_a_measure")]

    operations = [
        migrations.AddField(
            "shop",
            "numbers_written",
            models.CharField(
                "numbers are written",
                max_length=8,
                choices=[("point", "1,234.50"), ("comma", "1.234,50"), ("space", "1 234,50"), ("quote", "1’234.50")],
                default="point",
            ),
        ),
        migrations.AddField(
            "shop",
            "days_written",
            models.CharField(
                "days are written",
                max_length=12,
                choices=[
                    ("named", "30 Nov 2026"),
                    ("points", "30.11.2026"),
                    ("slashes", "30/11/2026"),
                    ("month_first", "11/30/2026"),
                    ("year_first", "2026-11-30"),
                ],
                default="named",
            ),
        ),
    ]
