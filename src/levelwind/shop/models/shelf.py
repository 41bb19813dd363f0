"""Parts in stock as a ledger, what is on order, and the donor reels."""

from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models.functions import Upper
from django.utils import timezone

from levelwind.core.writing import written
from levelwind.shop.models.imports import Import
from levelwind.shop.models.jobs import Job
from levelwind.shop.models.ledger import LedgerEntry
from levelwind.shop.models.money import MoneyEntry
from levelwind.shop.models.patterns import Part, Pattern, family_choices
from levelwind.shop.models.pieces import Piece


class StockEntry(LedgerEntry):
    """Parts put on the shelf (more) or taken from it (fewer)."""

    WHY = [
        ("bought", "bought"),
        ("donor", "from a donor reel"),
        ("counted", "counted"),
        ("taken", "taken for a job"),
        ("back", "put back from a job"),
        ("thrown", "thrown away"),
        ("sold", "sold over the counter"),
        ("brought", "brought back"),
        ("merged", "one with another part"),
        ("returned", "sent back to the supplier"),
        ("cut", "cut from a sheet"),
        ("cut_up", "cut up into washers"),
        ("used_up", "used up on reels"),
    ]

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="entries")
    used = models.BooleanField("second-hand", default=False)
    change = models.IntegerField("how many more or fewer")
    why = models.CharField(max_length=8, choices=WHY)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_entries")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_entries")
    charge = models.ForeignKey(
        MoneyEntry,
        verbose_name="what it was sold for",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="stock_entries",
    )
    bone = models.ForeignKey(
        "shop.BoneReel",
        verbose_name="the donor reel it came off",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="stock_entries",
    )
    unit_cost_minor = models.PositiveBigIntegerField(default=0)
    came_by = models.ForeignKey(
        Import,
        verbose_name="the list it came by",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="stock_entries",
    )

    class Meta:
        ordering: ClassVar = ["at", "pk"]
        verbose_name_plural = "stock entries"
        indexes = [
            models.Index(fields=["part", "used"], name="stock_part_used"),
            # Of few entries only: by its own index the database would read the whole ledger.
            models.Index(fields=["bone"], condition=models.Q(bone__isnull=False), name="stock_off_donor"),
        ]
        constraints = [
            models.CheckConstraint(condition=~models.Q(change=0), name="stock_entry_changes_something"),
            models.CheckConstraint(
                condition=models.Q(charge__isnull=False) | ~models.Q(why="sold"), name="stock_sold_for_a_charge"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.change:+d} {self.part.number}"


class ReelUse(models.Model):
    """How much of a consumable a reel uses up, in its measure: a reel of one family, or with no family any reel."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="reel_uses")
    family = models.CharField(max_length=40, blank=True, choices=family_choices)
    amount = models.FloatField(validators=[MinValueValidator(0.001), MaxValueValidator(100_000)])

    class Meta:
        ordering: ClassVar = ["part", "family"]
        verbose_name = "use by a reel"
        verbose_name_plural = "uses by a reel"
        constraints = [models.UniqueConstraint(fields=["part", "family"], name="reel_use_once")]

    def __str__(self) -> str:
        return f"{written(self.amount)} {self.part.measure} of {self.part.number}"


class UsedUp(LedgerEntry):
    """So much of a consumable went into a reel (more), or did not after all (fewer), in its measure."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="used_up")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="used_up")
    amount = models.FloatField()

    class Meta:
        ordering: ClassVar = ["at", "pk"]
        verbose_name_plural = "used up"
        constraints = [models.CheckConstraint(condition=~models.Q(amount=0), name="used_up_something")]

    def __str__(self) -> str:
        return f"{self.amount:+g} {self.part.measure} of {self.part.number}"


class Supplier(models.Model):
    """Who sends parts, known by the name that stands on the parts: what a parcel costs, and how long it takes."""

    name = models.CharField(max_length=80, unique=True)
    postage_minor = models.PositiveBigIntegerField("postage of a parcel", default=0)
    minimum_minor = models.PositiveBigIntegerField("smallest order taken, goods alone", default=0)
    free_from_minor = models.PositiveBigIntegerField("goods from which postage is free", null=True, blank=True)
    days_low = models.PositiveSmallIntegerField("days it takes, hardly ever under", null=True, blank=True)
    days_likely = models.PositiveSmallIntegerField("days it takes, mostly about", null=True, blank=True)
    days_high = models.PositiveSmallIntegerField("days it takes, hardly ever over", null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(days_low__isnull=True, days_likely__isnull=True, days_high__isnull=True)
                | models.Q(
                    days_low__lte=models.F("days_likely"), days_likely__lte=models.F("days_high"), days_high__gt=0
                ),
                name="supplier_days_in_order",
            )
        ]

    def __str__(self) -> str:
        return self.name


class PartOffer(models.Model):
    """A part as another supplier has it than the one that stands on the part."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="offers")
    supplier = models.CharField(max_length=80)
    cost_minor = models.PositiveBigIntegerField("what it costs us there", validators=[MinValueValidator(1)])
    pack = models.PositiveSmallIntegerField("sold in packs of", default=1, validators=[MinValueValidator(1)])

    class Meta:
        ordering: ClassVar = ["part", "cost_minor", "pk"]
        verbose_name = "offer of another supplier"
        verbose_name_plural = "offers of other suppliers"
        constraints = [
            models.UniqueConstraint("part", Upper("supplier"), name="part_offer_once"),
            models.CheckConstraint(condition=models.Q(cost_minor__gt=0, pack__gt=0), name="part_offer_costs_something"),
        ]

    def __str__(self) -> str:
        return f"{self.part.number} from {self.supplier}"


class PartStock(models.Model):
    """How many of a part there are by the ledger, and on order: written by the database's own triggers (shop/sums.py)
    and by nobody else.
    """

    part = models.OneToOneField(
        Part, on_delete=models.CASCADE, primary_key=True, related_name="+", related_query_name="stock"
    )
    new = models.IntegerField(default=0)
    used = models.IntegerField("second-hand", default=0)
    here = models.IntegerField("new and second-hand", default=0, db_index=True)
    on_order = models.IntegerField(default=0, db_index=True)
    short = models.BooleanField("under what to keep", default=False, db_index=True)

    def __str__(self) -> str:
        return f"{self.here} of {self.part}"


class PartOrder(models.Model):
    """Parts ordered and not yet here, or here. What came of an order in part stands in a row of its own."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="orders")
    count = models.PositiveSmallIntegerField(default=1)
    job = models.ForeignKey(Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="part_orders")
    piece = models.ForeignKey(Piece, on_delete=models.SET_NULL, null=True, blank=True, related_name="orders")
    supplier = models.CharField(max_length=80, blank=True)
    ordered_on = models.DateField(default=timezone.localdate)
    expected_on = models.DateField(null=True, blank=True)
    arrived_on = models.DateField(null=True, blank=True)
    rest_of = models.ForeignKey(
        "self",
        verbose_name="the order of which this did not come",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="rests",
    )
    wrong = models.PositiveSmallIntegerField("how many came wrong", default=0)
    press = models.CharField("the press of a button that made it", max_length=32, blank=True, default="")

    class Meta:
        ordering = ["ordered_on", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "supplier", "press"], condition=~models.Q(press=""), name="part_order_once"
            )
        ]
        indexes = [models.Index(fields=["expected_on"], condition=models.Q(arrived_on=None), name="order_not_here")]

    def __str__(self) -> str:
        return f"{self.count} of {self.part.number}"


class BoneReel(models.Model):
    """A donor reel, whole, not yet stripped."""

    pattern = models.ForeignKey(Pattern, on_delete=models.PROTECT, null=True, blank=True, related_name="bone_reels")
    reel = models.CharField(max_length=120)
    condition = models.TextField(blank=True)
    spot = models.CharField("where it lies", max_length=40, blank=True)
    paid_minor = models.PositiveBigIntegerField(default=0)
    whole_minor = models.PositiveBigIntegerField("what it would bring mended, sold whole", null=True, blank=True)
    shut_minor = models.PositiveBigIntegerField("what somebody gives for it as it is", null=True, blank=True)
    box = models.CharField("the box it came in with others", max_length=32, blank=True, db_index=True)
    got_on = models.DateField(default=timezone.localdate)
    stripped_on = models.DateField(null=True, blank=True)
    job = models.ForeignKey(Job, on_delete=models.SET_NULL, null=True, blank=True, related_name="bone_reels")
    mended_as = models.OneToOneField(
        Job,
        verbose_name="the job as which it went onto the bench",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="out_of_the_box",
    )

    class Meta:
        ordering = ["reel", "pk"]
        indexes = [models.Index(fields=["stripped_on", "reel"], name="bone_reel_whole")]

    def __str__(self) -> str:
        return self.reel
