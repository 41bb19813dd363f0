"""The best stack from the washers on the shelf: every choice tried, the runners-up kept.

A pattern gives the places; some are taken (gear, plates that stay), others have candidates from the shelf. Each choice
is judged on height, on the drag it reaches, and on not being stronger than what stands behind it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import prod

import numpy as np

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import pair_coefficient
from levelwind.core.drag.model import Body, Lookup, Stack
from levelwind.core.drag.rings import Assumption, Floats, friction_radius_m
from levelwind.core.errors import InputError, NotDeterminedError

MOST_CHOICES = 300_000
"""Fillings tried of the open places: about a second's work. Our choice."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A kind of washer on the shelf: its key there, the body it would be, how many lie there."""

    key: str
    body: Body
    count: int = 1


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the stack must do. Height in m, drag torques in N m.

    ``clamp_N`` is what the star is turned to in use; ``wanted_Nm`` the drag wanted there; ``most_Nm`` what the weakest
    part behind the drag bears with its margin, at ``most_clamp_N``, the tightest a hand makes it.
    """

    height_m: tuple[float, float]
    clamp_N: float
    wanted_Nm: float
    most_clamp_N: float
    most_Nm: float

    def __post_init__(self) -> None:
        if not 0 < self.height_m[0] <= self.height_m[1]:
            raise InputError("height wanted", f"{self.height_m} m", "a low end over 0 and a high end not below it")
        if not (0 < self.clamp_N <= self.most_clamp_N and self.wanted_Nm > 0 and self.most_Nm > 0):
            raise InputError("drag wanted", self.wanted_Nm, "over 0, with clamp forces over 0, the tightest not below")


@dataclass(frozen=True, slots=True)
class Choice:
    """One stack: what lies in each open place, its height, its drag in use, and how it scores.

    ``score`` is 0 for a stack in the middle of the height with just the drag wanted; 1 is a height at the edge of what
    fits, or a drag off by a factor of two. ``too_strong`` and ``too_high_or_low`` say what it breaks.
    """

    keys: tuple[str, ...]
    stack: Stack
    height_m: float
    torque_Nm: float
    score: float
    too_strong: bool
    too_high_or_low: bool


def best_stacks(
    stack: Stack,
    shelf: dict[int, Sequence[Candidate]],
    wanted: Wanted,
    lookup: Lookup | None = None,
    keep: int = 5,
) -> tuple[Choice, ...]:
    """The best ``keep`` choices for the places of ``stack`` named in ``shelf``, best first.

    Every choice that the shelf's counts allow is computed, run in, at the middle of each coefficient; one that breaks
    nothing always stands before one that does. Raises InputError over 300,000 choices, NotDeterminedError for none.
    """
    places = sorted(shelf)
    if not places or not set(places) <= set(range(len(stack.bodies))) or any(not shelf[place] for place in places):
        raise InputError("places to fill", places, "places of the stack, each with at least one candidate")
    if prod(len(shelf[place]) for place in places) > MOST_CHOICES:
        raise InputError(
            "choices", prod(len(shelf[place]) for place in places), f"up to {MOST_CHOICES}: name fewer washers"
        )
    options = [
        [candidate.body for candidate in shelf[place]] if place in shelf else [body]
        for place, body in enumerate(stack.bodies)
    ]
    picks = _picks(options, shelf, stack)
    per_N = _per_N(options, picks, stack, lookup)
    picks, per_N = picks[per_N > 0], per_N[per_N > 0]
    if not len(picks):
        raise NotDeterminedError("No stack can be made from these washers: too few of them, or none that touch.")
    return _ranked(stack, shelf, options, picks, per_N, wanted, keep)


def _ranked(
    stack: Stack,
    shelf: dict[int, Sequence[Candidate]],
    options: list[list[Body]],
    picks: np.ndarray,
    per_N: Floats,
    wanted: Wanted,
    keep: int,
) -> tuple[Choice, ...]:
    heights = sum(
        np.array([body.thickness_m for body in bodies])[picks[:, place]] for place, bodies in enumerate(options)
    )
    low, high = wanted.height_m
    off = np.abs(np.asarray(heights) - (low + high) / 2) / max((high - low) / 2, 1e-6)
    torque, tightest = per_N * wanted.clamp_N, per_N * wanted.most_clamp_N
    missed, strong = off > 1 + 1e-9, tightest > wanted.most_Nm
    score = off + np.abs(np.log2(torque / wanted.wanted_Nm))
    best = np.lexsort((score, missed.astype(int) + strong.astype(int)))[:keep]
    return tuple(
        Choice(
            tuple(shelf[place][picks[row, place]].key for place in sorted(shelf)),
            replace(stack, bodies=tuple(bodies[picks[row, place]] for place, bodies in enumerate(options))),
            float(np.asarray(heights)[row]),
            float(torque[row]),
            float(score[row]),
            bool(strong[row]),
            bool(missed[row]),
        )
        for row in best
    )


def _picks(options: list[list[Body]], shelf: dict[int, Sequence[Candidate]], stack: Stack) -> np.ndarray:
    """Every choice, one column a place of the stack, without those that use more of a kind than there are."""
    picks = np.indices([len(bodies) for bodies in options]).reshape(len(options), -1).T
    keys = {candidate.key: candidate.count for candidates in shelf.values() for candidate in candidates}
    allowed = np.ones(len(picks), bool)
    for key, count in keys.items():
        used = np.zeros(len(picks), int)
        for place, candidates in shelf.items():
            used += np.array([candidate.key == key for candidate in candidates])[picks[:, place]]
        allowed &= used <= count
    return picks[allowed]


def _per_N(options: list[list[Body]], picks: np.ndarray, stack: Stack, lookup: Lookup | None) -> Floats:
    """Torque for each newton of every choice, run in; 0 where two washers would miss each other."""
    capacity = np.empty((len(picks), len(options) - 1))
    for place in range(len(options) - 1):
        table = np.array([[_pair(a, b, stack.condition, lookup) for b in options[place + 1]] for a in options[place]])
        capacity[:, place] = table[picks[:, place], picks[:, place + 1]]
    sides = np.array([[chain.SIDE[body.tie] for body in bodies] + [0] * _pad(bodies, options) for bodies in options])
    chosen = sides[np.arange(len(options))[None, :], picks]
    torque = chain.carried_torque_Nm(chosen, np.maximum(capacity, 0.0))
    return np.asarray(np.where((capacity < 0).any(axis=1), 0.0, torque))


def _pad(bodies: list[Body], options: list[list[Body]]) -> int:
    return max(len(each) for each in options) - len(bodies)


def _pair(below: Body, above: Body, condition: str, lookup: Lookup | None) -> float:
    inner, outer = max(below.inner_radius_m, above.inner_radius_m), min(below.outer_radius_m, above.outer_radius_m)
    if inner >= outer:
        return -1.0
    if above.bonded or chain.SIDE[below.tie] * chain.SIDE[above.tie] > 0:
        return np.inf
    mu = pair_coefficient(below, above, condition, lookup).mu.value
    return float(mu * friction_radius_m(inner, outer, Assumption.WEAR))
