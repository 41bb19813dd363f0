"""Reels by the day they were sent home, found by an index."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0056_suppliers_and_orders"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="sending",
            index=models.Index(fields=["sent_at"], name="sending_sent_at"),
        ),
    ]
