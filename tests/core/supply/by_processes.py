"""A shop as processes of SimPy 4.1.2 (PyPI), a reference simulator: each job a process, the benches a resource.

Nothing of core/supply is in it. Its clock counts minutes at the bench; days come in as the minutes before them.
"""

from collections.abc import Generator, Sequence
from math import ceil
from typing import Any

import simpy

from tests.core.supply.one_by_one import Clock, Piece

IN_TURN_MIN = 1e-9
"""min; jobs ready at one moment ask for the bench in the order of the list, so much apart."""
SOON_MIN = 1e-3
"""min; work that ends this soon after a day's last minute ended on that day: rounding, as in ``one_by_one``."""


def done_by_processes(pieces: Sequence[Piece], clock: Clock, benches: int = 1, days: int = 1500) -> list[int]:
    """The day on which each job is done, in one future."""
    before = [0.0]
    for day in range(days):
        before.append(before[-1] + 60 * clock.hours_of(day))

    def day_of(minute: float) -> int:
        return next(day for day in range(days) if before[day + 1] + SOON_MIN >= minute and clock.hours_of(day))

    world = simpy.Environment()
    bench = simpy.PriorityResource(world, capacity=benches)
    done = [-1] * len(pieces)

    def ready(number: int, minute: float) -> simpy.Timeout:
        return world.timeout(max(minute - world.now, 0.0) + IN_TURN_MIN * (number + 1))

    def job(number: int, piece: Piece) -> Generator[Any, Any, None]:
        day, held = 0, None
        if piece.first is not None:
            yield ready(number, 0.0)
            held = bench.request(priority=number)
            yield held
            yield world.timeout(piece.first)
            day = day_of(world.now)
        there = before[max(day + ceil(piece.asked_days), ceil(piece.here_on_day))]
        if held and there <= world.now:
            turn = bench.request(priority=number)  # asked for before the bench is given to anybody else
            bench.release(held)
        else:
            if held:
                bench.release(held)
            yield ready(number, there)
            turn = bench.request(priority=number)
        yield turn
        if piece.found_days:
            yield world.timeout(piece.last * piece.opened_after)
            bench.release(turn)
            yield ready(number, before[day_of(world.now) + ceil(piece.found_days)])
            turn = bench.request(priority=number)
            yield turn
        yield world.timeout(piece.last * (1 - piece.opened_after if piece.found_days else 1))
        bench.release(turn)
        done[number] = day_of(world.now)

    for number, piece in enumerate(pieces):
        world.process(job(number, piece))
    world.run()
    return done
