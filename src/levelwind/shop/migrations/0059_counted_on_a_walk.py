"""When a part was last counted on a walk along the shelf."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0058_sums_and_indexes"),
    ]

    operations = [
        migrations.AddField(
            model_name="part",
            name="counted_at",
            field=models.DateTimeField(
                blank=True, null=True, verbose_name="when it was last counted on a walk along the shelf"
            ),
        ),
    ]
