"""How much of a sheet begun is cut off, and washers cut from it as entries of their own."""

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0064_urgent"),
    ]

    operations = [
        migrations.AddField(
            model_name="part",
            name="cut_off",
            field=models.FloatField(
                blank=True,
                help_text="A share of the sheet, such as 0.4.",
                null=True,
                validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(1)],
                verbose_name="of the sheet begun, cut off already",
            ),
        ),
        migrations.AlterField(
            model_name="stockentry",
            name="why",
            field=models.CharField(
                choices=[
                    ("bought", "bought"),
                    ("donor", "from a donor reel"),
                    ("counted", "counted"),
                    ("taken", "taken for a job"),
                    ("back", "put back from a job"),
                    ("thrown", "thrown away"),
                    ("sold", "sold over the counter"),
                    ("brought", "brought back"),
                    ("merged", "one with another part"),
                    ("returned", "sent back to the supplier"),
                    ("cut", "cut from a sheet"),
                    ("cut_up", "cut up into washers"),
                ],
                max_length=8,
            ),
        ),
    ]
