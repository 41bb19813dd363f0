"""The one row about the book's safety is there from the beginning, so that it is read with the newest entries at once."""

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def make(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    apps.get_model("shop", "Safekeeping").objects.get_or_create(pk=1)


class Migration(migrations.Migration):

    dependencies = [("shop", "0047_clear_family")]

    operations = [migrations.RunPython(make, migrations.RunPython.noop)]
