from django.db import migrations, models


class Migration(migrations.Migration):
    """Pictures kept before this have no sum: reading them all again could take an hour, and would prove nothing."""

    dependencies = [
        ("shop", "0007_places_have_no_sizes_of_their_own"),
    ]

    operations = [
        migrations.AddField(
            model_name="photo",
            name="picture_sha256",
            field=models.CharField(blank=True, max_length=64, verbose_name="of the picture as kept"),
        ),
    ]
