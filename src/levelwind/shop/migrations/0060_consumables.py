"""Parts of which every reel uses some up."""

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0059_counted_on_a_walk"),
    ]

    operations = [
        migrations.AddField(
            model_name="part",
            name="a_reel",
            field=models.FloatField(
                blank=True,
                help_text="Grease, oil, wipes: a share of a tin, such as 0.02.",
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(0.0001),
                    django.core.validators.MaxValueValidator(100),
                ],
                verbose_name="of it each reel uses up",
            ),
        ),
    ]
