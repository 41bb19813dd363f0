"""In PostgreSQL the indexes of the sizes take a size that is no number as none, as SQLite's do."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from levelwind.shop.models.part_sizes import SizeOf

NAMES = ("outer diameter", "inner diameter", "width", "length", "thread diameter", "wire diameter")


def made_anew(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    if schema_editor.connection.vendor != "postgresql":
        return
    part = apps.get_model("shop", "Part")
    for name in NAMES:
        index = models.Index(models.F("kind"), SizeOf(name), name=f"part_kind_{name.replace(' ', '_')}")
        schema_editor.remove_index(part, index)
        schema_editor.add_index(part, index)


class Migration(migrations.Migration):
    dependencies = [("shop", "0076_consumables_by_the_job")]

    operations = [migrations.RunPython(made_anew, migrations.RunPython.noop)]
