"""Which job next: an order of the bench that keeps most promises, with like things one after another."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from levelwind.core.supply.bench import Days
from levelwind.core.supply.model import Job, Shop
from levelwind.core.supply.promise import Drawn, Futures, draw, played
from levelwind.core.supply.spreads import Generator

FUTURES_OF_AN_ORDER = 200
"""Futures in which each order is tried, the same for all. Our choice: a fiftieth of a second for sixty jobs."""
LATE_DAY = 0.01
"""Promises that a day of being late counts for: of two orders that keep as many, the one less late. Our choice."""
GIVEN_UP = 0.02
"""Promises, in the mean, that may be given up for two like jobs one after the other. Our choice: hardly any."""
LOOKED_AT = 12
"""Jobs of the head of the order that are tried elsewhere in it. Our choice: what is worked on within days."""
GATHERED = 6
"""Places at the head of the order in which like things are put together. Our choice: about a day's work."""

Likes = Mapping[str, frozenset[str]]
"""By tag, what a job has in common with others: its crate, its tools, its oil."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A job in its place, and what it shares with the one before."""

    tag: str
    shares: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Turns:
    """All jobs in the order found, and how many promises it keeps in the mean."""

    order: tuple[Turn, ...]
    kept: float
    as_they_stand: float
    """Promises kept in the shop's own order."""
    promised: int
    now: float | None
    """Chance that the first of the ready jobs keeps its promise; None where it has none."""
    later: float | None
    """The same where that job goes after all others."""


def turns(
    shop: Shop, ready: frozenset[str], likes: Likes, rng: Generator, many: int = FUTURES_OF_AN_ORDER
) -> Turns | None:
    """The best of the orders tried, each in the same futures; None where no job is ready to be worked on.

    Tried are the order as it stands, the one by slack, that of J. M. Moore and T. J. Hodgson (Management Science 15(1),
    1968, from memory), which keeps most promises where one bench never waits, and from the best of them every move of a
    job at its head.
    """
    if not ready & {job.tag for job in shop.jobs}:
        return None
    trial = _Trial(shop, draw(shop, many, rng))
    best = trial.improved(max((shop.order, *_rules(shop)), key=trial.worth))
    best = _gathered(trial, best, ready, likes)
    order = tuple(shop.jobs[number].tag for number in best)
    shares = _shares([tag for tag in order if tag in ready], likes)
    first = next(number for number in best if shop.jobs[number].tag in ready)
    last = (*(number for number in best if number != first), first)
    return Turns(
        order=tuple(Turn(tag, shares.get(tag, frozenset())) for tag in order),
        kept=trial.kept(best),
        as_they_stand=trial.kept(shop.order),
        promised=sum(job.promised is not None for job in shop.jobs),
        now=trial.chance(best, first),
        later=trial.chance(last, first),
    )


class _Trial:
    """One throw of the dice, in which orders are held against one another."""

    def __init__(self, shop: Shop, throw: Drawn) -> None:
        self.shop, self.throw = shop, throw
        self.seen: dict[tuple[int, ...], tuple[float, float]] = {}

    def _tried(self, order: tuple[int, ...]) -> tuple[float, float]:
        """Promises kept, and the days that broken ones are late, both in the mean."""
        if order not in self.seen:
            came = played(self.shop, self.throw, order)
            rows = [_of_one(came, number, job) for number, job in enumerate(self.shop.jobs) if job.promised]
            self.seen[order] = (sum(kept for kept, _ in rows), sum(late for _, late in rows))
        return self.seen[order]

    def kept(self, order: tuple[int, ...]) -> float:
        return self._tried(order)[0]

    def worth(self, order: tuple[int, ...]) -> float:
        kept, late = self._tried(order)
        return kept - LATE_DAY * late

    def chance(self, order: tuple[int, ...], number: int) -> float | None:
        by = self.shop.jobs[number].promised
        return None if by is None else played(self.shop, self.throw, order).chance(number, by)

    def improved(self, order: tuple[int, ...]) -> tuple[int, ...]:
        """Each job at the head once to the front and once to the end, as long as it helps."""
        for number in order[:LOOKED_AT]:
            rest = tuple(each for each in order if each != number)
            order = max((order, (number, *rest), (*rest, number)), key=self.worth)
        return order


def _of_one(came: Futures, number: int, job: Job) -> tuple[float, float]:
    assert job.promised is not None
    ended, day = came.ended[:, number], (job.promised - came.days.first).days
    kept = ended <= came.days.evening(day) if day >= 0 else np.zeros(len(ended), dtype=bool)
    return float(kept.mean()), float(np.maximum(came.days.on(ended) - day, 0).mean())


def _rules(shop: Shop) -> Iterable[tuple[int, ...]]:
    """By the days that are left beyond the work; and after Moore and Hodgson, what cannot be kept going last."""
    days = Days.of(shop.calendar, shop.today)
    minutes = [(job.minutes.mean + (job.first.mean if job.first else 0.0)) for job in shop.jobs]
    due = [_due(job, days) for job in shop.jobs]
    yield tuple(sorted(shop.order, key=lambda number: due[number] - minutes[number]))
    kept: list[int] = []
    late: list[int] = []
    for number in sorted(shop.order, key=lambda number: due[number]):
        kept.append(number)
        if sum(minutes[each] for each in kept) > due[number] * shop.benches:
            longest = max(kept, key=lambda each: minutes[each])
            kept.remove(longest)
            late.append(longest)
    yield (*kept, *late)


def _due(job: Job, days: Days) -> float:
    """Minutes at the bench until its promise; endless where it has none."""
    if job.promised is None:
        return np.inf
    day = (job.promised - days.first).days
    return days.evening(day) if day >= 0 else 0.0


def _shares(tags: list[str], likes: Likes) -> dict[str, frozenset[str]]:
    return {tag: _like(before, tag, likes) for before, tag in pairwise(tags)}


def _like(one: str, other: str, likes: Likes) -> frozenset[str]:
    return likes.get(one, frozenset()) & likes.get(other, frozenset())


def _gathered(trial: _Trial, order: tuple[int, ...], ready: frozenset[str], likes: Likes) -> tuple[int, ...]:
    """Behind each job of the head the one that shares most with it, where that gives hardly a promise up."""
    tags = [job.tag for job in trial.shop.jobs]
    for place in range(GATHERED):
        there = [number for number in order if tags[number] in ready]
        if place + 2 >= len(there):
            break
        now, after = there[place], there[place + 1]
        most = max(there[place + 1 :], key=lambda number: len(_like(tags[now], tags[number], likes)))
        if len(_like(tags[now], tags[most], likes)) > len(_like(tags[now], tags[after], likes)):
            rest = [number for number in order if number != most]
            rest.insert(rest.index(now) + 1, most)
            if trial.worth(tuple(rest)) >= trial.worth(order) - GIVEN_UP:
                order = tuple(rest)
    return order
