"""What goes in: minutes and days with their spread, the shop's week, jobs in hand and what they wait for."""

from dataclasses import dataclass, field
from datetime import date
from math import isfinite

from levelwind.core.errors import InputError


@dataclass(frozen=True, slots=True)
class Spread:
    """Minutes, days or money: hardly ever under ``low``, mostly about ``likely``, hardly ever over ``high``.

    A beta distribution from ``low`` to ``high`` with PERT's mean and variance, its peak near ``likely``: D. G. Malcolm
    and others, "Application of a technique for research and development program evaluation", Operations Research 7(5),
    1959 (from memory).

    >>> hours = Spread(1.0, 2.0, 9.0)
    >>> hours.mean, hours.variance
    (3.0, 1.7777777)
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not all(isfinite(each) for each in self.ends) or not 0 <= self.low <= self.likely <= self.high:
            raise InputError(
                "spread", ", ".join(f"{each:g}" for each in self.ends), "low, likely, high in this order, from 0"
            )

    @property
    def ends(self) -> tuple[float, float, float]:
        """``low``, ``likely`` and ``high``, in the spread's own unit."""
        return self.low, self.likely, self.high

    def times(self, by: float) -> "Spread":
        """All three so many times as large.

        >>> Spread(1.0, 2.0, 9.0).times(2)
        Spread(low=2.0, likely=4.0, high=18.0)
        """
        return Spread(*(by * each for each in self.ends))

    @property
    def mean(self) -> float:
        """PERT's rule, (low + 4 likely + high) / 6."""
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def variance(self) -> float:
        """PERT's rule, ((high - low) / 6)²."""
        return ((self.high - self.low) / 6) ** 2


MOST_HOURS = 24.0
"""h; of a day."""
LONGEST_DAYS = 3660
"""Days looked ahead, ten years. Our choice: a date beyond it would be no promise."""
LONGEST_MIN = 60_000.0
"""min; the most that one job may take, a thousand hours. Our choice: more is a slip of the finger."""
MOST_BENCHES, MOST_JOBS = 50, 5000
"""Benches and jobs that one file may hold. Our choice: what is answered in seconds."""
MOST_PACE = 10.0
"""Times as long as expected that all work may take. Our choice."""
MOST_A_WEEK = 200.0
"""Jobs a week that may come in between. Our choice."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """Hours worked at each bench by weekday, Monday first, and days on which nobody works."""

    hours: tuple[float, ...]
    off: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        if len(self.hours) != 7 or not all(isfinite(each) and 0 <= each <= MOST_HOURS for each in self.hours):
            raise InputError("hours", self.hours, "seven numbers from 0 to 24, Monday first")
        if not any(self.hours):
            raise InputError("hours", "0 on every weekday", "hours of work on at least one")

    def hours_on(self, day: date) -> float:
        """
        >>> week = Calendar((6, 6, 6, 6, 6, 0, 0), frozenset({date(2026, 3, 3)}))
        >>> week.hours_on(date(2026, 3, 2)), week.hours_on(date(2026, 3, 3)), week.hours_on(date(2026, 3, 7))
        (6, 0.0, 0)
        """
        return 0.0 if day in self.off else self.hours[day.weekday()]


@dataclass(frozen=True, slots=True)
class Wait:
    """Days until something is there, counted from when it was asked for.

    What was asked for before today has not come yet: only the longer waits are left.
    """

    days: Spread
    asked: date | None = None
    """None: it is asked for as soon as it can be, today or when the first work on the job is done."""
    key: str = ""
    what: str = ""

    def __post_init__(self) -> None:
        if self.days.high > LONGEST_DAYS:
            raise InputError(f"days for {self.what or 'a wait'}", f"{self.days.high:g}", f"up to {LONGEST_DAYS}")


@dataclass(frozen=True, slots=True)
class Found:
    """A part that may turn out broken only when the reel is open: it is ordered then, and the rest of the work waits.

    >>> Found(0.15, Spread(2, 5, 14)).opened_after
    0.4
    """

    chance: float
    days: Spread
    """From the order to the shelf."""
    opened_after: float = 0.4
    """Share of the job's ``minutes`` after which it is seen. Our choice, as at the bench: six tenths are then left."""

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:
            raise InputError("chance that a part is found broken", f"{self.chance:g}", "from 0 to 1")
        if not 0 < self.days.high <= LONGEST_DAYS:
            allowed = f"more than 0, up to {LONGEST_DAYS}"
            raise InputError("days for what is found broken", f"{self.days.high:g}", allowed)
        if not 0 < self.opened_after < 1:
            raise InputError("share of work until it is open", f"{self.opened_after:g}", "between 0 and 1")


@dataclass(frozen=True, slots=True)
class Job:
    """One reel in hand and what is left to do: some work first, then waits, then the rest of the work."""

    tag: str
    minutes: Spread
    first: Spread | None = None
    """Minutes before the owner can be asked or the part ordered: looking over, taking apart."""
    owner: Wait | None = None
    parts: Wait | None = None
    """Ordered on the owner's yes, unless it is ordered already."""
    waits: tuple[str, ...] = ()
    """Keys of what it waits for together with other jobs."""
    found: Found | None = None
    """What may come to light once it is open. Of a job that has ``first`` too, that wait is counted with the others,
    before the last piece of work: what is waited for is the same, and the reel is opened for it later."""
    urgent: bool = False
    promised: date | None = None

    def __post_init__(self) -> None:
        for name, spread in (("minutes", self.minutes), ("first", self.first)):
            if spread is not None and not 0 < spread.high <= LONGEST_MIN:
                raise InputError(f"{name} of {self.tag}", f"{spread.high:g}", f"more than 0, up to {LONGEST_MIN:g}")


@dataclass(frozen=True, slots=True)
class Coming:
    """Work that nobody has brought yet and that goes first when it comes: urgent reels, comebacks."""

    a_week: float
    minutes: Spread
    what: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.a_week <= MOST_A_WEEK:
            raise InputError("a week", f"{self.a_week:g}", f"from 0 to {MOST_A_WEEK:g}")


@dataclass(frozen=True, slots=True)
class Shop:
    """Jobs in hand in the order of the bench, with all that decides when each is done."""

    today: date
    """The first day on which work is done."""
    calendar: Calendar
    jobs: tuple[Job, ...]
    shared: tuple[Wait, ...] = ()
    coming: tuple[Coming, ...] = ()
    benches: int = 1
    pace: Spread = Spread(1, 1, 1)
    """Minutes that one expected minute takes, alike for every job: estimates too short, hours that are lost."""
    order: tuple[int, ...] = field(init=False)
    """Numbers of the jobs as the bench takes them: the urgent ones first, the others as they stand."""

    def __post_init__(self) -> None:
        if not 1 <= self.benches <= MOST_BENCHES:
            raise InputError("benches", self.benches, f"a whole number from 1 to {MOST_BENCHES}")
        if not 0 < self.pace.low <= self.pace.high <= MOST_PACE:
            raise InputError("pace", f"{self.pace.low:g} to {self.pace.high:g}", f"more than 0, up to {MOST_PACE:g}")
        if not 1 <= len(self.jobs) <= MOST_JOBS:
            raise InputError("jobs", len(self.jobs), f"from 1 to {MOST_JOBS}")
        _refuse_doubles("job", [job.tag for job in self.jobs])
        _refuse_doubles("wait", [wait.key for wait in self.shared])
        self._refuse_strange_waits()
        self._refuse_asked_tomorrow()
        order = sorted(range(len(self.jobs)), key=lambda number: (not self.jobs[number].urgent, number))
        object.__setattr__(self, "order", tuple(order))

    def _refuse_strange_waits(self) -> None:
        known = [wait.key for wait in self.shared]
        for job in self.jobs:
            for key in job.waits:
                if key not in known:
                    raise InputError(
                        f"wait of {job.tag}", repr(key), "one of " + (", ".join(known) or "none: no wait is given")
                    )

    def _refuse_asked_tomorrow(self) -> None:
        waits = [(job.tag, wait) for job in self.jobs for wait in (job.owner, job.parts) if wait]
        for name, wait in [*waits, *((wait.key, wait) for wait in self.shared)]:
            if wait.asked and wait.asked > self.today:
                raise InputError(f"asked or ordered, {name}", wait.asked, f"a day up to {self.today}")


def _refuse_doubles(what: str, names: list[str]) -> None:
    twice = next((name for name in names if names.count(name) > 1), None) if len(set(names)) < len(names) else None
    if twice is not None:
        raise InputError(what, f"{twice!r} twice", "a name of its own for each")
