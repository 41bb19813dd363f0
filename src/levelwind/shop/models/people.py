"""The shop itself, the owners of reels, and the parcels they send."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from levelwind.core.quantities import SCALE_UNITS
from levelwind.core.writing import day_in_words

NUMBERS = [("point", "1,234.50"), ("comma", "1.234,50"), ("space", "1 234,50"), ("quote", "1’234.50")]
DAYS_WRITTEN = [
    ("named", "30 Nov 2026"),
    ("points", "30.11.2026"),
    ("slashes", "30/11/2026"),
    ("month_first", "11/30/2026"),
    ("year_first", "2026-11-30"),
]
"""Each by an example; how they are written stands in ``core/writing.py``."""


class Shop(models.Model):
    """The one shop this book belongs to: what its papers say and what its time costs."""

    name = models.CharField(max_length=80)
    address = models.TextField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    tax_number = models.CharField(max_length=40, blank=True)
    tax_label = models.CharField(max_length=40, blank=True, help_text="As your local rules name it; empty for none.")
    tax_percent = models.DecimalField(max_digits=5, decimal_places=2, default=0)
    tax_included = models.BooleanField("prices include the tax", default=False)
    other_rates = models.JSONField("other rates of tax: name and percent", default=list, blank=True)
    currency_code = models.CharField(max_length=3, default="USD")
    currency_symbol = models.CharField(max_length=4, default="$")
    currency_decimals = models.PositiveSmallIntegerField(default=2)
    paper = models.CharField(max_length=10, choices=[("a4", "A4"), ("us-letter", "Letter")], default="a4")
    numbers_written = models.CharField("numbers are written", max_length=8, choices=NUMBERS, default="point")
    days_written = models.CharField("days are written", max_length=12, choices=DAYS_WRITTEN, default="named")
    force_unit = models.CharField(
        max_length=3, choices=[(unit, SCALE_UNITS[unit]) for unit in ("N", "kgf", "lbf")], default="lbf"
    )
    scale_most_N = models.FloatField("the most the hanging scale can read", null=True, blank=True)
    hour_minor = models.PositiveBigIntegerField("an hour of work", default=6000)
    own_hour_minor = models.PositiveBigIntegerField("what an hour of your own is to bring you", null=True, blank=True)
    desk_hours = models.DecimalField(
        "hours a week beside the bench",
        max_digits=4,
        decimal_places=1,
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(120)],
    )
    hour_cost_minor = models.PositiveBigIntegerField("what a billed hour costs the shop", null=True, blank=True)
    hours = models.JSONField("hours of work at the bench, Monday first", default=list, blank=True)
    order_days = models.PositiveSmallIntegerField(
        "days between orders of parts", default=7, validators=[MinValueValidator(1), MaxValueValidator(366)]
    )
    waiting_day_minor = models.PositiveBigIntegerField("what a day costs that a reel waits for a part", default=0)
    holding_percent = models.PositiveSmallIntegerField(
        "what keeping a part costs a year, in percent of its price",
        default=25,
        validators=[MinValueValidator(1), MaxValueValidator(500)],
    )
    owner_links = models.BooleanField("owners may answer by a link", default=False)
    ask_again_days = models.PositiveSmallIntegerField("days until an owner is asked again", default=7)
    service_months = models.PositiveSmallIntegerField(
        "months until it is time for a service", default=12, validators=[MinValueValidator(1), MaxValueValidator(48)]
    )
    service_months_salt = models.PositiveSmallIntegerField(
        "months until it is time, of a reel fished in salt water",
        default=6,
        validators=[MinValueValidator(1), MaxValueValidator(48)],
    )
    service_hours = models.PositiveSmallIntegerField(
        "hours of fishing until it is time, where that is sooner", default=100, validators=[MinValueValidator(1)]
    )
    no_fee_minor = models.PositiveBigIntegerField("for the looking, where the owner says no", default=0)
    no_post_minor = models.PositiveBigIntegerField("for the way back, where the owner says no", default=0)
    guarantee = models.TextField(blank=True)
    guarantee_days = models.PositiveSmallIntegerField("days a comeback is free of charge", default=0)
    how_to_pay = models.TextField(blank=True)
    invented = models.BooleanField(default=False, help_text="A demonstration: papers say so.")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="shop_is_one"),
            models.CheckConstraint(
                condition=models.Q(tax_percent__gte=0, tax_percent__lte=100), name="shop_tax_percent_0_to_100"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class DayOff(models.Model):
    """A day, or from one to another, on which nobody works at the bench."""

    first = models.DateField("from")
    last = models.DateField("to")
    what = models.CharField("why", max_length=80, blank=True)

    class Meta:
        ordering = ["first", "pk"]
        verbose_name_plural = "days off"
        constraints = [
            models.CheckConstraint(condition=models.Q(last__gte=models.F("first")), name="day_off_first_before_last")
        ]

    def __str__(self) -> str:
        return self.what or f"{day_in_words(self.first, long=True)}"


class Owner(models.Model):
    """A person or a boat that owns reels; or, once in a book each, the shop and everybody without a name."""

    KINDS = [("", "a person or a boat"), ("passing", "customers without a name"), ("shop", "the shop itself")]

    kind = models.CharField(max_length=7, choices=KINDS, default="", blank=True, editable=False)
    name = models.CharField(max_length=120, db_index=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    note = models.TextField(blank=True)
    since = models.DateTimeField(default=timezone.now)
    merged_into = models.ForeignKey(
        "self",
        verbose_name="who it is the same as",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        related_name="merged_from",
    )
    forgotten_on = models.DateField("when they asked to be forgotten", null=True, blank=True, editable=False)
    went_over = models.JSONField("what went over to them", default=dict, blank=True)

    class Meta:
        ordering = ["name", "pk"]
        indexes = [
            models.Index(fields=["name", "id"], condition=models.Q(merged_into=None), name="owner_by_name"),
            models.Index(fields=["merged_into"], condition=models.Q(merged_into__isnull=False), name="owner_merged"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["kind"], condition=~models.Q(kind=""), name="owner_of_a_kind_once")
        ]

    def __str__(self) -> str:
        return self.name


class Parcel(models.Model):
    """What came in at one time from one owner. With several reels in it, it is a crate."""

    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="parcels")
    arrived_at = models.DateTimeField(default=timezone.now, db_index=True)
    came_by = models.CharField(
        max_length=10, choices=[("post", "post"), ("counter", "over the counter")], default="post"
    )
    carrier = models.CharField(max_length=60, blank=True)
    tracking = models.CharField(max_length=80, blank=True)
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"parcel from {self.owner}"
