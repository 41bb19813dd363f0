import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [("shop", "0023_bill_of_an_owner")]

    operations = [
        migrations.AlterField("bill", "owner", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="bills", to="shop.owner")),
    ]
