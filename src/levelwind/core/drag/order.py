"""What a wrong order costs, found by trying every order of the same washers and plates."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import factorial, prod

import numpy as np

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import pair_coefficient
from levelwind.core.drag.model import WORKING, Kind, Lookup, Stack
from levelwind.core.drag.rings import Assumption, Floats, friction_radius_m
from levelwind.core.drag.torque import idle_bodies

MOST_ORDERS = 40_000
"""Orders tried of one stretch of washers: about a tenth of a second's work. Our choice."""

Unit = tuple[int, ...]
"""Places of bodies that move as one: a body with what is bonded to it."""


@dataclass(frozen=True, slots=True)
class Order:
    """The right order, as places in the stack given; ``share_lost`` is how much of its torque the given order lacks."""

    places: tuple[int, ...]
    share_lost: float
    idle: tuple[int, ...]


@lru_cache(maxsize=64)
def right_order(stack: Stack, lookup: Lookup | None = None) -> Order | None:
    """The order of the same bodies that carries most, or None where more than 40,000 orders would have to be tried.

    Gear, flange, cap, springs and spacers stay; washers and plates move within their own stretch between those. Of
    orders that carry the same, the one that moves fewest bodies. Metal rubbing on metal is not counted as drag here.
    Orders are compared run in, with the loss along keys left out. The last answers are kept: an order hangs on the
    washers alone, not on what squeezes them.
    """
    per_N = _pairs_per_N(stack, lookup)
    side = chain.sides(stack)
    given = np.arange(len(stack.bodies))
    best = given
    for start, stop in _stretches(stack):
        units = _units(stack, start, stop)
        if _count(stack, units) > MOST_ORDERS:
            return None
        middles = [[place for unit in order for place in unit] for order in _orders(stack, units)]
        tried = np.tile(best, (len(middles), 1))
        tried[:, start:stop] = middles
        best = _most(tried, side, per_N)
    now, most = (float(_torques_per_N(order[None], side, per_N)[0]) for order in (given, best))
    if most <= now * (1 + 1e-9):
        return Order(tuple(given.tolist()), 0.0, idle_bodies(stack))
    return Order(tuple(best.tolist()), 1 - now / most, idle_bodies(stack))


def _most(tried: np.ndarray, side: chain.Sides, per_N: Floats) -> np.ndarray:
    torque = _torques_per_N(tried, side, per_N)
    level = torque >= torque.max() * (1 - 1e-9)
    moved = np.count_nonzero(tried != np.arange(tried.shape[1]), axis=1)
    return np.asarray(tried[int(np.argmin(np.where(level, moved, tried.shape[1] + 1)))])


def _torques_per_N(tried: np.ndarray, side: chain.Sides, per_N: Floats) -> Floats:
    capacity = per_N[tried[:, :-1], tried[:, 1:]]
    torque = chain.carried_torque_Nm(side[tried], np.maximum(capacity, 0.0))
    return np.where((capacity < 0).any(axis=1), -1.0, torque)


def _pairs_per_N(stack: Stack, lookup: Lookup | None) -> Floats:
    """What each body carries on each other per newton, below by above: 0 for metal on metal, -1 where they miss."""
    count = len(stack.bodies)
    per_N = np.zeros((count, count))
    for a, below in enumerate(stack.bodies):
        for b, above in enumerate(stack.bodies):
            inner = max(below.inner_radius_m, above.inner_radius_m)
            outer = min(below.outer_radius_m, above.outer_radius_m)
            if inner >= outer:
                per_N[a, b] = -1.0
            elif b == a + 1 and above.bonded:
                per_N[a, b] = np.inf
            elif Kind.FRICTION in {below.kind, above.kind} and a != b:
                mu = pair_coefficient(below, above, stack.condition, lookup).mu.value
                per_N[a, b] = mu * friction_radius_m(inner, outer, Assumption.WEAR)
    return per_N


def _stretches(stack: Stack) -> Iterator[tuple[int, int]]:
    start = None
    for place, body in enumerate(stack.bodies):
        if body.kind in WORKING:
            start = place if start is None else start
        elif start is not None:
            yield start, place
            start = None
    if start is not None:
        yield start, len(stack.bodies)


def _units(stack: Stack, start: int, stop: int) -> list[Unit]:
    units: list[Unit] = []
    for place in range(start, stop):
        if units and stack.bodies[place].bonded:
            units[-1] = (*units[-1], place)
        else:
            units.append((place,))
    return units


def _alike(stack: Stack, unit: Unit) -> tuple[object, ...]:
    """Two units with the same answer are the same to the drag."""
    bodies = (stack.bodies[place] for place in unit)
    return tuple((b.kind, b.tie, b.outer_radius_m, b.inner_radius_m, b.material, b.coefficient) for b in bodies)


def _count(stack: Stack, units: list[Unit]) -> int:
    alike = [_alike(stack, unit) for unit in units]
    return factorial(len(units)) // prod(factorial(alike.count(one)) for one in set(alike))


def _orders(stack: Stack, units: list[Unit]) -> Iterator[tuple[Unit, ...]]:
    """Every order of the units, those that only swap alike units once; alike units keep their order."""
    groups: dict[tuple[object, ...], list[Unit]] = {}
    for unit in units:
        groups.setdefault(_alike(stack, unit), []).append(unit)
    pools = list(groups.values())

    def grow(chosen: tuple[Unit, ...], used: tuple[int, ...]) -> Iterator[tuple[Unit, ...]]:
        if len(chosen) == len(units):
            yield chosen
            return
        for i, pool in enumerate(pools):
            if used[i] < len(pool):
                yield from grow((*chosen, pool[used[i]]), (*used[:i], used[i] + 1, *used[i + 1 :]))

    return grow((), (0,) * len(pools))
