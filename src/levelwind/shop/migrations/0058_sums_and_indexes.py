"""The stock of parts and what owners owe, kept by triggers (shop/sums.py); indexes that a big book needs."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0057_sent_home_by_day'),
    ]

    operations = [
        migrations.CreateModel(
            name='Balance',
            fields=[
                ('owner', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='+', related_query_name='balance', serialize=False, to='shop.owner')),
                ('owes_minor', models.BigIntegerField(db_index=True, default=0)),
            ],
        ),
        migrations.CreateModel(
            name='PartStock',
            fields=[
                ('part', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='+', related_query_name='stock', serialize=False, to='shop.part')),
                ('new', models.IntegerField(default=0)),
                ('used', models.IntegerField(default=0, verbose_name='second-hand')),
                ('here', models.IntegerField(db_index=True, default=0, verbose_name='new and second-hand')),
                ('on_order', models.IntegerField(db_index=True, default=0)),
                ('short', models.BooleanField(db_index=True, default=False, verbose_name='under what to keep')),
            ],
        ),
        migrations.RemoveIndex(
            model_name='part',
            name='part_kind',
        ),
        migrations.AlterField(
            model_name='owner',
            name='merged_into',
            field=models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='merged_from', to='shop.owner', verbose_name='who it is the same as'),
        ),
        migrations.AlterField(
            model_name='part',
            name='merged_into',
            field=models.ForeignKey(blank=True, db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='merged_from', to='shop.part', verbose_name='which part it is the same as'),
        ),
        migrations.AddIndex(
            model_name='bonereel',
            index=models.Index(fields=['stripped_on', 'reel'], name='bone_reel_whole'),
        ),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['pattern', 'stage'], name='job_pattern_stage'),
        ),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['owner', 'stage'], name='job_owner_stage'),
        ),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['-stage_since', '-id', 'stage'], name='job_ended_last'),
        ),
        migrations.AddIndex(
            model_name='owner',
            index=models.Index(condition=models.Q(('merged_into', None)), fields=['name', 'id'], name='owner_by_name'),
        ),
        migrations.AddIndex(
            model_name='owner',
            index=models.Index(condition=models.Q(('merged_into', None), _negated=True), fields=['merged_into'], name='owner_merged'),
        ),
        migrations.AddIndex(
            model_name='part',
            index=models.Index(fields=['kind', 'number'], name='part_kind'),
        ),
        migrations.AddIndex(
            model_name='part',
            index=models.Index(condition=models.Q(('merged_into', None)), fields=['number'], name='part_offered'),
        ),
        migrations.AddIndex(
            model_name='part',
            index=models.Index(condition=models.Q(('merged_into', None), _negated=True), fields=['merged_into'], name='part_merged'),
        ),
        migrations.AddIndex(
            model_name='partorder',
            index=models.Index(condition=models.Q(('arrived_on', None)), fields=['expected_on'], name='order_not_here'),
        ),
        migrations.AddIndex(
            model_name='sending',
            index=models.Index(fields=['follow_up_note', 'follow_up_on'], name='sending_to_ask'),
        ),
    ]
