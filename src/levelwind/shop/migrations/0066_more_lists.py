"""Limits of wear and replacements are lists too."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0065_cut_from_sheets"),
    ]

    operations = [
        migrations.AlterField(
            model_name="import",
            name="kind",
            field=models.CharField(
                choices=[
                    ("owners", "owners"),
                    ("shelf", "parts on the shelf"),
                    ("fits", "parts lists and fits"),
                    ("limits", "limits of wear"),
                    ("replacements", "replacements"),
                    ("jobs", "past jobs"),
                ],
                max_length=12,
                verbose_name="what is listed",
            ),
        ),
    ]
