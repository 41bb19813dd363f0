"""Dates from simulated futures of the shop: when each job will be done, why then, what would make it sooner."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from math import ceil, sqrt

import numpy as np
from numpy.typing import NDArray

from levelwind.core.errors import InputError
from levelwind.core.notes import Note, plain
from levelwind.core.supply.bench import Days, Lot, Minutes, worked_off
from levelwind.core.supply.model import Calendar, Found, Job, Shop, Spread, Wait
from levelwind.core.supply.spreads import Generator, drawn, drawn_after

FUTURES = 10_000
"""Futures a date is counted from: a chance of 90 % is then known to 0.3 % (√(0.9 · 0.1 / 10,000)). Our choice."""
FUTURES_OF_A_REASON = 2000
"""Futures that what-ifs are counted from, each the same with and without. Our choice: a day in ten is seen well."""
CHANCES = (0.5, 0.8, 0.9)
"""Of keeping the dates that are told."""
SOONER_CHANCE = 0.8
"""The date that what-ifs are told of. Our choice."""
BEGUN_MIN = 2e-3
"""min; added to the minute at which work begins, so that it counts to the day that begins and not to the one that
ended. More than rounding adds (``NIGHTFALL_MIN``)."""
FEW_SPARE = 4.0
"""Standard deviations beyond the mean that room is kept for among jobs yet to come. Our choice."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """All that chance decides, by future (rows) and job as it stands in the shop (columns)."""

    first: Minutes
    last: Minutes
    owner: Minutes
    parts: Minutes
    """Days, from when they are asked for."""
    under_way: Minutes
    """Days from today until parts already ordered are there."""
    shared: Minutes
    """Days from today, by future and shared wait."""
    found: Minutes
    """Days from when the reel is open until a part found broken then is there; 0: none is."""
    coming: tuple[tuple[Minutes, Minutes], ...]
    """Of each kind of job yet to come: weeks until each comes, and its minutes."""
    cautions: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class Futures:
    """What became of every job in hand in every future: futures by rows, jobs as they stand in the shop by columns."""

    days: Days
    ended: Minutes
    """Minutes at the bench when it is done."""
    work: Minutes
    """Of its last piece of work."""
    cautions: tuple[Note, ...] = ()

    def done_by(self, number: int, chance: float) -> date:
        """The first day by whose evening the job is done in so many of the futures."""
        rank = max(ceil(chance * len(self.ended) - 1e-9) - 1, 0)
        ended = np.partition(self.ended[:, number], rank)[rank : rank + 1]
        return self.days.date(int(self.days.on(ended)[0]))

    def chance(self, number: int, by: date) -> float:
        """Of having the job done by that day's evening: (k + ½)/(n + 1) of the futures, for none of n is not never."""
        day, ended = (by - self.days.first).days, self.ended[:, number]
        kept = np.count_nonzero(ended <= self.days.evening(day)) if day >= 0 else 0
        return float((kept + 0.5) / (len(ended) + 1))


def draw(shop: Shop, many: int, rng: Generator) -> Drawn:
    """Throw all the dice for so many futures."""
    cautions: list[Note] = []
    nothing = np.zeros(many)
    columns = [_job_drawn(job, shop.today, many, rng, cautions) for job in shop.jobs]
    first, last, owner, parts, under_way = (np.column_stack(each) for each in zip(*columns, strict=True))
    shared = [_days(wait, shop.today, many, rng, cautions) for wait in shop.shared]
    pace = drawn(shop.pace, many, rng)[:, None]
    coming = tuple((weeks, pace * minutes) for weeks, minutes in _coming(shop, many, rng))
    together = np.column_stack(shared or [nothing])
    found = np.column_stack([_found(job.found, many, rng) if job.found else nothing for job in shop.jobs])
    return Drawn(pace * first, pace * last, owner, parts, under_way, together, found, coming, tuple(cautions))


def _found(found: Found, many: int, rng: Generator) -> Minutes:
    days = np.zeros(many)
    broken = np.flatnonzero(rng.random(many) < found.chance)
    days[broken] = drawn(found.days, len(broken), rng)
    return days


def _job_drawn(
    job: Job, today: date, many: int, rng: Generator, cautions: list[Note]
) -> tuple[Minutes, Minutes, Minutes, Minutes, Minutes]:
    nothing = np.zeros(many)
    parts = _days(job.parts, today, many, rng, cautions) if job.parts else nothing
    ordered = job.parts is not None and job.parts.asked is not None
    return (
        drawn(job.first, many, rng) if job.first else nothing,
        drawn(job.minutes, many, rng),
        _days(job.owner, today, many, rng, cautions) if job.owner else nothing,
        nothing if ordered else parts,
        parts if ordered else nothing,
    )


def _days(wait: Wait, today: date, many: int, rng: Generator, cautions: list[Note]) -> Minutes:
    gone = (today - wait.asked).days if wait.asked else 0
    left = drawn_after(wait.days, gone, many, rng) if gone else drawn(wait.days, many, rng)
    if left is None:
        words = "{what} takes longer than the longest told ({days}): counted as if asked for again today"
        cautions.append(Note.of("overdue", words, what=wait.what or wait.key, days=plain(wait.days.high, "days")))
        left = drawn(wait.days, many, rng)
    return left


def _coming(shop: Shop, many: int, rng: Generator) -> tuple[tuple[Minutes, Minutes], ...]:
    """Enough jobs of each kind to outlast the work in hand, by gaps without memory (a Poisson stream)."""
    kinds = [kind for kind in shop.coming if kind.a_week > 0]
    weekly = sum(shop.calendar.hours) * 60 * shop.benches
    load = shop.pace.mean * sum(kind.a_week * kind.minutes.mean for kind in kinds) / weekly
    if load >= 1:
        raise InputError(
            "work coming in", f"{load:.0%} of the hours", "less than all of them, or nothing else is ever done"
        )
    work = shop.pace.mean * sum(job.minutes.mean + (job.first.mean if job.first else 0) for job in shop.jobs)
    longest = max((days.high for days in _waits(shop)), default=0.0) / 7
    weeks = 2 * (work / weekly / (1 - load) + longest) + 2
    streams = []
    for kind in kinds:
        mean = kind.a_week * weeks
        gaps = rng.exponential(1 / kind.a_week, (many, ceil(mean + FEW_SPARE * sqrt(mean)) + 1))
        minutes = np.column_stack([drawn(kind.minutes, many, rng) for _ in range(gaps.shape[1])])
        streams.append((np.cumsum(gaps, axis=1), minutes))
    return tuple(streams)


def _waits(shop: Shop) -> Iterable[Spread]:
    yield from (wait.days for wait in shop.shared)
    for job in shop.jobs:
        yield from (wait.days for wait in (job.owner, job.parts, job.found) if wait)


def played(shop: Shop, drawn: Drawn, order: tuple[int, ...] = ()) -> Futures:
    """The futures of a throw: the same throw with another order, calendar or wait is the same world otherwise."""
    days = Days.of(shop.calendar, shop.today)
    order = order or shop.order
    lot, work, before = _lot(shop, drawn, days, order)
    ended = worked_off(lot, days, shop.benches)
    back = np.empty(len(shop.jobs), dtype=np.int64)
    back[list(order)] = before + np.arange(len(shop.jobs))
    return Futures(days, ended[:, back], work, drawn.cautions)


def futures(shop: Shop, rng: Generator, many: int = FUTURES) -> Futures:
    """So many futures of the jobs in hand."""
    return played(shop, draw(shop, many, rng))


def _lot(shop: Shop, drawn: Drawn, days: Days, in_turn: tuple[int, ...]) -> tuple[Lot, Minutes, int]:
    """What the bench works off, jobs yet to come ahead of all others; every job's last piece; how many columns come."""
    order = list(in_turn)
    asked = np.ceil(drawn.owner + drawn.parts).astype(np.int64)
    together = np.ceil(drawn.under_way).astype(np.int64)
    keys = [wait.key for wait in shop.shared]
    for number, job in enumerate(shop.jobs):
        for key in job.waits:
            there = np.ceil(drawn.shared[:, keys.index(key)]).astype(np.int64)
            together[:, number] = np.maximum(together[:, number], there)
    two = np.array([job.first is not None for job in shop.jobs])
    first, last, asked_or_found = _opened(shop, drawn, asked, two)
    at_once = days.begin(np.where(two, 0, np.maximum(asked, together)))
    ahead = [(days.begin(np.ceil(weeks * 7).astype(np.int64)), minutes) for weeks, minutes in drawn.coming]
    before = sum(minutes.shape[1] for _, minutes in ahead)
    many = len(drawn.last)
    nothing, no_days = np.zeros((many, before)), np.zeros((many, before), dtype=np.int64)
    lot = Lot(
        ready=np.column_stack([*(ready for ready, _ in ahead), at_once[:, order]]),
        first=np.column_stack([nothing, first[:, order]]),
        wait=np.column_stack([no_days, asked_or_found[:, order]]),
        not_before=np.column_stack([nothing, days.begin(together[:, order])]),
        last=np.column_stack([*(minutes for _, minutes in ahead), last[:, order]]),
    )
    return lot, last, before


def _opened(
    shop: Shop, drawn: Drawn, asked: NDArray[np.int64], two: NDArray[np.bool_]
) -> tuple[Minutes, Minutes, NDArray[np.int64]]:
    """First and last piece of each job, and the days between, with what is found once the reel is open.

    Where a part is found broken, a job of one piece is opened first and put together when it is there; one of two
    waits for it with the rest.
    """
    there = np.flatnonzero(drawn.found)
    if not len(there):
        return drawn.first, drawn.last, asked
    first, last = (each.astype(np.float64) for each in (drawn.first, drawn.last))
    between = asked.copy()
    job = there % len(shop.jobs)
    share = np.array([each.found.opened_after if each.found and not each.first else 0.0 for each in shop.jobs])
    opening = share[job] * last.flat[there]
    first.flat[there] += opening
    last.flat[there] -= opening
    between.flat[there] = np.ceil(drawn.found.flat[there]) + np.where(two[job], asked.flat[there], 0)
    return first, last, between


@dataclass(frozen=True, slots=True)
class Sooner:
    """Something that could be done, and the days it brings."""

    key: str
    what: str
    days: int
    """By which the date of ``SOONER_CHANCE`` comes sooner."""
    date: date


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a date is what it is: the mean days until the job is done, and what they go to."""

    tag: str
    days: float
    owner: float
    parts: float
    """Ordered for this job alone, with what is found broken only when it is open."""
    shared: float
    """Parts and answers that other jobs wait for too, where they come last."""
    behind: float
    """Other work, days without hours, and what of its own work comes before a wait."""
    working: float
    """From the beginning of its last piece of work to its end."""
    sooner: tuple[Sooner, ...]


def reason(shop: Shop, tag: str, rng: Generator, many: int = FUTURES_OF_A_REASON) -> Reason:
    """Why then, and what would make it sooner, each tried in the same futures.

    Raises InputError for a tag that is not in hand.
    """
    tags = [job.tag for job in shop.jobs]
    if tag not in tags:
        raise InputError("tag", repr(tag), "one of " + ", ".join(tags[:12]) + (" ..." if len(tags) > 12 else ""))
    number, throw = tags.index(tag), draw(shop, many, rng)
    as_it_is = played(shop, throw)
    tried = [
        (key, what, played(*world).done_by(number, SOONER_CHANCE))
        for key, what, world in _what_ifs(shop, number, throw)
    ]
    now = as_it_is.done_by(number, SOONER_CHANCE)
    gained = [Sooner(key, what, (now - then).days, then) for key, what, then in tried if then < now]
    gained.sort(key=lambda each: -each.days)
    return Reason(tag, *_spent(shop, number, throw, as_it_is), tuple(gained))


def _spent(shop: Shop, number: int, throw: Drawn, futures: Futures) -> tuple[float, float, float, float, float, float]:
    """Mean days in all; of them the owner's, the parts', those waited with others, behind other work, in hand."""
    keys = [wait.key for wait in shop.shared]
    shared = np.zeros(len(throw.last))
    for key in shop.jobs[number].waits:
        shared = np.maximum(shared, np.ceil(throw.shared[:, keys.index(key)]))
    owner, own = throw.owner[:, number], np.maximum(throw.parts[:, number], throw.under_way[:, number])
    own = own + throw.found[:, number]
    shared_last = shared > owner + own
    ended = futures.ended[:, number]
    done = float(futures.days.on(ended).mean())
    working = done - float(futures.days.on(ended - futures.work[:, number] + BEGUN_MIN).mean())
    for_owner, for_parts = (float(np.where(shared_last, 0, each).mean()) for each in (owner, own))
    with_others = float(np.where(shared_last, shared, 0).mean())
    behind = max(done - for_owner - for_parts - with_others - working, 0.0)
    return done, for_owner, for_parts, with_others, behind, working


def _what_ifs(shop: Shop, number: int, throw: Drawn) -> Iterable[tuple[str, str, tuple[Shop, Drawn, tuple[int, ...]]]]:
    job = shop.jobs[number]
    if job.owner:
        yield "owner", "the owner answered today", (shop, replace(throw, owner=_none(throw.owner, number)), shop.order)
    if job.parts:
        here = replace(throw, parts=_none(throw.parts, number), under_way=_none(throw.under_way, number))
        yield "parts", "its parts were here today", (shop, here, shop.order)
    keys = [wait.key for wait in shop.shared]
    for key in job.waits:
        wait = shop.shared[keys.index(key)]
        here = replace(throw, shared=_none(throw.shared, keys.index(key)))
        yield f"wait {key}", f"{wait.what or key} was here today", (shop, here, shop.order)
    if shop.order[0] != number:
        ahead = (number, *(each for each in shop.order if each != number))
        yield "first", "it went ahead of all others", (shop, throw, ahead)
    longer = replace(shop, calendar=_hour_more(shop.calendar))
    yield "hour", "an hour more was worked each day", (longer, throw, shop.order)


def _none(days: Minutes, column: int) -> Minutes:
    days = days.copy()
    days[:, column] = 0
    return days


def _hour_more(calendar: Calendar) -> Calendar:
    return replace(calendar, hours=tuple(min(each + 1, 24.0) if each else 0.0 for each in calendar.hours))
