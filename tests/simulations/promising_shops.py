"""Shops that promise: a truth of its own kind for minutes, owners and suppliers, a past to learn from, a bench of jobs.

Nothing here is of the kinds that core draws from: minutes stray log-normally, owners answer after a Weibull, suppliers
after a shifted gamma time, a part is found broken once a reel is open, earlier or later in the work than core has it,
the shop's pace is a log-normal of its own that drifts from fortnight to fortnight, urgent reels come one to three at a
time, and what was asked for has been waited for as long as it really was. What a promise is told from is what a shop
would know: prices with low, likely and high, nine in ten of the cases in its book, how many of its reels had a part
found broken, the clocks of its steps by the fortnight, and how many urgent reels came in the last year.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from levelwind.core.supply import Calendar, Found, Job, Shop, Spread, Wait, through
from levelwind.shop.money.foretold import OWNERS, _often, _pace, _rests, often
from levelwind.shop.parts.selectors.suppliers import JUDGED
from tests.core.supply.one_by_one import Clock, Piece, done_on

MONDAY = date(2026, 3, 2)
WEEKS_AHEAD = 40
"""In which urgent reels come: longer than any of the benches here takes."""


@dataclass(frozen=True, slots=True)
class Simulated:
    """What the shop knows, and the day on which each job was really done, counted from today."""

    shop: Shop
    done: tuple[int, ...]


def simulated(seed: int, *, past: bool = True) -> Simulated:
    """A shop of 3 to 40 jobs, with 8 to 80 answers and parcels in its book; or fewer, and judgements in their place."""
    dice = np.random.default_rng(seed)
    hours = [float(each) for each in dice.choice([4, 6, 7.5], 5)] + [float(dice.choice([0, 0, 3])), 0.0]
    off = frozenset(MONDAY + timedelta(days=int(each)) for each in dice.integers(0, 60, int(dice.integers(0, 8))))
    world = _World(dice)
    cases = dice.integers(8, 81, 2) if past else dice.integers(0, 8, 2)
    owners = _rests(world.answers(int(cases[0])), OWNERS).spread
    parts = _rests(world.parcels(int(cases[1])), JUDGED).spread
    opened = int(dice.integers(8, 81) if past else dice.integers(0, 8))
    broken = often(int(dice.binomial(opened, world.breaks)), opened).chance
    jobs, pieces = [], []
    for n in range(int(dice.integers(3, 41))):
        job, piece = _job(f"j{n}", dice, world, owners, parts, Found(broken, parts))
        jobs.append(job)
        pieces.append(piece)
    usual = through(36.0, 82.0, 186.0)  # nine in ten of the likely minutes that ``_job`` draws
    weeks = int(dice.integers(12, 53))
    came = world.urgent(weeks)
    coming = (_often(len(came), weeks, usual, sum(hours) * 60),) if past and came else ()
    clocks = [world.fortnight() for _ in range(int(dice.integers(8, 31) if past else dice.integers(0, 8)))]
    shop = Shop(MONDAY, Calendar(tuple(hours), off), tuple(jobs), coming=coming, pace=_pace(clocks).spread)
    ahead = [Piece(None, world.minutes(), 0.0, day) for day in world.urgent(WEEKS_AHEAD)]
    done = done_on([*ahead, *pieces], Clock(MONDAY, hours, off))
    return Simulated(shop, tuple(done[len(ahead) :]))


class _World:
    """How long things really take in this shop."""

    def __init__(self, dice: np.random.Generator) -> None:
        self.dice = dice
        self.usual_pace, self.drifts = float(np.exp(dice.normal(0.03, 0.12))), float(dice.uniform(0.03, 0.15))
        self.pace = self.fortnight() * float(dice.uniform(1.0, 1.2))
        self.urgent_a_week = float(dice.choice([0.0, 0.2, 0.6]))
        self.strays = float(dice.uniform(0.15, 0.45))
        self.owner_days, self.owner_shape = float(dice.uniform(2, 7)), float(dice.uniform(0.7, 1.4))
        self.breaks = float(dice.uniform(0.0, 0.3))
        self.part_least, self.part_days = float(dice.integers(1, 4)), float(dice.uniform(3, 9))

    def fortnight(self) -> float:
        """Minutes on the clock for one that is expected, in some fortnight; what the telephone takes is not in it."""
        return self.usual_pace * float(np.exp(self.dice.normal(0.0, self.drifts)))

    def minutes(self) -> float:
        return self.pace * float(np.exp(self.dice.normal(4.44, 0.6)))

    def urgent(self, weeks: int) -> list[float]:
        """Days on which urgent reels come within so many weeks, one to three at a time, two in the mean."""
        parcels = self.dice.uniform(0, 7 * weeks, int(self.dice.poisson(self.urgent_a_week / 2 * weeks)))
        return [float(day) for day in np.sort(parcels) for _ in range(int(self.dice.integers(1, 4)))]

    def answers(self, many: int) -> list[float]:
        return [float(each) for each in self.owner_days * self.dice.weibull(self.owner_shape, many)]

    def parcels(self, many: int) -> list[float]:
        return [float(np.ceil(self.part_least + each)) for each in self.dice.gamma(2.0, self.part_days / 2, many)]

    def still_out(self, parcels: bool, gone: int) -> float:
        """A wait that has not ended after so many days."""
        while True:
            long = (self.parcels(1) if parcels else self.answers(1))[0]
            if long > gone:
                return long


def _job(
    tag: str, dice: np.random.Generator, world: _World, owners: Spread, parts: Spread, found: Found
) -> tuple[Job, Piece]:
    likely = float(np.exp(dice.normal(4.4, 0.5)))
    work = through(likely * float(dice.uniform(0.6, 0.8)), likely, likely * float(dice.uniform(1.5, 2.2)))
    real = world.pace * likely * float(np.exp(dice.normal(0.04, world.strays)))
    to_look = dice.random() < 0.25
    asks, short = to_look or dice.random() < 0.2, dice.random() < 0.25
    gone = int(dice.integers(0, 8))
    asked = None if to_look else MONDAY - timedelta(days=gone)
    owner_took = (world.answers(1)[0] if to_look else world.still_out(False, gone) - gone) if asks else 0.0
    ordered = short and not asks
    part_gone = int(dice.integers(0, 6)) if ordered else 0
    part_took = world.still_out(True, part_gone) - part_gone if short else 0.0
    job = Job(
        tag,
        work,
        first=Spread(5, 15, 40) if to_look else None,
        owner=Wait(owners, asked) if asks else None,
        parts=Wait(parts, MONDAY - timedelta(days=part_gone) if ordered else None) if short else None,
        found=found,
    )
    looked = world.pace * 15 * float(np.exp(dice.normal(0.0, 0.4))) if to_look else None
    asked_days, here = (owner_took, part_took) if ordered else (owner_took + part_took, 0.0)
    broken = world.parcels(1)[0] if dice.random() < world.breaks else 0.0
    return job, Piece(looked, real, asked_days, here, broken, float(dice.uniform(0.2, 0.7)))
