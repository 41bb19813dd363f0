"""Time of a promise for 200 jobs in hand from 10,000 futures, against processes of SimPy and against plain Python.

The slow simulations are those the tests hold the fast one to; each works off a few futures, and its time is counted up
to as many as the fast one's. Wanted: under 1 s, and at least 50 times faster than the process-based one.
"""

import sys
from datetime import date
from pathlib import Path
from time import perf_counter, process_time

import numpy as np

from levelwind.core.supply import FUTURES, Calendar, Found, Job, Shop, Spread, Wait, futures
from levelwind.core.supply.promise import draw

sys.path.insert(0, str(Path(__file__).parent.parent))
from tests.core.supply.by_processes import done_by_processes
from tests.core.supply.one_by_one import Clock, done_on
from tests.core.supply.test_promise import pieces_of

JOBS, FEW = 200, 20
FOUND = Found(0.1, Spread(2, 7, 30))
"""Of each: a part that turns out broken only when it is open."""


def shop() -> Shop:
    """One in four waits for its owner, one in four for a part, one in four is still to be looked over."""
    jobs = []
    for n in range(JOBS):
        first = Spread(10, 15, 40) if n % 4 == 1 else None
        owner = Wait(Spread(1, 3, 14)) if n % 4 in (1, 2) else None
        parts = Wait(Spread(3, 6, 25)) if n % 4 == 3 or n % 8 == 1 else None
        spread = Spread(20 + n % 7 * 5, 55 + n % 11 * 4, 120 + n % 13 * 9)
        jobs.append(Job(f"{n}", spread, first=first, owner=owner, parts=parts, urgent=n % 17 == 0, found=FOUND))
    return Shop(date(2026, 3, 2), Calendar((6, 6, 6, 6, 6, 0, 0)), tuple(jobs))


def main() -> None:
    hand = shop()
    futures(hand, np.random.default_rng(1), 10)  # what is loaded once is not counted
    start, spent = perf_counter(), process_time()
    told = futures(hand, np.random.default_rng(1))
    dates = [told.done_by(n, chance) for n in range(JOBS) for chance in (0.5, 0.8, 0.9)]
    fast, spent = perf_counter() - start, process_time() - spent
    drawn = draw(hand, FEW, np.random.default_rng(1))
    clock, times = Clock(hand.today, hand.calendar.hours, hand.calendar.off), []
    for simulator in (done_by_processes, done_on):
        start = perf_counter()
        for future in range(FEW):
            simulator(pieces_of(hand, drawn, future), clock)
        times.append((perf_counter() - start) / FEW * FUTURES / fast)
    print(
        f"{len(dates)} dates of {JOBS} jobs from {FUTURES:,} futures: {fast:.2f} s, {spent:.2f} s of processor; "
        f"SimPy takes {times[0]:.0f} times as long, one at a time in plain Python {times[1]:.0f} times"
    )


if __name__ == "__main__":
    main()
