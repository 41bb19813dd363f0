"""The most the owner agreed to stands with the job; worked out for older books from what was said."""

from decimal import ROUND_HALF_UP, Decimal

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models import Sum


def from_what_was_said(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    shop = apps.get_model("shop", "Shop").objects.first()
    percent = Decimal(shop.tax_percent) if shop else Decimal(0)
    for job in apps.get_model("shop", "Job").objects.filter(prices__words__isnull=False).distinct():
        last = {}
        for word in apps.get_model("shop", "Word").objects.filter(price__job=job).order_by("at", "pk"):
            last[word.price_id] = word
        holding = [word for word in last.values() if word.said != "no"]
        if not holding:
            continue
        word = max(holding, key=lambda word: word.price.number)
        most = word.price.lines.aggregate(sum=Sum("high_minor"))["sum"] or 0
        tax = int((most * percent / 100).quantize(Decimal(1), rounding=ROUND_HALF_UP))
        job.ceiling_minor = most + tax if word.up_to_minor is None else word.up_to_minor
        job.save(update_fields=["ceiling_minor"])


class Migration(migrations.Migration):

    dependencies = [("shop", "0024_every_bill_has_an_owner")]

    operations = [
        migrations.AddField(
            "job",
            "ceiling_minor",
            models.PositiveBigIntegerField(blank=True, null=True, verbose_name="the most the owner agreed to, with tax"),
        ),
        migrations.RunPython(from_what_was_said, migrations.RunPython.noop),
    ]
