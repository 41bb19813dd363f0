"""Suppliers; what came of an order in part; packs, last buys, what waiting and keeping cost."""

import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0055_off_which_donor"),
    ]

    operations = [
        migrations.CreateModel(
            name="Supplier",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=80, unique=True)),
                ("postage_minor", models.PositiveBigIntegerField(default=0, verbose_name="postage of a parcel")),
                (
                    "minimum_minor",
                    models.PositiveBigIntegerField(default=0, verbose_name="smallest order taken, goods alone"),
                ),
                (
                    "free_from_minor",
                    models.PositiveBigIntegerField(
                        blank=True, null=True, verbose_name="goods from which postage is free"
                    ),
                ),
                (
                    "days_low",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="days it takes, hardly ever under"
                    ),
                ),
                (
                    "days_likely",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="days it takes, mostly about"),
                ),
                (
                    "days_high",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="days it takes, hardly ever over"
                    ),
                ),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.AddField(
            model_name="part",
            name="last_buy_years",
            field=models.FloatField(
                blank=True,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(0.1),
                    django.core.validators.MaxValueValidator(50),
                ],
                verbose_name="goes out of production: must last years",
            ),
        ),
        migrations.AddField(
            model_name="part",
            name="pack",
            field=models.PositiveSmallIntegerField(
                default=1, validators=[django.core.validators.MinValueValidator(1)], verbose_name="sold in packs of"
            ),
        ),
        migrations.AddField(
            model_name="partorder",
            name="press",
            field=models.CharField(
                blank=True, default="", max_length=32, verbose_name="the press of a button that made it"
            ),
        ),
        migrations.AddField(
            model_name="partorder",
            name="rest_of",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="rests",
                to="shop.partorder",
                verbose_name="the order of which this did not come",
            ),
        ),
        migrations.AddField(
            model_name="partorder",
            name="wrong",
            field=models.PositiveSmallIntegerField(default=0, verbose_name="how many came wrong"),
        ),
        migrations.AddField(
            model_name="shop",
            name="holding_percent",
            field=models.PositiveSmallIntegerField(
                default=25,
                validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(500)],
                verbose_name="what keeping a part costs a year, in percent of its price",
            ),
        ),
        migrations.AddField(
            model_name="shop",
            name="order_days",
            field=models.PositiveSmallIntegerField(
                default=7,
                validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(366)],
                verbose_name="days between orders of parts",
            ),
        ),
        migrations.AddField(
            model_name="shop",
            name="waiting_day_minor",
            field=models.PositiveBigIntegerField(
                default=0, verbose_name="what a day costs that a reel waits for a part"
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
                ],
                max_length=8,
            ),
        ),
        migrations.AddConstraint(
            model_name="partorder",
            constraint=models.UniqueConstraint(
                condition=models.Q(("press", ""), _negated=True), fields=("part", "press"), name="part_order_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="supplier",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("days_high__isnull", True), ("days_likely__isnull", True), ("days_low__isnull", True)),
                    models.Q(
                        ("days_high__gt", 0),
                        ("days_likely__lte", models.F("days_high")),
                        ("days_low__lte", models.F("days_likely")),
                    ),
                    _connector="OR",
                ),
                name="supplier_days_in_order",
            ),
        ),
    ]
