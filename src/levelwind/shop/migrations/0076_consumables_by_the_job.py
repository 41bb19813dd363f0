"""What a consumable is measured in, what a reel uses up of it, and what each reel did."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import levelwind.shop.models.patterns
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0075_boxes_seen_at_a_sale"),
    ]

    operations = [
        migrations.AddField(
            model_name="part",
            name="holds",
            field=models.FloatField(
                blank=True,
                help_text="Grease, oil, wipes, line: what a tin or a spool holds.",
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(0.01),
                    django.core.validators.MaxValueValidator(100000),
                ],
                verbose_name="so much is in one",
            ),
        ),
        migrations.AddField(
            model_name="part",
            name="measure",
            field=models.CharField(
                blank=True,
                choices=[("ml", "ml"), ("g", "g"), ("m", "m"), ("pieces", "pieces")],
                max_length=6,
                verbose_name="measured in",
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
                    ("used_up", "used up on reels"),
                ],
                max_length=8,
            ),
        ),
        migrations.CreateModel(
            name="ReelUse",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "family",
                    models.CharField(blank=True, choices=levelwind.shop.models.patterns.family_choices, max_length=40),
                ),
                (
                    "amount",
                    models.FloatField(
                        validators=[
                            django.core.validators.MinValueValidator(0.001),
                            django.core.validators.MaxValueValidator(100000),
                        ]
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="reel_uses", to="shop.part"
                    ),
                ),
            ],
            options={
                "verbose_name": "use by a reel",
                "verbose_name_plural": "uses by a reel",
                "ordering": ["part", "family"],
                "constraints": [models.UniqueConstraint(fields=("part", "family"), name="reel_use_once")],
            },
        ),
        migrations.CreateModel(
            name="UsedUp",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField(db_index=True, default=django.utils.timezone.now, verbose_name="when")),
                ("by", models.CharField(blank=True, max_length=80, verbose_name="who")),
                ("note", models.CharField(blank=True, max_length=200)),
                ("amount", models.FloatField()),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="used_up", to="shop.job"
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="used_up", to="shop.part"
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "used up",
                "ordering": ["at", "pk"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("amount", 0), _negated=True), name="used_up_something")
                ],
            },
        ),
    ]
