"""Entries of parts off donor reels are found by an index of theirs alone."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0066_more_lists"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="stockentry",
            index=models.Index(condition=models.Q(("bone__isnull", False)), fields=["bone"], name="stock_off_donor"),
        ),
    ]
