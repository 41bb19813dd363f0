"""How the book is kept safe: where its copies go, how the last one went, what was said of the clock and of codes."""

from django.db import models


class Safekeeping(models.Model):
    """One row. Empty it means: no copies by themselves, nothing said."""

    folder = models.CharField("folder for a copy each day", max_length=300, blank=True)
    proved_at = models.DateTimeField("when a copy was last proved", null=True, blank=True)
    proved_folder = models.CharField("where that copy is", max_length=400, blank=True)
    tried_at = models.DateTimeField("when one was last tried", null=True, blank=True)
    said = models.CharField("what went wrong at the last try", max_length=500, blank=True)
    codes_closed_at = models.DateTimeField("codes for phones shown before this open nothing", null=True, blank=True)
    clock_right_at = models.DateTimeField("when somebody said the clock is right", null=True, blank=True)

    class Meta:
        verbose_name_plural = "safekeeping"
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="safekeeping_is_one_row")]

    def __str__(self) -> str:
        return self.folder or "no copies by themselves"
