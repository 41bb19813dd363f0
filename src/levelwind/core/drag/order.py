"""What a wrong order costs: the same pieces in every order that can be built, by the torque that is shown."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import find_contacts, pair_coefficient
from levelwind.core.drag.laying import Pieces, Unit, best_order
from levelwind.core.drag.model import WORKING, Body, Kind, Lookup, Stack
from levelwind.core.drag.rings import Assumption, friction_radius_m
from levelwind.core.drag.torque import idle_bodies, torque_Nm
from levelwind.core.errors import InputError

LEVEL = 1e-9
"""Share by which an order must hold more to be a better one: the noise of sums. Our choice."""


@dataclass(frozen=True, slots=True)
class Order:
    """The right order, as places in the stack given; ``share_lost`` is how much of its torque the given order lacks.

    ``proven`` is False where there were too many orders to weigh them all, and this is the best of those that were.
    """

    places: tuple[int, ...]
    share_lost: float
    idle: tuple[int, ...]
    proven: bool = True


@lru_cache(maxsize=64)
def right_order(stack: Stack, lookup: Lookup | None = None) -> Order:
    """The order of the same bodies that holds most, run in, of all that can be built without metal rubbing on metal.

    Gear, flange, cap, springs and spacers stay, with what is bonded to them. A washer or plate stays between the same
    two of those, where its ears and keys are known to engage; all of them are laid at once. Where metal must rub on
    metal, in as few places as can be. Of orders that hold the same, the one that moves fewest bodies. The given order
    comes back where none holds more. The last answers are kept: an order hangs on the washers alone, not on what
    squeezes them.
    """
    now = _held_per_N(stack, lookup)
    stretches = _stretches(stack)
    kinds = [[_kind(stack, unit) for unit in units] for units in stretches]
    places, proven = best_order(_pieces(stack, lookup), stretches, kinds)
    most = _held_per_N(stack.in_order(places), lookup)
    if most <= now * (1 + LEVEL):
        return Order(tuple(range(len(stack.bodies))), 0.0, idle_bodies(stack), proven)
    return Order(places, 1 - now / most, idle_bodies(stack), proven)


def _held_per_N(stack: Stack, lookup: Lookup | None) -> float:
    return torque_Nm(stack, find_contacts(stack, lookup), 1.0, Assumption.WEAR)


def _pieces(stack: Stack, lookup: Lookup | None) -> Pieces:
    """What each body would carry under each other."""
    bodies, count = stack.bodies, len(stack.bodies)
    inner, outer = (np.array([getattr(body, f"{end}_radius_m") for body in bodies]) for end in ("inner", "outer"))
    inner, outer = np.maximum.outer(inner, inner), np.minimum.outer(outer, outer)
    misses = inner >= outer
    lining = np.array([body.kind is Kind.FRICTION for body in bodies])
    mu = np.zeros((count, count))
    for a, b in np.argwhere(~misses & ~np.eye(count, dtype=bool)).tolist():
        mu[a, b] = _coefficient(bodies[a], bodies[b], stack.condition, lookup)
    per_N = mu * friction_radius_m(np.minimum(inner, outer), outer, Assumption.WEAR)
    bonded = [place for place, body in enumerate(bodies) if place and body.bonded]
    per_N[[place - 1 for place in bonded], bonded] = np.inf
    bites = [stack.key_friction / (body.key_radius_m or np.inf) for body in bodies]
    return Pieces(chain.sides(stack).tolist(), per_N, ~np.logical_or.outer(lining, lining), misses, bites)


def _coefficient(below: Body, above: Body, condition: str, lookup: Lookup | None) -> float:
    """At its middle; 0 where it is of metal on metal and not known, as no order is wanted for that."""
    try:
        return pair_coefficient(below, above, condition, lookup).mu.value
    except InputError:
        if Kind.FRICTION in {below.kind, above.kind}:
            raise
        return 0.0


def _stretches(stack: Stack) -> list[list[Unit]]:
    """Units that may change places with one another; one with a body that stays is alone."""
    stretches: list[list[Unit]] = []
    loose = False
    for unit in _units(stack):
        first = stack.bodies[unit[0]]
        was_loose, loose = loose, not first.bonded and all(stack.bodies[place].kind in WORKING for place in unit)
        if loose and was_loose:
            stretches[-1].append(unit)
        else:
            stretches.append([unit])
    return stretches


def _units(stack: Stack) -> list[Unit]:
    units: list[Unit] = []
    for place, body in enumerate(stack.bodies):
        if units and body.bonded:
            units[-1] = (*units[-1], place)
        else:
            units.append((place,))
    return units


def _kind(stack: Stack, unit: Unit) -> tuple[object, ...]:
    """What a unit is to the drag: two with the same answer are alike to it."""
    bodies = (stack.bodies[place] for place in unit)
    return tuple(
        (b.kind, b.tie, b.outer_radius_m, b.inner_radius_m, b.material, b.coefficient, b.key_radius_m) for b in bodies
    )
