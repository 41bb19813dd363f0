"""Several suppliers for a part; one press may order a part of two of them."""

import django.core.validators
import django.db.models.deletion
import django.db.models.functions.text
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0072_what_an_hour_costs"),
    ]

    operations = [
        migrations.CreateModel(
            name="PartOffer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("supplier", models.CharField(max_length=80)),
                (
                    "cost_minor",
                    models.PositiveBigIntegerField(
                        validators=[django.core.validators.MinValueValidator(1)], verbose_name="what it costs us there"
                    ),
                ),
                (
                    "pack",
                    models.PositiveSmallIntegerField(
                        default=1,
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="sold in packs of",
                    ),
                ),
            ],
            options={
                "verbose_name": "offer of another supplier",
                "verbose_name_plural": "offers of other suppliers",
                "ordering": ["part", "cost_minor", "pk"],
            },
        ),
        migrations.RemoveConstraint(
            model_name="partorder",
            name="part_order_once",
        ),
        migrations.AddConstraint(
            model_name="partorder",
            constraint=models.UniqueConstraint(
                condition=models.Q(("press", ""), _negated=True),
                fields=("part", "supplier", "press"),
                name="part_order_once",
            ),
        ),
        migrations.AddField(
            model_name="partoffer",
            name="part",
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="offers", to="shop.part"),
        ),
        migrations.AddConstraint(
            model_name="partoffer",
            constraint=models.UniqueConstraint(
                models.F("part"), django.db.models.functions.text.Upper("supplier"), name="part_offer_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="partoffer",
            constraint=models.CheckConstraint(
                condition=models.Q(("cost_minor__gt", 0), ("pack__gt", 0)), name="part_offer_costs_something"
            ),
        ),
    ]
