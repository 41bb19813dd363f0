"""Where a part lies, and of what it is, are kept with the words it is found by on the shelf."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0078_what_it_is_to_be_sold_for")]

    operations = [
        migrations.AddField(
            "findable",
            "lies",
            models.TextField("the part's material and spot, by which the shelf alone is looked through", default=""),
        )
    ]
