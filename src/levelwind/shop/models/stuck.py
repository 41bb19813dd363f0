"""What would not come apart: what is done about it, what it is made of, and the price on which the owner was asked."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job
from levelwind.shop.models.prices import Price


class Stuck(models.Model):
    """A piece that did not come at a step of the takedown, and the procedure chosen for it.

    ``what``, ``materials`` and ``corrosion`` are keys of the book's own procedures, materials and grades.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="stuck")
    step = models.CharField(max_length=60)
    what = models.CharField(max_length=40)
    materials = models.JSONField(default=list, blank=True)
    corrosion = models.CharField(max_length=20, blank=True)
    price = models.ForeignKey(Price, on_delete=models.SET_NULL, null=True, blank=True, related_name="stuck")
    at = models.DateTimeField(default=timezone.now)
    came_at = models.DateTimeField("when it came", null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint(fields=["job", "step", "what"], name="stuck_once_a_step")]

    def __str__(self) -> str:
        return f"{self.job.tag}: {self.what} at {self.step}"
