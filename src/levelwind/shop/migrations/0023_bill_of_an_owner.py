"""A bill belongs to an owner and may be void; an entry of the ledger to a job or an owner, with the rate of its tax."""

import django.db.models.deletion
from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

TABLE = "shop_moneyentry"


def only_grows(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """SQLite makes a changed table anew, without its triggers (0002): here they are again."""
    if schema_editor.connection.vendor == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            schema_editor.execute(
                f"CREATE TRIGGER IF NOT EXISTS {TABLE}_no_{verb.lower()} BEFORE {verb} ON {TABLE} "
                "BEGIN SELECT RAISE(ABORT, 'a ledger entry is never edited or taken away'); END"
            )


def owner_of_its_job(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    for bill in apps.get_model("shop", "Bill").objects.select_related("job"):
        bill.owner_id = bill.job.owner_id  # type: ignore[union-attr]
        bill.save(update_fields=["owner"])


class Migration(migrations.Migration):

    dependencies = [("shop", "0022_retired_and_merged_patterns")]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, only_grows),
        migrations.AddField("bill", "owner", models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name="bills", to="shop.owner")),
        migrations.AddField("bill", "tax_included", models.BooleanField(default=False, verbose_name="its prices include the tax")),
        migrations.AddField("bill", "voided_at", models.DateTimeField(blank=True, null=True)),
        migrations.AddField("bill", "void_why", models.CharField(blank=True, max_length=200)),
        migrations.AlterField("bill", "job", models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="bills", to="shop.job")),
        migrations.AddField("shop", "tax_included", models.BooleanField(default=False, verbose_name="prices include the tax")),
        migrations.AddField("shop", "other_rates", models.JSONField(blank=True, default=list, verbose_name="other rates of tax: name and percent")),
        migrations.RemoveConstraint("moneyentry", "money_charges_up_payments_down"),
        migrations.AlterField("moneyentry", "kind", models.CharField(choices=[("charge", "charge"), ("tax", "tax"), ("payment", "payment"), ("deposit", "deposit"), ("credit", "credit"), ("refund", "given back"), ("reversal", "mistyped")], max_length=8)),
        migrations.AlterField("moneyentry", "job", models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="money", to="shop.job")),
        migrations.AddField("moneyentry", "owner", models.ForeignKey(blank=True, help_text="Where it belongs to no job.", null=True, on_delete=django.db.models.deletion.PROTECT, related_name="money", to="shop.owner")),
        migrations.AddField("moneyentry", "tax_percent", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True, verbose_name="rate of its tax")),
        migrations.AddField("moneyentry", "typed_minor", models.BigIntegerField(blank=True, null=True, verbose_name="with the tax that its price includes")),
        migrations.AddField("moneyentry", "reverses", models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="reversed_by", to="shop.moneyentry")),
        migrations.AddConstraint("moneyentry", models.CheckConstraint(condition=models.Q(("amount_minor__gte", 0), ("kind__in", ["charge", "refund", "reversal"])) | models.Q(("amount_minor__lte", 0), ("kind__in", ["payment", "deposit", "credit"])) | models.Q(("kind", "tax")), name="money_charges_up_payments_down")),
        migrations.AddConstraint("moneyentry", models.CheckConstraint(condition=models.Q(("job__isnull", False), ("owner__isnull", True)) | models.Q(("job__isnull", True), ("owner__isnull", False)), name="money_of_a_job_or_an_owner")),
        migrations.RunPython(owner_of_its_job, migrations.RunPython.noop),
        migrations.RunPython(only_grows, migrations.RunPython.noop),
    ]
