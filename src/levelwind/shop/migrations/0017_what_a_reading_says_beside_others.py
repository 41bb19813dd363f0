from typing import Any

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

AT_ONCE = 100
"""Rows opened at a time: an analysis may hold 40 kB."""


def briefs_of_old(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    """What was read before this is told beside others too."""
    from levelwind.core.errors import LevelwindError
    from levelwind.shop.readings.selectors.brief import brief_to_keep

    rows: Any = apps.get_model("shop", "Reading").objects
    old = rows.filter(work="read", refused="").exclude(analysis={}).only("kind", "moment", "analysis", "refused")
    for row in old.iterator(AT_ONCE):
        try:
            brief = brief_to_keep(row)
        except LevelwindError:
            continue  # what is broken in a row is said where that reading is opened
        rows.filter(pk=row.pk).update(brief=brief)


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0016_naming_the_unknown"),
    ]

    operations = [
        migrations.AddField(
            model_name="reading",
            name="brief",
            field=models.JSONField(blank=True, default=dict, verbose_name="what it says beside other reels"),
        ),
        migrations.AddIndex(
            model_name="reading",
            index=models.Index(fields=["job", "moment", "kind"], name="reading_of_job"),
        ),
        migrations.RunPython(briefs_of_old, migrations.RunPython.noop),
    ]
