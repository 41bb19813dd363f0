from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0010_going_without_a_piece"),
    ]

    operations = [
        migrations.RenameField(model_name="reading", old_name="told", new_name="options"),
    ]
