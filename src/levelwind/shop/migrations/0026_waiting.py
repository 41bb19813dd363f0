from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("shop", "0025_owners_ceiling")]

    operations = [
        migrations.AddField(
            "job",
            "waiting_since",
            models.DateTimeField(blank=True, null=True, verbose_name="since when it is not mine"),
        ),
        migrations.AddField(
            "job",
            "paused_since",
            models.DateTimeField(blank=True, null=True, verbose_name="since when the promise waits"),
        ),
        migrations.AddField(
            "shop",
            "ask_again_days",
            models.PositiveSmallIntegerField(default=7, verbose_name="days until an owner is asked again"),
        ),
    ]
