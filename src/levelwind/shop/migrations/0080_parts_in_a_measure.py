"""The few parts that are taken by the litre or the metre are found without reading all parts."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0079_parts_by_any_word")]

    operations = [
        migrations.AddIndex(
            "part",
            models.Index(fields=["number"], condition=models.Q(holds__isnull=False), name="part_in_a_measure"),
        )
    ]
