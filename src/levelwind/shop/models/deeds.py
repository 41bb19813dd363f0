"""Who did what to an owner, a part, a pattern or a bill, and when. A job has its own events."""

from django.db import models
from django.utils import timezone


class Deed(models.Model):
    """One thing that was done, in a sentence. What it was done to may be gone from the book since."""

    KINDS = [("owner", "owner"), ("part", "part"), ("pattern", "pattern"), ("bill", "bill")]

    kind = models.CharField("what it was done to", max_length=7, choices=KINDS)
    ref = models.BigIntegerField("the row of it")
    at = models.DateTimeField("when", default=timezone.now)
    by = models.CharField("who", max_length=80, blank=True)
    text = models.CharField("what was done", max_length=300)
    field = models.CharField("of a changed field, its name", max_length=40, blank=True)
    was = models.CharField("what stood there before", max_length=120, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["kind", "ref"], name="deed_of")]

    def __str__(self) -> str:
        return self.text
