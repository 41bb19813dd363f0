"""A reel without a pattern knows the family that its looks tell clearly."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0046_lists_brought_in")]

    operations = [
        migrations.AddField(
            model_name="job",
            name="clear_family",
            field=models.CharField(
                blank=True, max_length=40, verbose_name="family that its looks tell, while it has no pattern"
            ),
        ),
    ]
