"""What a job will cost, and the owner's word on it. Money is whole minor units: cents, pence."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.patterns import Part


class FlatPrice(models.Model):
    """What the shop asks for a kind of work, whatever it takes on one reel. Parts are not in it."""

    text = models.CharField("the work", max_length=120)
    family = models.CharField("kind of reel", max_length=40, blank=True, help_text="Empty: any kind.")
    amount_minor = models.PositiveBigIntegerField("price")
    minutes = models.PositiveSmallIntegerField("minutes it takes", null=True, blank=True)
    rate = models.CharField(
        "rate of its tax", max_length=6, blank=True, default="", help_text="In percent; empty: the usual one."
    )

    class Meta:
        ordering = ["text", "pk"]

    def __str__(self) -> str:
        return self.text


class YearlyCost(models.Model):
    """What the shop pays in a year whatever it mends: rent, post that nobody is charged, insurance."""

    text = models.CharField("what for", max_length=80)
    amount_minor = models.PositiveBigIntegerField("a year")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.text


class Price(models.Model):
    """One price for one job; a later one takes its place and both are kept."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="prices")
    number = models.PositiveSmallIntegerField(default=1)
    note = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    sent_at = models.DateTimeField(null=True, blank=True)
    good_until = models.DateField(null=True, blank=True)
    left_out = models.JSONField(
        "what may come beside its lines: chance, low, likely and high of each", default=list, blank=True
    )

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["job", "number"], name="price_number_once_a_job")]

    def __str__(self) -> str:
        return f"price {self.number} of {self.job.tag}"


class PriceLine(models.Model):
    KINDS = [("work", "work"), ("part", "part"), ("post", "post")]

    price = models.ForeignKey(Price, on_delete=models.CASCADE, related_name="lines")
    kind = models.CharField(max_length=4, choices=KINDS)
    text = models.CharField(max_length=160)
    count = models.PositiveSmallIntegerField(default=1)
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    low_minor = models.PositiveBigIntegerField(default=0)
    likely_minor = models.PositiveBigIntegerField(default=0)
    high_minor = models.PositiveBigIntegerField(default=0)
    rate = models.CharField(
        "rate of its tax", max_length=6, blank=True, default="", help_text="In percent; empty: the usual one."
    )
    part = models.ForeignKey(Part, on_delete=models.PROTECT, null=True, blank=True)
    place = models.CharField(max_length=60, blank=True)
    because = models.CharField("why it is here", max_length=200, blank=True)
    chance = models.FloatField("chance that it is needed", null=True, blank=True)
    flat = models.ForeignKey(
        FlatPrice,
        verbose_name="the shop's own price",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="lines",
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(low_minor__lte=models.F("likely_minor"), likely_minor__lte=models.F("high_minor")),
                name="price_line_low_likely_high",
            ),
            models.CheckConstraint(
                condition=models.Q(chance__isnull=True) | models.Q(chance__gte=0, chance__lte=1),
                name="price_line_chance_0_to_1",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Word(models.Model):
    """What the owner said to a price, with when and how. Kept as said: a second word is another row."""

    ANSWERS = [("yes", "yes"), ("up_to", "yes, up to a sum"), ("no", "no")]
    TAKEN_DOWN = [("phone", "by phone"), ("mail", "by e-mail"), ("letter", "by letter"), ("counter", "at the counter")]
    HOW = [*TAKEN_DOWN, ("link", "by the link")]

    price = models.ForeignKey(Price, on_delete=models.PROTECT, related_name="words")
    said = models.CharField(max_length=5, choices=ANSWERS)
    up_to_minor = models.PositiveBigIntegerField(null=True, blank=True)
    how = models.CharField(max_length=7, choices=HOW)
    at = models.DateTimeField(default=timezone.now)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(said="up_to") | models.Q(up_to_minor__isnull=False), name="word_up_to_has_a_sum"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_said_display()} {self.get_how_display()}"
