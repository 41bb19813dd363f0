from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0026_waiting")]

    operations = [
        migrations.AddField(
            "job",
            "kept_from",
            models.CharField(
                blank=True, max_length=64, verbose_name="the pattern's newer layout that it was kept from"
            ),
        ),
    ]
