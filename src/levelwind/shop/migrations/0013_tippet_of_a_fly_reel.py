import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0012_proof_sheet_as_sent"),
    ]

    operations = [
        migrations.AddField(
            model_name="job",
            name="tippet_strength_N",
            field=models.FloatField(
                blank=True, null=True, validators=[django.core.validators.MinValueValidator(0.1)]
            ),
        ),
    ]
