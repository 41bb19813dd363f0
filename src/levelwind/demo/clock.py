"""The clock of the demonstration: what the book takes for now while its invented year is told."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, time, timedelta, tzinfo

from django.utils import timezone

OPENS, CLOSES = 8, 18
"""The hours of the bench."""


class ScriptedClock:
    """Says what time it is while the story is told; ``end`` is the last evening that is over for good."""

    def __init__(self) -> None:
        self.today = timezone.localdate()
        self.end = self.moment(1, CLOSES)
        self.now = self.end

    def moment(self, days_ago: float, hour: float = OPENS) -> datetime:
        """An hour of the day that lies so many days back; parts of a day are dropped."""
        day = self.today - timedelta(days=int(days_ago))
        return timezone.make_aware(datetime.combine(day, time())) + timedelta(hours=hour)


@contextmanager
def scripted_clock() -> Iterator[ScriptedClock]:
    """Let Django ask this clock for the time, in services and in the defaults of models alike.

    ``django.utils.timezone`` looks ``datetime`` up in its own module, so that is where the clock stands in.
    """
    clock = ScriptedClock()

    class Scripted(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
            return clock.now if tz is not None else timezone.make_naive(clock.now)

    real = vars(timezone)["datetime"]
    vars(timezone)["datetime"] = Scripted
    try:
        yield clock
    finally:
        vars(timezone)["datetime"] = real
