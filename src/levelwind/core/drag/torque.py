"""The torque of a whole stack, with what is known and not known about its friction and its clamp force."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.draws import Generator, interval, sampled
from levelwind.core.drag.model import WORKING, Kind, Stack, Tie
from levelwind.core.drag.rings import Assumption, Floats, friction_radius_m
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

MOST_CLAMP_N = 100_000.0
"""N, clamp force: a hundred times what a hand on a star gives. Our choice."""

TORQUE_DRAWS = 4000
"""Draws behind the interval of a torque: its ends then move by less than they are shown with. Our choice."""


@dataclass(frozen=True, slots=True)
class StackTorque:
    """What a stack does under a clamp force; indices count from the first body or surface, from 0."""

    new_Nm: Quantity
    run_in_Nm: Quantity
    slipping: tuple[int, ...]
    idle: tuple[int, ...]
    cautions: tuple[str, ...]


def evaluate(
    stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, rng: Generator, draws: int = TORQUE_DRAWS
) -> StackTorque:
    """Torque new (uniform pressure) and run in (uniform wear), 90 % interval from ``draws`` draws of ``rng``.

    ``contacts`` is what ``contacts.find_contacts`` gives for the stack. The value is at the middle of
    every coefficient and of the clamp force. Raises InputError if gear and sleeve are bonded together.
    """
    if not 0 <= clamp_N.low <= clamp_N.high <= MOST_CLAMP_N:
        raise InputError(
            "clamp force",
            f"{written(clamp_N.low)} to {written(clamp_N.high)} N",
            f"from 0 to {written(MOST_CLAMP_N)} N",
        )
    drawn = torque_draws_Nm(stack, contacts, clamp_N, rng, draws)
    torques = {a: interval(torque_Nm(stack, contacts, clamp_N.value, a), drawn[a]) for a in Assumption}
    return StackTorque(
        torques[Assumption.PRESSURE],
        torques[Assumption.WEAR],
        slipping_contacts(stack, contacts),
        idle_bodies(stack),
        _cautions(stack, contacts),
    )


def torque_Nm(stack: Stack, contacts: Sequence[Contact], clamp_N: float, assumption: Assumption) -> float:
    """Torque in N m at the middle of every coefficient."""
    return float(_per_N(stack, contacts, _middle(contacts), assumption) * clamp_N)


def torque_draws_Nm(
    stack: Stack, contacts: Sequence[Contact], clamp_N: Quantity, rng: Generator, draws: int
) -> dict[Assumption, Floats]:
    """``draws`` torques in N m, new and run in, of the same clamp forces and coefficients."""
    force, mu = sampled(clamp_N, rng.standard_normal(draws)), coefficient_draws(contacts, rng, draws)
    return {a: np.asarray(force * _per_N(stack, contacts, mu, a)) for a in Assumption}


def coefficient_draws(contacts: Sequence[Contact], rng: Generator, draws: int) -> Floats:
    """Coefficients, shape (draws, surfaces); infinite where bonded.

    What is not known about a material is not known about all its washers alike: they share their draw, each at its own
    coefficient, as one on steel and one on brass. Where no material is said, surfaces of the same coefficient do.
    """
    drawn: dict[Hashable, Floats] = {}
    columns = []
    for surface in contacts:
        if surface.coefficient is None:
            columns.append(np.full(draws, np.inf))
            continue
        whose = surface.linings or surface.coefficient
        if whose not in drawn:
            drawn[whose] = rng.standard_normal(draws)
        columns.append(sampled(surface.coefficient.mu, drawn[whose]))
    return np.column_stack(columns)


def slipping_contacts(stack: Stack, contacts: Sequence[Contact]) -> tuple[int, ...]:
    """The contacts that slip, run in, at the middle of every coefficient; counted from 0 at the far end."""
    capacity = _middle(contacts) * friction_radius_m(*radii(contacts), Assumption.WEAR)
    return chain.slipping_surfaces(chain.sides(stack), capacity)


def idle_bodies(stack: Stack) -> tuple[int, ...]:
    """Washers and plates none of whose faces carries anything: they only take up room."""
    carrying = chain.carrying(stack)
    return tuple(
        place for place, body in enumerate(stack.bodies) if body.kind in WORKING and not {place - 1, place} & carrying
    )


def _per_N(stack: Stack, contacts: Sequence[Contact], mu: Floats, assumption: Assumption) -> Floats:
    per_N = chain.torque_per_N(
        chain.sides(stack),
        mu,
        *radii(contacts),
        assumption,
        stack.key_friction,
        [body.key_radius_m for body in stack.bodies],
    )
    if not np.all(np.isfinite(per_N)):
        raise InputError("stack", "gear and sleeve bonded together", "at least one surface that can slip between them")
    return per_N


def radii(contacts: Sequence[Contact]) -> tuple[Floats, Floats]:
    """Inner and outer radius in m of every surface, each of shape (surfaces,)."""
    return np.array([s.inner_radius_m for s in contacts]), np.array([s.outer_radius_m for s in contacts])


def _middle(contacts: Sequence[Contact]) -> Floats:
    return np.array([np.inf if s.coefficient is None else s.coefficient.mu.value for s in contacts])


def _cautions(stack: Stack, contacts: Sequence[Contact]) -> tuple[str, ...]:
    said = dict.fromkeys(s.coefficient.caution for s in contacts if s.coefficient and s.coefficient.caution)
    for below, above in pairwise(stack.bodies):
        metal = not {below.kind, above.kind} & {Kind.FRICTION, Kind.SPRING, Kind.SPACER}
        if metal and {below.tie, above.tie} == {Tie.GEAR, Tie.SLEEVE}:
            said[f"{above.name} rubs on {below.name}, metal on metal: it will gall and grab."] = None
    return tuple(said)
