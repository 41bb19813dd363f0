"""The newest promises are found without sorting all of them."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0072_what_an_hour_costs")]

    operations = [migrations.AddIndex("promise", models.Index(fields=["-at", "-id"], name="promise_newest"))]
