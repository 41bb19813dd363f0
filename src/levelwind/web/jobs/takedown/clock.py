"""The clock beside a step: it runs by itself and stops by itself."""

from dataclasses import dataclass

from django.utils import timezone

from levelwind.core.takedown import longest_work_min
from levelwind.shop.takedown.selectors.pieces import Work
from levelwind.shop.takedown.selectors.times import worked_min


@dataclass(frozen=True, slots=True)
class Clock:
    """``gone_s`` seconds since the last tick, None before the first; past ``longest_s`` the bench counts as left.
    ``worked`` are the minutes told so far, on the way in and the way back."""

    gone_s: float | None
    longest_s: float
    worked: float


def clock_of(work: Work, book_min: float) -> Clock:
    """The clock of the step in hand, which the book gives so many minutes."""
    rows = [*work.taken.values(), *work.refitted.values(), *work.passed.values()]
    last = max((row.at for row in rows), default=None)
    gone = (timezone.now() - last).total_seconds() if last else None
    return Clock(gone, 60.0 * longest_work_min(book_min), worked_min(work))
