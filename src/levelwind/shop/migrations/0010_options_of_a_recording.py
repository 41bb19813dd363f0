from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0009_whose_turn_it_is"),
    ]

    operations = [
        migrations.RenameField(model_name="reading", old_name="told", new_name="options"),
    ]
