"""Naming a reel that nobody knows: what was seen on it, and what the pattern book knows its reels by."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.patterns import Pattern

YEARS = [MinValueValidator(1750), MaxValueValidator(2200)]


class Sighting(models.Model):
    """One answer to a look at a reel that nobody knows; ``said`` is empty where the look gave nothing.

    ``look`` is a look's key, that of a sign, of a size (``said`` in mm) or "marks". Not looked at has no row.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="sightings")
    look = models.CharField(max_length=60)
    said = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint(fields=["job", "look"], name="sighting_once_a_look")]

    def __str__(self) -> str:
        return f"{self.look}: {self.said or 'cannot tell'}"


class PatternSign(models.Model):
    """What reels of a pattern are known by, in which years: an answer to one of the looks, or a thing of their own."""

    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="signs")
    look = models.CharField(max_length=60, blank=True)
    answer = models.CharField(max_length=60, blank=True)
    text = models.CharField("a sign of its own", max_length=120, blank=True)
    year_from = models.PositiveSmallIntegerField("from", null=True, blank=True, validators=YEARS)
    year_to = models.PositiveSmallIntegerField("until", null=True, blank=True, validators=YEARS)

    class Meta:
        ordering = ["year_from", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(text="") & ~models.Q(look="") & ~models.Q(answer="")
                | ~models.Q(text="") & models.Q(look="", answer=""),
                name="sign_of_a_look_or_its_own",
            ),
            models.CheckConstraint(
                condition=models.Q(year_to__isnull=True)
                | models.Q(year_from__isnull=True)
                | models.Q(year_to__gte=models.F("year_from")),
                name="sign_years_in_order",
            ),
        ]

    def __str__(self) -> str:
        return self.text or f"{self.look}: {self.answer}"

    @property
    def says(self) -> tuple[str, str, str, int | None, int | None]:
        """All that it says, whichever pattern it is of."""
        return self.look, self.answer, self.text, self.year_from, self.year_to
