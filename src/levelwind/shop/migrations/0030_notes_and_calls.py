"""Notes and calls on a job."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', "0029_ledgers_are_not_emptied"),
    ]

    operations = [
        migrations.CreateModel(
            name='JobNote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('note', 'a note'), ('called', 'I called the owner'), ('rang', 'the owner called')], default='note', max_length=6)),
                ('outcome', models.CharField(blank=True, choices=[('spoke', 'we spoke'), ('message', 'I left a message'), ('nobody', 'nobody answered')], default='', max_length=7, verbose_name='what came of the call')),
                ('text', models.TextField(blank=True, max_length=2000, verbose_name='what')),
                ('at', models.DateTimeField(default=django.utils.timezone.now, verbose_name='when')),
                ('by', models.CharField(blank=True, max_length=80)),
                ('struck_at', models.DateTimeField(blank=True, null=True)),
                ('struck_by', models.CharField(blank=True, max_length=80)),
                ('struck_why', models.CharField(blank=True, max_length=200, verbose_name='why it is struck out')),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='notes', to='shop.job')),
            ],
            options={
                'ordering': ['-at', '-pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('kind', 'called'), models.Q(('outcome', ''), _negated=True)), models.Q(models.Q(('kind', 'called'), _negated=True), ('outcome', '')), _connector='OR'), name='note_outcome_of_a_call_made'), models.CheckConstraint(condition=models.Q(models.Q(('text', ''), _negated=True), ('kind', 'called'), _connector='OR'), name='note_without_words_is_a_call_made')],
            },
        ),
    ]
