"""Parts are found by their kind and one size."""

from django.db import migrations, models

from levelwind.shop.models.part_sizes import SizeOf

NAMES = ("outer diameter", "inner diameter", "width", "length", "thread diameter", "wire diameter")


class Migration(migrations.Migration):
    dependencies = [("shop", "0061_readings_by_workers")]

    operations = [
        migrations.AddIndex(
            "part", models.Index(models.F("kind"), SizeOf(name), name=f"part_kind_{name.replace(' ', '_')}")
        )
        for name in NAMES
    ]
