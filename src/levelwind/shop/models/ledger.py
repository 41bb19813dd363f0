"""What stock and money have in common: entries are added, never edited and never taken away."""

from collections.abc import Collection
from typing import Any, NoReturn

from django.db import models
from django.utils import timezone

from levelwind.core.errors import LevelwindError


class LedgerQuerySet(models.QuerySet[Any]):
    def update(self, **kwargs: Any) -> NoReturn:
        raise LevelwindError("A ledger entry is never edited: add one that puts it right.")

    def delete(self) -> NoReturn:
        raise LevelwindError("A ledger entry is never taken away: add one that puts it right.")


class LedgerEntry(models.Model):
    """An entry in a ledger. Database triggers (migration 0002) hold the same rule against everyone else."""

    at = models.DateTimeField("when", default=timezone.now, db_index=True)
    by = models.CharField("who", max_length=80, blank=True)
    note = models.CharField(max_length=200, blank=True)

    objects = LedgerQuerySet.as_manager()

    class Meta:
        abstract = True

    def validate_constraints(self, exclude: Collection[str] | None = None) -> None:
        """Left to the database, which holds them: asking each beforehand takes longer than the entry itself."""

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.pk is not None:
            raise LevelwindError("A ledger entry is never edited: add one that puts it right.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise LevelwindError("A ledger entry is never taken away: add one that puts it right.")
