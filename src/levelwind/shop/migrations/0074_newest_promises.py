"""The newest promises are found without sorting all of them."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0073_several_suppliers")]

    operations = [migrations.AddIndex("promise", models.Index(fields=["-at", "-id"], name="promise_newest"))]
