from typing import Any

from django.db import migrations, models
from django.db.models import F, Value
from django.db.models.functions import Concat, Substr

BEFORE = "without:"
"""Stood before the place in the key of a gate's row, where the reel goes home without that piece."""


def a_phase_of_its_own(apps: Any, schema_editor: Any) -> None:
    rows = apps.get_model("shop", "StepDone").objects.filter(phase="gate", step__startswith=BEFORE)
    rows.update(phase="without", step=Substr("step", len(BEFORE) + 1))


def a_gate_again(apps: Any, schema_editor: Any) -> None:
    rows = apps.get_model("shop", "StepDone").objects.filter(phase="without")
    rows.update(phase="gate", step=Concat(Value(BEFORE), F("step")))


class Migration(migrations.Migration):
    """That a reel goes home without a piece is no gate by a made-up name, but a thing of its own."""

    dependencies = [
        ("shop", "0009_whose_turn_it_is"),
    ]

    operations = [
        migrations.AlterField(
            model_name="stepdone",
            name="phase",
            field=models.CharField(
                choices=[
                    ("apart", "apart"),
                    ("together", "together"),
                    ("gate", "gate"),
                    ("without", "goes home without"),
                ],
                max_length=8,
            ),
        ),
        migrations.RunPython(a_phase_of_its_own, a_gate_again),
    ]
