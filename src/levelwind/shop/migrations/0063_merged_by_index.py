"""What is one with another, and what of a pattern ended last, are found by indexes that both databases use."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0062_parts_by_their_sizes'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='job',
            name='job_pattern_stage',
        ),
        migrations.RemoveIndex(
            model_name='owner',
            name='owner_merged',
        ),
        migrations.RemoveIndex(
            model_name='part',
            name='part_merged',
        ),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['pattern', 'stage', '-stage_since'], name='job_pattern_stage'),
        ),
        migrations.AddIndex(
            model_name='owner',
            index=models.Index(condition=models.Q(('merged_into__isnull', False)), fields=['merged_into'], name='owner_merged'),
        ),
        migrations.AddIndex(
            model_name='part',
            index=models.Index(condition=models.Q(('merged_into__isnull', False)), fields=['merged_into'], name='part_merged'),
        ),
    ]
