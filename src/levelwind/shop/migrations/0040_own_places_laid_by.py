"""Places and steps of a pattern's or a build's own that were taken out, so that they can come back."""

from django.db import migrations, models


def laid_by() -> models.JSONField:
    return models.JSONField(blank=True, default=list, verbose_name="what of its own was taken out")


class Migration(migrations.Migration):

    dependencies = [("shop", "0039_part_of_a_charge")]

    operations = [
        migrations.AddField("pattern", "laid_by", laid_by()),
        migrations.AddField("build", "laid_by", laid_by()),
    ]
