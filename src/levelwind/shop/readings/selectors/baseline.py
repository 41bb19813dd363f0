"""How a reel left at its stay before: what it is held against when it comes back."""

from dataclasses import dataclass

from django.utils import timezone

from levelwind.core.quantities import Quantity, in_words
from levelwind.core.writing import day_in_words
from levelwind.shop.jobs.selectors.stays import stay_before
from levelwind.shop.models import Job
from levelwind.shop.readings.selectors.readings import Readings, readings_of


@dataclass(frozen=True, slots=True)
class Held:
    """One quantity as it left then, and as found and as left now."""

    name: str
    unit: str
    then: Quantity
    found: Quantity | None
    left: Quantity | None


@dataclass(frozen=True, slots=True)
class Baseline:
    """Nothing of it is told as a change: what lay between, nobody measured."""

    job: Job
    rows: tuple[Held, ...]
    unit: str

    @property
    def words(self) -> str:
        """For paper: when it left last, and with what."""
        sending = getattr(self.job, "sending", None)
        day = (
            f" on {day_in_words(timezone.localdate(sending.sent_at), long=True)}" if sending and sending.sent_at else ""
        )
        said = "; ".join(f"{row.name.lower()} {in_words(row.then, row.unit)}" for row in self.rows)
        return f"When it left last{day} ({self.job.tag}): {said}."


def baseline_of(job: Job, readings: Readings, unit: str) -> Baseline | None:
    """Of the stay before, what was measured as left; None where there was none, or nothing was measured."""
    before = stay_before(job)
    if before is None:
        return None
    rows = tuple(
        Held(pair.name, pair.unit, pair.left, now.found if now else None, now.left if now else None)
        for pair in readings_of(before, unit).table
        if pair.left
        for now in (readings.pair(pair.key),)
    )
    return Baseline(before, rows, unit) if rows else None
