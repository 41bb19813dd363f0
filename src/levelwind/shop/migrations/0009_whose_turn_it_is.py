from typing import Any

from django.db import migrations, models

NOW = {"": "mine", "parts": "part"}
"""What a job waited for, and whose turn that makes it now; the owner's stays the owner's."""


def said_now(apps: Any, schema_editor: Any) -> None:
    _say(apps, NOW)


def said_before(apps: Any, schema_editor: Any) -> None:
    _say(apps, {now: before for before, now in NOW.items()})


def _say(apps: Any, words: dict[str, str]) -> None:
    jobs = apps.get_model("shop", "Job").objects
    for before, now in words.items():
        jobs.filter(turn=before).update(turn=now)


class Migration(migrations.Migration):
    """What a job waits for becomes whose turn it is. The way back forgets a part that was typed and not ordered."""

    dependencies = [
        ("shop", "0008_sum_of_each_picture"),
    ]

    operations = [
        migrations.RenameField(model_name="job", old_name="waiting", new_name="turn"),
        migrations.RunPython(said_now, said_before),
        migrations.AlterField(
            model_name="job",
            name="turn",
            field=models.CharField(
                choices=[("mine", "my turn"), ("owner", "the owner's turn"), ("part", "short of a part")],
                default="mine",
                max_length=5,
                verbose_name="whose turn it is",
            ),
        ),
        migrations.AddField(
            model_name="job",
            name="short_of",
            field=models.CharField(
                blank=True, max_length=120, verbose_name="which part it is short of, beside those on order"
            ),
        ),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(("turn__in", ["mine", "owner", "part"])), name="job_turn_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="job",
            constraint=models.CheckConstraint(
                condition=models.Q(models.Q(("turn", "mine"), _negated=True), ("short_of", ""), _connector="OR"),
                name="job_of_mine_short_of_nothing",
            ),
        ),
    ]
