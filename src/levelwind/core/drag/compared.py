"""How many times the torque of one stack another carries at the same clamp force."""

from collections.abc import Sequence

from levelwind.core.drag import chain
from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.draws import Generator, interval
from levelwind.core.drag.model import Stack
from levelwind.core.drag.rings import Assumption, Floats
from levelwind.core.drag.torque import coefficient_draws, radii, torque_Nm
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

Laid = tuple[Stack, Sequence[Contact]]
"""A stack with its contacts, as ``contacts.find_contacts`` gives them."""


def times_as_much(new: Laid, old: Laid, rng: Generator, draws: int) -> Quantity:
    """Torque of ``new`` over that of ``old``, both run in, whatever clamps them.

    What is not known of a lining that lies in both is not known of both alike. Raises InputError where the old one
    carries nothing.
    """
    value, of_old = (torque_Nm(stack, contacts, 1.0, Assumption.WEAR) for stack, contacts in (new, old))
    if not of_old > 0:
        raise InputError("old stack", "one that carries nothing", "one with a surface that slips")
    mu = coefficient_draws((*new[1], *old[1]), rng, draws)
    ratios = _per_N(new, mu[:, : len(new[1])]) / _per_N(old, mu[:, len(new[1]) :])
    return interval(value / of_old, ratios)


def _per_N(laid: Laid, mu: Floats) -> Floats:
    stack, contacts = laid
    keys = [body.key_radius_m for body in stack.bodies]
    return chain.torque_per_N(chain.sides(stack), mu, *radii(contacts), Assumption.WEAR, stack.key_friction, keys)
