"""The search's own tables; what fills them is made after every migration (shop/finding/kept.py)."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0034_limits_of_wear"),
    ]

    operations = [
        migrations.CreateModel(
            name="FindableWord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("word", models.CharField(max_length=40, unique=True)),
            ],
        ),
        migrations.CreateModel(
            name="Findable",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "mark",
                    models.CharField(
                        choices=[
                            ("§jo", "job"),
                            ("§ow", "owner"),
                            ("§pa", "part"),
                            ("§bi", "bill"),
                            ("§pt", "pattern"),
                        ],
                        max_length=3,
                    ),
                ),
                ("ref", models.BigIntegerField(verbose_name="key of what is found")),
                ("number", models.TextField(verbose_name="tag, part or bill number")),
                ("name", models.TextField(verbose_name="the owner's name, or the part's")),
                ("phone", models.TextField(verbose_name="telephone, its digits")),
                ("mail", models.TextField(verbose_name="e-mail")),
                ("reel", models.TextField()),
                ("pattern", models.TextField()),
                ("serial", models.TextField(verbose_name="serial number")),
                ("complaint", models.TextField()),
                ("came", models.TextField(verbose_name="tracking number on the way in")),
                ("sent", models.TextField(verbose_name="tracking number on the way home")),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("mark", "ref"), name="findable_once")],
            },
        ),
    ]
