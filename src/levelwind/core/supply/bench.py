"""A bench worked off: many futures of a list of jobs at once.

Time runs in minutes at the bench, so that nights, weekends and days off take none. Whoever is free takes the first
job of the order that is ready, and stays with it to the end of that piece of work. A job has one piece of work, or two
with a wait in days of the calendar between them.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.supply.model import LONGEST_DAYS, Calendar

Minutes = NDArray[np.float64]

AT_A_TIME = 2000
"""Futures worked off together. Our choice: what they touch fits into a processor's own memory."""
LOOK_AGAIN = 8
"""Steps after which it is looked anew how far down the order anybody has to look. Our choice, by trying."""
NIGHTFALL_MIN = 1e-3
"""min; what rounding may add to work that ends as the day does."""


@dataclass(frozen=True, slots=True)
class Days:
    """Days from today on, by their number."""

    first: date
    begins: Minutes
    """Minutes at the bench before each day; a day without hours has as many as the next."""

    @classmethod
    def of(cls, calendar: Calendar, today: date) -> "Days":
        """Raises InputError where ten years hold no hour of work."""
        hours = np.asarray(calendar.hours)[(today.weekday() + np.arange(LONGEST_DAYS)) % 7]
        numbers = [(day - today).days for day in calendar.off]
        hours[[number for number in numbers if 0 <= number < LONGEST_DAYS]] = 0
        if not hours.any():
            raise InputError("days off", "every day of ten years", "some days to work on")
        return cls(today, np.concatenate([[0.0], np.cumsum(hours * 60)]))

    def date(self, number: int) -> date:
        return self.first + timedelta(days=number)

    def on(self, minute: Minutes) -> NDArray[np.int64]:
        """The day on which so many minutes have been worked, always one with hours.

        >>> days = Days.of(Calendar((6, 6, 6, 6, 6, 0, 0)), date(2026, 3, 6))  # a Friday
        >>> [str(days.date(int(number))) for number in days.on(np.array([360.0, 361.0]))]
        ['2026-03-06', '2026-03-09']
        """
        late = minute > self.begins[-1]
        if late.any():
            raise InputError("work in hand", "more than ten years hold", "less work, or more hours")
        number = np.searchsorted(self.begins, np.maximum(minute - NIGHTFALL_MIN, 0.0), side="right") - 1
        return np.minimum(number, LONGEST_DAYS - 1)

    def evening(self, number: int) -> float:
        """Minutes at the bench when that day ends."""
        return float(self.begins[min(number + 1, LONGEST_DAYS)]) + NIGHTFALL_MIN

    def begin(self, number: NDArray[np.int64]) -> Minutes:
        """Minutes at the bench before that day."""
        return np.asarray(self.begins[np.minimum(number, LONGEST_DAYS)])


@dataclass(frozen=True, slots=True)
class Lot:
    """By future (rows) and job in the order of the bench (columns). ``ready`` is infinite where a job never comes."""

    ready: Minutes
    """When the first piece of work can begin."""
    first: Minutes
    """Its minutes; 0 where a job has only the last piece in that future, which then begins at ``ready``."""
    wait: NDArray[np.int64]
    """Days between the two, from the day on which the first ends."""
    not_before: Minutes
    """When the last piece can begin at the earliest, whatever the wait."""
    last: Minutes


def worked_off(lot: Lot, days: Days, benches: int = 1) -> Minutes:
    """When each job is done, in minutes at the bench; infinite for one that never comes. Shaped as the lot.

    >>> two = np.array([[0.0, 0.0]]), np.zeros((1, 2)), np.zeros((1, 2), np.int64), np.zeros((1, 2))
    >>> week = Days.of(Calendar((6, 6, 6, 6, 6, 0, 0)), date(2026, 3, 2))
    >>> worked_off(Lot(*two, np.array([[50.0, 20.0]])), week).tolist()
    [[50.0, 70.0]]
    """
    ended = np.full(lot.ready.shape, np.inf)
    for at in range(0, len(lot.ready), AT_A_TIME):
        _Bench(lot, ended[at : at + AT_A_TIME], slice(at, at + AT_A_TIME), days, benches).work()
    return ended


class _Bench:
    """Some futures at once. A job's next piece is ready at ``ready``, never when it is done, and takes ``work``: below
    nothing while a last piece follows. ``ready`` has the columns of jobs that are not done everywhere, by their number
    in ``jobs``; arrays named flat hold all of them in a row, by future × jobs + job.
    """

    def __init__(self, lot: Lot, ended: Minutes, part: slice, days: Days, benches: int) -> None:
        self.days = days
        two = lot.first[part] > 0
        self.ready = lot.ready[part].copy()
        many, self.width = self.ready.shape
        self.jobs, self.pieces = np.arange(self.width), self.width + int(two.sum(axis=1).max(initial=0))
        self.flat_work = np.where(two, -lot.first[part], lot.last[part]).ravel()
        self.flat_wait, self.flat_last = lot.wait[part].ravel(), lot.last[part].ravel()
        self.flat_not_before = lot.not_before[part].ravel()
        self.flat_ended = ended.ravel()
        self.free = np.zeros((many, benches))
        self.rows = np.arange(many)
        self.bottom = self.width

    def work(self) -> None:
        for step in range(self.pieces):
            if step % LOOK_AGAIN == 0 and not self._look_again():
                return
            self._step()

    def _look_again(self) -> bool:
        """Forget jobs that are done everywhere; look down to one that is ready everywhere, with some to spare."""
        undone = np.flatnonzero(self.ready.min(axis=0) < np.inf)
        if len(undone) < len(self.jobs):
            self.ready, self.jobs = self.ready[:, undone], self.jobs[undone]
        everywhere = np.flatnonzero(self.ready.max(axis=0, initial=-np.inf) <= self.free.min())
        self.bottom = int(everywhere[LOOK_AGAIN]) + 1 if len(everywhere) > LOOK_AGAIN else len(self.jobs)
        return bool(len(undone))

    def _step(self) -> None:
        """In each future one bench that is free takes the job that is its turn."""
        rows = self.rows
        seat = self.free.argmin(axis=1)
        now = self.free[rows, seat]
        there = self.ready[:, : self.bottom] <= now[:, None]
        column = there.argmax(axis=1)
        none = np.flatnonzero(~there.ravel().take(rows * self.bottom + column))
        if len(none):
            now[none], column[none] = self._waited_for(none, now[none])
            if now.max() == np.inf:  # all is done there, or never comes
                rows = np.flatnonzero(now < np.inf)
                seat, now, column = seat[rows], now[rows], column[rows]
        at = rows * self.width + self.jobs[column]
        work = self.flat_work.take(at)
        end = now + np.abs(work)
        self.free[rows, seat] = end
        self.flat_ended[at] = end
        self.ready[rows, column] = np.inf
        first = np.flatnonzero(work < 0)
        if len(first):
            self.ready[rows[first], column[first]] = self._first_done(at[first], end[first])

    def _waited_for(self, rows: NDArray[np.int64], now: Minutes) -> tuple[Minutes, NDArray[np.int64]]:
        """Nothing is ready near the top: something further down, or what is ready next; never, where all is done."""
        ready = self.ready[rows]
        now = np.maximum(now, ready.min(axis=1))
        return now, (ready <= now[:, None]).argmax(axis=1)

    def _first_done(self, at: NDArray[np.int64], end: Minutes) -> Minutes:
        there = self.days.begin(self.days.on(end) + self.flat_wait[at])
        ready = np.maximum(np.maximum(there, end), self.flat_not_before[at])
        self.flat_work[at] = self.flat_last[at]
        return ready
