"""In which order to take the faults, so that few findings are open at one time."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Linked = NDArray[np.bool_]
"""Whether a fault can bring a finding about, shape (faults, findings)."""
Order = NDArray[np.intp]
"""The faults in some orders, a row each."""


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
    linked = links != 0
    return _planned(linked.tobytes(), *linked.shape)


@lru_cache(maxsize=64)
def _planned(pattern: bytes, faults: int, findings: int) -> tuple[Step, ...]:
    """A page asks of one web several times: which look is next, what moves a hunch."""
    if not faults:
        return ()
    linked = np.frombuffer(pattern, bool).reshape(faults, findings)
    orders = _greedy(linked)
    return _steps(linked, orders[int(np.argmin(_work(linked, orders)))].tolist())


def cells(steps: tuple[Step, ...]) -> int:
    """Numbers in all the tables of one question: memory and work both go with it."""
    return sum(1 << len(step.live) for step in steps)


def _greedy(linked: Linked) -> Order:
    """From each fault as a start (a row each), always the fault that opens the fewest findings, less those it closes.

    Of equals the first. All starts take a step at once.
    """
    faults = len(linked)
    start, touches = np.arange(faults), linked.astype(np.float32)
    order, free = np.empty((faults, faults), np.intp), np.ones((faults, faults), bool)
    left, unmet = np.tile(touches.sum(axis=0), (faults, 1)), np.ones(linked.shape, np.float32)
    taken = start
    for place in range(faults):
        order[:, place] = taken
        free[start, taken] = False
        left -= touches[taken]
        unmet[linked[taken]] = 0.0
        growth = (unmet - (left == 1)) @ touches.T
        taken = np.argmin(np.where(free, growth, np.inf), axis=1)
    return order


def _work(linked: Linked, orders: Order) -> Array:
    """``cells`` of each order, a row each, before its steps are laid out."""
    faults = len(linked)
    places = np.argsort(orders, axis=1)[:, :, None]
    first = np.where(linked, places, faults).min(axis=1, initial=faults)
    last = np.where(linked, places, -1).max(axis=1, initial=-1)
    at = np.arange(faults)[:, None, None]
    open_there = ((first <= at) & (at <= last)).sum(axis=2)
    open_there[0] += int((~linked.any(axis=0)).sum())
    return np.asarray((2.0**open_there).sum(axis=0))


def _steps(linked: Linked, order: list[int]) -> tuple[Step, ...]:
    of_fault = [np.flatnonzero(row).tolist() for row in linked]
    last = {finding: fault for fault in order for finding in of_fault[fault]}
    orphans = [finding for finding in range(linked.shape[1]) if finding not in last]
    steps, live, opened = [], orphans, orphans
    for fault in order:
        fresh = [finding for finding in of_fault[fault] if finding not in live]
        live = live + fresh
        gone = [finding for finding in live if last.get(finding, fault) == fault]
        closed = tuple(live.index(finding) for finding in reversed(gone))
        steps.append(Step(fault, (*opened, *fresh), tuple(live), closed))
        live, opened = [finding for finding in live if finding not in gone], []
    return tuple(steps)
