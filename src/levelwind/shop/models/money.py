"""Bills and the money ledger. What an owner owes on a job is the sum of its entries."""

from typing import ClassVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.ledger import LedgerEntry


class Bill(models.Model):
    """A numbered paper over the charges it lists."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="bills")
    number = models.CharField(max_length=16, unique=True)
    issued_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["issued_at", "pk"]

    def __str__(self) -> str:
        return self.number


class MoneyEntry(LedgerEntry):
    """Charges are positive, payments and credits negative."""

    KINDS = [("charge", "charge"), ("tax", "tax"), ("payment", "payment"), ("credit", "credit"), ("refund", "refund")]

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="money")
    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, null=True, blank=True, related_name="entries")
    kind = models.CharField(max_length=7, choices=KINDS)
    text = models.CharField(max_length=160)
    count = models.PositiveSmallIntegerField(default=1)
    amount_minor = models.BigIntegerField()

    class Meta:
        ordering: ClassVar = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind__in=["charge", "tax", "refund"], amount_minor__gte=0)
                | models.Q(kind__in=["payment", "credit"], amount_minor__lte=0),
                name="money_charges_up_payments_down",
            )
        ]

    def __str__(self) -> str:
        return self.text


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

    def __str__(self) -> str:
        return f"{self.job.tag} on its way home"
