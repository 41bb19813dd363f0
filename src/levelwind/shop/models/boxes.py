"""A box of reels seen at a sale: what was counted in it, what was paid, and the reels that came of it."""

from typing import ClassVar
from uuid import uuid4

from django.core.validators import MaxValueValidator
from django.db import models
from django.utils import timezone

from levelwind.core.writing import day_in_words

MOST_OF_A_KIND = 99
"""Reels in one line of a box; our choice: more is a slip of the finger."""


def new_box() -> str:
    return uuid4().hex


class SeenBox(models.Model):
    """``box`` is what the donor reels of it carry once it is bought; ``told`` what it was thought to be worth then."""

    where = models.CharField("where it stands", max_length=120, blank=True)
    asked_minor = models.PositiveBigIntegerField("what they ask for it", null=True, blank=True)
    note = models.TextField(blank=True)
    box = models.CharField(max_length=32, unique=True, default=new_box, editable=False)
    seen_on = models.DateField(default=timezone.localdate)
    bought_on = models.DateField(null=True, blank=True)
    paid_minor = models.PositiveBigIntegerField("what was paid for it", null=True, blank=True)
    told = models.JSONField("what it was worth as it was bought: mean, low, high", null=True, blank=True)

    class Meta:
        ordering = ["-seen_on", "-pk"]
        verbose_name_plural = "boxes seen"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(bought_on__isnull=True, paid_minor__isnull=True)
                | models.Q(bought_on__isnull=False, paid_minor__isnull=False),
                name="seen_box_bought_for_a_sum",
            )
        ]

    def __str__(self) -> str:
        return self.where or f"a box seen on {day_in_words(self.seen_on, long=True)}"


class SeenReels(models.Model):
    """Reels of one kind in the box, by what a look told: does not turn, turns, turns well."""

    box = models.ForeignKey(SeenBox, on_delete=models.CASCADE, related_name="reels")
    text = models.CharField("what they are", max_length=120, blank=True)
    family = models.CharField("kind of reel", max_length=40, blank=True)
    dead = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(MOST_OF_A_KIND)])
    turns = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(MOST_OF_A_KIND)])
    good = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(MOST_OF_A_KIND)])
    whole_minor = models.PositiveBigIntegerField("what one brings, mended", null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]
        verbose_name_plural = "reels seen"

    def __str__(self) -> str:
        return self.text

    @property
    def count(self) -> int:
        return self.dead + self.turns + self.good
