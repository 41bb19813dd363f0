"""Links that let an owner see one reel and answer its price without an account."""

from django.db import models
from django.utils import timezone

from levelwind.shop.models.jobs import Job


class OwnerLink(models.Model):
    """One link to one job. Its key is not here: only what it hashes to, so that a copy of the book opens nothing."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="links")
    key_sha256 = models.CharField("what its key hashes to", max_length=64, unique=True)
    made_at = models.DateTimeField(default=timezone.now)
    until = models.DateTimeField("open until")
    closed_at = models.DateTimeField("closed by the shop", null=True, blank=True)
    opened_at = models.DateTimeField("opened last", null=True, blank=True)
    by = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(until__gt=models.F("made_at")), name="link_ends_after_it_begins")
        ]

    def __str__(self) -> str:
        return f"a link to {self.job.tag}"
