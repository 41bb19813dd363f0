"""A letter for a reel that goes back unmended."""

from django.db import migrations, models

KINDS = [
    ("price", "the price"),
    ("ask_again", "ask again"),
    ("ready", "it is ready"),
    ("sent", "it is sent"),
    ("sent_back", "it goes back unmended"),
    ("thanks", "thanks"),
    ("service", "time for a service"),
    ("other", "a word about the reel"),
]


class Migration(migrations.Migration):
    dependencies = [("shop", "0050_parts_that_are_one")]

    operations = [
        migrations.AlterField("letter", "kind", models.CharField(choices=KINDS, max_length=9)),
        migrations.AlterField("lettertext", "kind", models.CharField(choices=KINDS, max_length=9, unique=True)),
    ]
