"""How the entries of the ledgers are called where they are counted."""

from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [("shop", "0041_tax_of_a_price_line")]

    operations = [
        migrations.AlterModelOptions(
            "moneyentry", {"ordering": ["at", "pk"], "verbose_name_plural": "money entries"}
        ),
        migrations.AlterModelOptions(
            "stockentry", {"ordering": ["at", "pk"], "verbose_name_plural": "stock entries"}
        ),
    ]
