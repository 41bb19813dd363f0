import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import levelwind.shop.models.jobs


class Migration(migrations.Migration):

    dependencies = [("shop", "0031_stays_of_a_reel")]

    operations = [
        migrations.CreateModel(
            name="PatternPicture",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("step", models.CharField(blank=True, max_length=60)),
                ("caption", models.CharField(blank=True, max_length=120)),
                ("numbers", models.JSONField(blank=True, default=list, verbose_name="numbers put on it")),
                ("picture", models.ImageField(max_length=200, upload_to=levelwind.shop.models.jobs.photo_path)),
                ("thumbnail", models.ImageField(max_length=200, upload_to=levelwind.shop.models.jobs.photo_path)),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
                ("sha256", models.CharField(max_length=64, verbose_name="of the file as it came")),
                ("picture_sha256", models.CharField(max_length=64, verbose_name="of the picture as kept")),
                ("at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "pattern",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="pictures", to="shop.pattern"
                    ),
                ),
            ],
            options={"ordering": ["at", "pk"]},
        ),
    ]
