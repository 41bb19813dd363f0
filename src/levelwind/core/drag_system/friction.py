"""What a pull says of the friction of one lining in a stack."""

from collections.abc import Sequence
from itertools import pairwise

from levelwind.core.drag.contacts import Contact
from levelwind.core.drag.draws import Generator, independent_product
from levelwind.core.drag.families import Drive
from levelwind.core.drag.infer import likelihood
from levelwind.core.drag.model import Coefficient, Stack
from levelwind.core.drag.rings import Floats
from levelwind.core.drag_system.model import LoadedSpool, Pull, Tables
from levelwind.core.errors import InputError
from levelwind.core.line import radius_at_length_m, spool_torque_Nm
from levelwind.core.quantities import Quantity


def torque_pulled(pull: Pull, spool: LoadedSpool, drive: Drive) -> Quantity:
    """Torque in N m at the drag behind a tension read at the line."""
    radius = float(radius_at_length_m(spool.filled, pull.left_m))
    at_spool = pull.tension_N.scaled(float(spool_torque_Nm(1.0, radius, pull.past)))
    return independent_product(at_spool, drive.drag_per_spool())


def priors(stack: Stack, contacts: Sequence[Contact], material: str, tables: Tables) -> dict[str, Coefficient]:
    """What the tables have for a lining on the face it slips on, condition by condition."""
    place = _slipping(stack, contacts, material)[0]
    faces = (body.material for body in stack.bodies[place : place + 2])
    face = next((name for name in faces if name != material), material)
    return {condition: tables.friction(material, face, condition) for condition in tables.conditions}


def lining_likelihood(
    stack: Stack, contacts: Sequence[Contact], material: str, torque_Nm: Quantity, clamp_N: Quantity, rng: Generator
) -> Floats:
    """How likely each friction of the lining makes the torque behind a pull, as :func:`weighed` takes it.

    Raises InputError where no face of this material carries drag.
    """
    return likelihood(stack, contacts, _slipping(stack, contacts, material), torque_Nm, clamp_N, rng)


def _slipping(stack: Stack, contacts: Sequence[Contact], material: str) -> list[int]:
    pairs = list(pairwise(body.material for body in stack.bodies))
    found = [contact.index for contact in contacts if contact.coefficient and material in pairs[contact.index]]
    if not found:
        raise InputError("material of the pull", material, "one whose faces carry drag in this stack")
    return found
