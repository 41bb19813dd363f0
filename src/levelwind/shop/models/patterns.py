"""The pattern book: kinds of reel, the places in them, the parts that serve those places."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models.functions import Upper
from django.utils import timezone

from levelwind.shop.models.part_sizes import size_indexes


def family_choices() -> list[tuple[str, str]]:
    from levelwind.reference.families import families, family

    return [(key, family(key).name) for key in families()]


class Pattern(models.Model):
    """A kind of reel. Its places are its family's, but for what it says otherwise, and for the rows in PatternPlace.

    ``says`` is a layer as `levelwind.reference.layers` has it: places and steps of its own. ``like`` is the pattern it
    was begun as: what fits that one fits it, but for the places said to be otherwise.
    """

    maker = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    size = models.CharField(max_length=30, blank=True)
    year_from = models.PositiveSmallIntegerField(null=True, blank=True)
    year_to = models.PositiveSmallIntegerField(null=True, blank=True)
    family = models.CharField(max_length=40, choices=family_choices)
    gear_ratio = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.5), MaxValueValidator(12)])
    spool_arbor_mm = models.FloatField("arbor diameter, mm", null=True, blank=True, validators=[MinValueValidator(1)])
    spool_flange_mm = models.FloatField("flange diameter, mm", null=True, blank=True, validators=[MinValueValidator(1)])
    spool_width_mm = models.FloatField(
        "width between flanges, mm", null=True, blank=True, validators=[MinValueValidator(1)]
    )
    plate_mm = models.FloatField(
        "plate or body, diameter, mm", null=True, blank=True, validators=[MinValueValidator(1)]
    )
    foot_mm = models.FloatField("foot, length, mm", null=True, blank=True, validators=[MinValueValidator(1)])
    marks = models.TextField("what stands on its plates and foot", blank=True, max_length=400)
    drag = models.JSONField(default=dict, blank=True, help_text="The standard stack; empty means the family's.")
    end_float_low_mm = models.FloatField(null=True, blank=True)
    end_float_high_mm = models.FloatField(null=True, blank=True)
    turn_most_Nm = models.FloatField("handle turns within, N m", null=True, blank=True)
    ticks_a_turn = models.PositiveSmallIntegerField("clicks in one turn of the spool", null=True, blank=True)
    bearing_balls = models.PositiveSmallIntegerField("spool bearing, balls", null=True, blank=True)
    bearing_ball_mm = models.FloatField("ball diameter, mm", null=True, blank=True)
    bearing_pitch_mm = models.FloatField("pitch diameter, mm", null=True, blank=True)
    note = models.TextField(blank=True)
    built_as = models.JSONField("builds of the family that it is of", default=list, blank=True)
    recorded_from = models.ForeignKey(
        "shop.Job", on_delete=models.SET_NULL, null=True, blank=True, related_name="records"
    )
    says = models.JSONField("what it says otherwise than its family", default=dict, blank=True)
    laid_by = models.JSONField("what of its own was taken out", default=list, blank=True)
    retired_on = models.DateField("no longer offered since", null=True, blank=True)
    merged_into = models.ForeignKey("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="merged")
    like = models.ForeignKey("self", on_delete=models.SET_NULL, null=True, blank=True, related_name="made_like")

    class Meta:
        ordering = ["maker", "model", "size"]
        constraints = [
            models.UniqueConstraint(fields=["maker", "model", "size"], name="pattern_named_once"),
            models.CheckConstraint(
                condition=models.Q(spool_flange_mm__isnull=True)
                | models.Q(spool_arbor_mm__isnull=True)
                | models.Q(spool_flange_mm__gt=models.F("spool_arbor_mm")),
                name="pattern_flange_over_arbor",
            ),
            models.CheckConstraint(
                condition=models.Q(year_to__isnull=True)
                | models.Q(year_from__isnull=True)
                | models.Q(year_to__gte=models.F("year_from")),
                name="pattern_years_in_order",
            ),
        ]

    def __str__(self) -> str:
        return " ".join(filter(None, (self.maker, self.model, self.size)))


class PatternPlace(models.Model):
    """Where a pattern differs from its family, or what is known of the part that sits there."""

    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="places")
    key = models.CharField(max_length=60)
    absent = models.BooleanField(default=False)
    count = models.PositiveSmallIntegerField(null=True, blank=True)
    part_number = models.CharField(max_length=40, blank=True)
    otherwise = models.BooleanField("another than in the pattern it is like", default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["pattern", "key"], name="pattern_place_once")]
        indexes = [models.Index(Upper("part_number"), name="pattern_place_number")]

    def __str__(self) -> str:
        return f"{self.pattern}: {self.key}"


class PlaceLimit(models.Model):
    """How far a piece in a place of a pattern may be worn: ``new_mm`` as made, renewed under or over the limits.

    ``source`` says whose limit it is: the maker's sheet, a handbook, or our choice.
    """

    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="limits")
    place = models.CharField(max_length=60)
    dimension = models.CharField(max_length=30)
    new_mm = models.FloatField("as new, mm", null=True, blank=True, validators=[MinValueValidator(0.01)])
    least_mm = models.FloatField("renew under, mm", null=True, blank=True, validators=[MinValueValidator(0.01)])
    most_mm = models.FloatField("renew over, mm", null=True, blank=True, validators=[MinValueValidator(0.01)])
    source = models.CharField("whose limit it is", max_length=120, default="our choice")

    class Meta:
        ordering = ["dimension"]
        constraints = [
            models.UniqueConstraint(fields=["pattern", "place", "dimension"], name="place_limit_once"),
            models.CheckConstraint(
                condition=models.Q(least_mm__isnull=False) | models.Q(most_mm__isnull=False), name="place_limit_says"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pattern}: {self.place}, {self.dimension}"


class Build(models.Model):
    """A pattern as made in some years or serial numbers; ``says`` is what is otherwise than in the pattern, a layer."""

    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="builds")
    name = models.CharField(max_length=60)
    year_from = models.PositiveSmallIntegerField(null=True, blank=True)
    year_to = models.PositiveSmallIntegerField(null=True, blank=True)
    serial_from = models.CharField("serial number from", max_length=60, blank=True)
    serial_to = models.CharField("serial number to", max_length=60, blank=True)
    gear_ratio = models.FloatField(null=True, blank=True, validators=[MinValueValidator(0.5), MaxValueValidator(12)])
    drag = models.JSONField(default=dict, blank=True, help_text="Its standard stack; empty means the pattern's.")
    built_as = models.JSONField("builds of the family that it is of", default=list, blank=True)
    says = models.JSONField("what it says otherwise than its pattern", default=dict, blank=True)
    laid_by = models.JSONField("what of its own was taken out", default=list, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["pattern", "year_from", "name"]
        constraints = [
            models.UniqueConstraint(fields=["pattern", "name"], name="build_named_once"),
            models.CheckConstraint(
                condition=models.Q(year_to__isnull=True)
                | models.Q(year_from__isnull=True)
                | models.Q(year_to__gte=models.F("year_from")),
                name="build_years_in_order",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Part(models.Model):
    """A thing that can lie on the shelf."""

    number = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=40, blank=True)
    maker = models.CharField(max_length=60, blank=True)
    sizes_mm = models.JSONField(default=dict, blank=True)
    material = models.CharField(max_length=60, blank=True)
    friction = models.JSONField("coefficient of friction the shop's own pulls gave", default=dict, blank=True)
    spot = models.CharField("where it lies", max_length=40, blank=True)
    supplier = models.CharField(max_length=80, blank=True)
    days_to_come = models.PositiveSmallIntegerField(null=True, blank=True)
    cost_minor = models.PositiveBigIntegerField("what it costs us", default=0)
    price_minor = models.PositiveBigIntegerField("what we charge", default=0)
    keep_at_least = models.PositiveSmallIntegerField(default=0)
    counted_at = models.DateTimeField("when it was last counted on a walk along the shelf", null=True, blank=True)
    a_reel = models.FloatField(
        "of it each reel uses up",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.0001), MaxValueValidator(100)],
        help_text="Grease, oil, wipes: a share of a tin, such as 0.02.",
    )
    measure = models.CharField(
        "measured in", max_length=6, blank=True, choices=[(each, each) for each in ("ml", "g", "m", "pieces")]
    )
    holds = models.FloatField(
        "so much is in one",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.01), MaxValueValidator(100_000)],
        help_text="Grease, oil, wipes, line: what a tin or a spool holds.",
    )
    pack = models.PositiveSmallIntegerField("sold in packs of", default=1, validators=[MinValueValidator(1)])
    last_buy_years = models.FloatField(
        "goes out of production: must last years",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(50)],
    )
    cut_off = models.FloatField(
        "of the sheet begun, cut off already",
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(1)],
        help_text="A share of the sheet, such as 0.4.",
    )
    note = models.TextField(blank=True)
    merged_into = models.ForeignKey(
        "self",
        verbose_name="which part it is the same as",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        related_name="merged_from",
    )
    went_over = models.JSONField("what went over to it", default=dict, blank=True)

    class Meta:
        ordering = ["number"]
        indexes = [
            models.Index(Upper("number"), name="part_number_large"),
            models.Index(fields=["kind", "number"], name="part_kind"),
            models.Index(fields=["number"], condition=models.Q(merged_into=None), name="part_offered"),
            models.Index(fields=["number"], condition=models.Q(holds__isnull=False), name="part_in_a_measure"),
            models.Index(fields=["merged_into"], condition=models.Q(merged_into__isnull=False), name="part_merged"),
            *size_indexes(),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"


class Replacement(models.Model):
    """The statement that a part serves wherever another one does. It says nothing of the way back."""

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="replaces")
    instead_of = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="replaced_by")
    said_by = models.CharField(max_length=80, blank=True)
    sure = models.FloatField("how sure, 0 to 1", default=0.9, validators=[MinValueValidator(0), MaxValueValidator(1)])
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["part", "instead_of"], name="replacement_said_once"),
            models.CheckConstraint(condition=~models.Q(part=models.F("instead_of")), name="replacement_of_another"),
            models.CheckConstraint(condition=models.Q(sure__gte=0, sure__lte=1), name="replacement_sure_0_to_1"),
        ]

    def __str__(self) -> str:
        return f"{self.part.number} instead of {self.instead_of.number}"


class Fit(models.Model):
    """The statement that a part serves a place, or does not, with who says so and how sure."""

    BASIS = [
        ("number", "same number"),
        ("declared", "declared"),
        ("measured", "measured"),
        ("standard", "standard size"),
        ("tried", "tried"),
    ]

    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="fits")
    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="fits")
    place = models.CharField(max_length=60)
    basis = models.CharField(max_length=10, choices=BASIS)
    said_by = models.CharField(max_length=80, blank=True)
    sure = models.FloatField("how sure, 0 to 1", default=0.9, validators=[MinValueValidator(0), MaxValueValidator(1)])
    serves = models.BooleanField("it fits", default=True)
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes = [models.Index(fields=["pattern", "place"], name="fit_place")]
        constraints = [
            models.UniqueConstraint(fields=["part", "pattern", "place", "basis"], name="fit_said_once"),
            models.CheckConstraint(condition=models.Q(sure__gte=0, sure__lte=1), name="fit_sure_0_to_1"),
        ]

    def __str__(self) -> str:
        return f"{self.part} in {self.pattern}: {self.place}"
