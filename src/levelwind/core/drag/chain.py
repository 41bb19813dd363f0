"""What a chain of bodies can carry from the gear to the sleeve.

Between one tied body and the next lie floating bodies. If the two tied bodies belong to the same side they turn
together, and what lies between them carries nothing. If they belong to different sides, the weakest surface between
them slips and sets the torque. The chain's torque is the sum over all such runs: the max-flow of a path graph whose
tied bodies are joined to their side.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from levelwind.core.drag.model import Stack, Tie
from levelwind.core.drag.rings import Assumption, Floats, Numbers, friction_radius_m
from levelwind.core.errors import InputError

SIDE = {Tie.GEAR: 1, Tie.SLEEVE: -1, Tie.FLOATING: 0}
"""Number of a side: 1 the gear, -1 the sleeve, 0 neither."""

Sides = npt.NDArray[np.int_]


def sides(stack: Stack) -> Sides:
    """The side of each body, shape (n,)."""
    return np.array([SIDE[body.tie] for body in stack.bodies])


def carried_torque_Nm(sides: Sides | Sequence[int], capacity_Nm: Floats) -> Floats:
    """Torque in N m that chains of n bodies carry, given what each of their n - 1 surfaces carries before it slips.

    ``sides`` has shape (..., n) and ``capacity_Nm`` (..., n - 1); leading axes broadcast, so that ten thousand stacks,
    alike or each in its own order, are one call. Bonded surfaces have infinite capacity.

    >>> float(carried_torque_Nm([1, 0, -1, 0, 1], np.array([0.5, 0.3, 0.4, 0.6])))
    0.7
    """
    side, capacity = np.asarray(sides), np.asarray(capacity_Nm, float)
    if side.shape[-1] != capacity.shape[-1] + 1:
        raise InputError("number of surfaces", capacity.shape[-1], f"one fewer than the {side.shape[-1]} bodies")
    shape = np.broadcast_shapes(side.shape[:-1], capacity.shape[:-1])
    torque, weakest, last = np.zeros(shape), np.full(shape, np.inf), side[..., 0]
    for surface in range(capacity.shape[-1]):
        here = side[..., surface + 1]
        weakest = np.minimum(weakest, capacity[..., surface])
        torque = torque + np.where(here * last < 0, weakest, 0.0)
        weakest = np.where(here != 0, np.inf, weakest)
        last = np.where(here != 0, here, last)
    return np.asarray(torque)[()]


@dataclass(frozen=True, slots=True)
class Run:
    """Surfaces ``first`` to ``last`` (both counted), from one tied body to the next."""

    first: int
    last: int
    carries: bool


def runs(sides: Sides | Sequence[int]) -> tuple[Run, ...]:
    """The runs of one chain; what lies outside the first and last tied body is a run that carries nothing.

    >>> runs([1, 0, -1, -1, 0])
    (Run(first=0, last=1, carries=True), Run(first=2, last=2, carries=False), Run(first=3, last=3, carries=False))
    """
    tied = [body for body, side in enumerate(sides) if side != 0]
    ends = sorted({0, *tied, len(sides) - 1})
    return tuple(Run(a, b - 1, bool(sides[a] * sides[b] < 0)) for a, b in pairwise(ends))


def carrying(stack: Stack) -> frozenset[int]:
    """The surfaces that carry torque, counted from 0 at the far end."""
    return frozenset(s for run in runs(sides(stack)) if run.carries for s in range(run.first, run.last + 1))


def clamp_shares(
    sides: Sides | Sequence[int],
    capacity_per_N: Floats,
    key_friction: float,
    key_radius_m: Sequence[float | None],
) -> Floats:
    """Share of the clamp force that reaches each surface, shape (..., n - 1); the clamp presses on the last body.

    A tied body that carries the torque M on keys at radius r resists sliding along them with f M / r, so the force
    below it is less by that much. With the surfaces above and below slipping at a F_above and b F_below,
    F_below = F_above (1 - f a / r) / (1 + f b / r). Bodies without a key radius (gear floor, cap) lose nothing.
    Valid while f a / r < 1. Source: equilibrium of one plate; G. Niemann, Maschinenelemente 3, section 29, from memory.

    >>> clamp_shares([1, -1, 1], np.array([0.001, 0.001]), 0.1, [None, 0.005, None])
    array([0.96078431, 1.        ])
    """
    capacity = np.asarray(capacity_per_N, float)
    shares = np.ones(capacity.shape)
    slipping = np.zeros(capacity.shape)
    for run in runs(sides):
        if run.carries:
            slipping[..., run.first : run.last + 1] = capacity[..., run.first : run.last + 1].min(-1, keepdims=True)
    for body in range(len(sides) - 2, 0, -1):
        radius = key_radius_m[body]
        bite = 0.0 if radius is None or sides[body] == 0 else key_friction / radius
        loss = (1 - bite * slipping[..., body]) / (1 + bite * slipping[..., body - 1])
        shares[..., body - 1] = shares[..., body] * np.maximum(loss, 0.0)
    return shares


def slipping_surfaces(sides: Sides | Sequence[int], capacity_Nm: Floats) -> tuple[int, ...]:
    """The surface of each carrying run that slips first; capacities of one chain, shape (n - 1,).

    >>> slipping_surfaces([1, 0, -1, 0, 1], np.array([0.5, 0.3, 0.4, 0.6]))
    (1, 2)
    """
    return tuple(
        run.first + int(np.argmin(capacity_Nm[run.first : run.last + 1])) for run in runs(sides) if run.carries
    )


def torque_per_N(
    sides: Sides | Sequence[int],
    mu: Floats,
    inner_radius_m: Numbers,
    outer_radius_m: Numbers,
    assumption: Assumption,
    key_friction: float = 0.0,
    key_radius_m: Sequence[float | None] = (),
) -> Floats:
    """Torque in N m per newton of clamp force, of one order of bodies over any number of draws.

    ``mu`` and the radii have shape (..., n - 1). The torque is linear in the clamp force, losses along keys included.

    >>> float(torque_per_N([1, 0, -1], np.array([0.2, 0.2]), 0.004, 0.010, Assumption.WEAR))
    0.0014
    """
    capacity = np.asarray(mu, float) * friction_radius_m(inner_radius_m, outer_radius_m, assumption)
    if key_friction > 0:
        shares = clamp_shares(sides, capacity, key_friction, key_radius_m)
        capacity = np.multiply(capacity, shares, where=np.isfinite(capacity), out=capacity.copy())
    return carried_torque_Nm(sides, capacity)
