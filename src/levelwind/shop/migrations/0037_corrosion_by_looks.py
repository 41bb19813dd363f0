from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("shop", "0036_mail_server")]

    operations = [
        migrations.AddField(
            "job",
            "corrosion",
            models.CharField(blank=True, max_length=20, verbose_name="how far it is corroded, by its looks"),
        ),
    ]
