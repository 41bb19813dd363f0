"""A shop worked off one future at a time by the calendar's own minutes: slow, plain, sharing nothing with core."""

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil


@dataclass
class Piece:
    """A job in one future; days count from the first day, minutes are of work."""

    first: float | None
    last: float
    asked_days: float = 0.0
    """From when the first piece is done, or from today, to when the last can begin."""
    here_on_day: float = 0.0
    """The last cannot begin before this day, whatever else."""
    found_days: float = 0.0
    """For a part that is found broken once the last piece is begun; 0: none is."""
    opened_after: float = 0.4
    """Share of the last piece that is done by then."""


class Clock:
    """Opening hours from eight in the morning on, in minutes since the first midnight."""

    def __init__(self, first: date, hours: Sequence[float], off: frozenset[date]) -> None:
        self.first, self.hours, self.off = first, hours, off

    def hours_of(self, day: int) -> float:
        when = self.first + timedelta(days=day)
        return 0.0 if when in self.off else self.hours[when.weekday()]

    def opens(self, minute: float) -> float:
        """The first minute from then on at which there is work to be done."""
        day = int(minute // 1440)
        while True:
            start, long = day * 1440 + 480, self.hours_of(day) * 60
            if long and minute < start + long - 1e-6:
                return max(minute, start)
            day += 1
            minute = day * 1440

    def after(self, minute: float, work: float) -> float:
        """When so many minutes of work are done that begin then."""
        while True:
            minute = self.opens(minute)
            day = int(minute // 1440)
            left = day * 1440 + 480 + self.hours_of(day) * 60 - minute
            if work <= left + 1e-6:
                return minute + work
            work -= left
            minute = (day + 1) * 1440


def done_on(pieces: Sequence[Piece], clock: Clock, benches: int = 1) -> list[int]:
    """The day on which each job is done; whoever is free first takes the first job of the list that is ready."""
    ready: list[float | None] = []
    for piece in pieces:
        day = 0 if piece.first is not None else max(ceil(piece.asked_days), ceil(piece.here_on_day))
        ready.append(clock.opens(day * 1440))
    stages = [list(_stages(piece)) for piece in pieces]
    free = [clock.opens(0)] * benches
    heapq.heapify(free)
    done = [-1] * len(pieces)
    while any(each is not None for each in ready):
        now = max(free[0], min(each for each in ready if each is not None))
        job = next(n for n, each in enumerate(ready) if each is not None and each <= now + 1e-6)
        work, wait, not_before = stages[job].pop(0)
        end = clock.after(now, work)
        heapq.heapreplace(free, clock.opens(end))
        day = int((end - 1e-6) // 1440)
        if not stages[job]:
            done[job], ready[job] = day, None
        else:
            ready[job] = clock.opens(max(end, max(day + ceil(wait), ceil(not_before)) * 1440))
    return done


def _stages(piece: Piece) -> Iterable[tuple[float, float, float]]:
    """Minutes of work, days waited after it, and the day before which the next cannot begin."""
    if piece.first is not None:
        yield piece.first, piece.asked_days, piece.here_on_day
    if piece.found_days:
        yield piece.last * piece.opened_after, piece.found_days, 0.0
    yield piece.last * (1 - piece.opened_after if piece.found_days else 1), 0.0, 0.0
