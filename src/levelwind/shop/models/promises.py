"""What was promised, each time it was: nothing is written over."""

from django.db import models
from django.utils import timezone

from levelwind.core.writing import day_in_words
from levelwind.shop.models.jobs import Job


class Promise(models.Model):
    """A day given to an owner, or the same one moved by the days that somebody else was waited for."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="promises")
    day = models.DateField("promised day")
    chance = models.FloatField("chance of keeping it, as it was told", null=True, blank=True)
    foretold = models.BooleanField("the chance came from the bench's futures", default=False)
    moved = models.BooleanField("moved by waiting, not given anew", default=False)
    at = models.DateTimeField("when", default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["-at", "-id"], name="promise_newest")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(chance__isnull=True) | models.Q(chance__gte=0, chance__lte=1),
                name="promise_chance_from_0_to_1",
            )
        ]

    def __str__(self) -> str:
        return f"{self.job.tag} by {day_in_words(self.day, long=True)}"
