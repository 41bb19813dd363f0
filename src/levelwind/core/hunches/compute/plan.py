"""In which order to take the faults, so that few findings are open at one time."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Step(NamedTuple):
    """One fault's turn: the findings it opens, all that are open then, and the places (last first) that it closes."""

    fault: int
    opened: tuple[int, ...]
    live: tuple[int, ...]
    closed: tuple[int, ...]


def plan(links: Array) -> tuple[Step, ...]:
    """The faults in an order that keeps few findings open, found greedily from each start; the least work wins.

    Findings without any fault are opened by the first step and closed at once.
    """
    linked = [sum(1 << finding for finding in np.flatnonzero(row).tolist()) for row in links]
    every = (1 << links.shape[1]) - 1
    orders = [_greedy(linked, start) for start in range(len(linked))]
    return min((_steps(linked, order, every) for order in orders), key=cells, default=())


def cells(steps: tuple[Step, ...]) -> int:
    """Numbers in all the tables of one question: memory and work both go with it."""
    return sum(1 << len(step.live) for step in steps)


def _greedy(linked: list[int], start: int) -> list[int]:
    """From one start, always the fault that opens the fewest findings, less those that it closes. Sets as bits."""
    order, rest, met = [start], [fault for fault in range(len(linked)) if fault != start], linked[start]
    while rest:
        ends = _in_one_only([linked[fault] for fault in rest])
        growth = {f: (linked[f] & ~met).bit_count() - (linked[f] & ends).bit_count() for f in rest}
        nearest = min(rest, key=lambda fault: growth[fault])
        order.append(nearest)
        rest.remove(nearest)
        met |= linked[nearest]
    return order


def _in_one_only(sets: list[int]) -> int:
    once = twice = 0
    for members in sets:
        twice |= once & members
        once |= members
    return once & ~twice


def _steps(linked: list[int], order: list[int], every: int) -> tuple[Step, ...]:
    last = {finding: fault for fault in order for finding in _members(linked[fault])}
    orphans = [finding for finding in _members(every) if finding not in last]
    steps, live, opened = [], orphans, orphans
    for fault in order:
        fresh = [finding for finding in _members(linked[fault]) if finding not in live]
        live = live + fresh
        gone = [finding for finding in live if last.get(finding, fault) == fault]
        closed = tuple(live.index(finding) for finding in reversed(gone))
        steps.append(Step(fault, (*opened, *fresh), tuple(live), closed))
        live, opened = [finding for finding in live if finding not in gone], []
    return tuple(steps)


def _members(bits: int) -> list[int]:
    return [place for place in range(bits.bit_length()) if bits >> place & 1]
