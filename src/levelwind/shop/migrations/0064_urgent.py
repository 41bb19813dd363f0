"""A job may go ahead of all others."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0063_merged_by_index'),
    ]

    operations = [
        migrations.AddField(
            model_name='job',
            name='urgent',
            field=models.BooleanField(default=False, verbose_name='goes ahead of all others'),
        ),
    ]
