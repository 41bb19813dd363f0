"""Bills and the money ledger. What an owner owes on a job is the sum of its entries."""

from typing import ClassVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.ledger import LedgerEntry
from levelwind.shop.models.patterns import Part
from levelwind.shop.models.people import Owner


class Bill(models.Model):
    """A numbered paper over the charges it lists. It belongs to an owner; ``job`` is set where all of it is one job's.

    Never deleted, so that numbers have no gap: a wrong one is voided, by entries that take back its own.
    """

    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="bills")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="bills")
    number = models.CharField(max_length=16, unique=True)
    issued_at = models.DateTimeField(default=timezone.now)
    tax_included = models.BooleanField("its prices include the tax", default=False)
    voided_at = models.DateTimeField(null=True, blank=True)
    void_why = models.CharField(max_length=200, blank=True)
    press = models.CharField("the press of a button that made it", max_length=32, unique=True, null=True, blank=True)

    class Meta:
        ordering = ["issued_at", "pk"]

    def __str__(self) -> str:
        return self.number


class MoneyEntry(LedgerEntry):
    """Charges are positive, payments and credits negative. Of a job, or else of an owner."""

    KINDS = [
        ("charge", "charge"),
        ("tax", "tax"),
        ("payment", "payment"),
        ("deposit", "deposit"),
        ("credit", "credit"),
        ("refund", "given back"),
        ("reversal", "mistyped"),
    ]

    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="money")
    owner = models.ForeignKey(
        Owner,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="money",
        help_text="Where it belongs to no job.",
    )
    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    kind = models.CharField(max_length=8, choices=KINDS)
    text = models.CharField(max_length=160)
    count = models.PositiveSmallIntegerField(default=1)
    part = models.ForeignKey(
        Part,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="money",
        help_text="Where it came off the shelf: so many of it are billed.",
    )
    amount_minor = models.BigIntegerField()
    tax_percent = models.DecimalField("rate of its tax", max_digits=5, decimal_places=2, null=True, blank=True)
    typed_minor = models.BigIntegerField("with the tax that its price includes", null=True, blank=True)
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by")

    class Meta:
        ordering: ClassVar = ["at", "pk"]
        verbose_name_plural = "money entries"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["charge", "refund", "reversal"], amount_minor__gte=0)
                | models.Q(kind__in=["payment", "deposit", "credit"], amount_minor__lte=0)
                | models.Q(kind="tax"),
                name="money_charges_up_payments_down",
            ),
            models.CheckConstraint(
                condition=models.Q(job__isnull=False, owner__isnull=True)
                | models.Q(job__isnull=True, owner__isnull=False),
                name="money_of_a_job_or_an_owner",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Balance(models.Model):
    """What an owner owes by the ledger, without those merged into them: written by the database's own triggers
    (shop/sums.py) and by nobody else.
    """

    owner = models.OneToOneField(
        Owner, on_delete=models.CASCADE, primary_key=True, related_name="+", related_query_name="balance"
    )
    owes_minor = models.BigIntegerField(default=0, db_index=True)

    def __str__(self) -> str:
        return f"{self.owner} owes {self.owes_minor}"


class Sending(models.Model):
    """The box home: what it weighs, who carries it, when to ask how the reel does."""

    job = models.OneToOneField(Job, on_delete=models.CASCADE, related_name="sending")
    weight_g = models.PositiveIntegerField(null=True, blank=True)
    length_mm = models.PositiveIntegerField(null=True, blank=True)
    width_mm = models.PositiveIntegerField(null=True, blank=True)
    height_mm = models.PositiveIntegerField(null=True, blank=True)
    carrier = models.CharField(max_length=60, blank=True)
    tracking = models.CharField(max_length=80, blank=True)
    old_parts_bagged = models.BooleanField(default=False)
    old_parts_refused = models.BooleanField("the owner does not want the old parts", default=False)
    sent_at = models.DateTimeField(null=True, blank=True)
    handed_over_at = models.DateTimeField("when the carrier or the owner had it in hand", null=True, blank=True)
    follow_up_on = models.DateField(null=True, blank=True)
    follow_up_note = models.TextField("what the owner said later", blank=True)
    came_back = models.BooleanField("came back with the same trouble", default=False)
    setting_N = models.FloatField("drag setting given to the owner", null=True, blank=True)
    proof = models.JSONField("the proof sheet as it went along", default=dict, blank=True, encoder=DjangoJSONEncoder)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["sent_at"], name="sending_sent_at"),
            models.Index(fields=["follow_up_note", "follow_up_on"], name="sending_to_ask"),
        ]

    def __str__(self) -> str:
        return f"{self.job.tag} on its way home"
