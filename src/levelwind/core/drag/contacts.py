"""Where the bodies of a stack touch: each pair's ring and its coefficient."""

from dataclasses import dataclass
from itertools import pairwise

from levelwind.core.drag.chain import carrying
from levelwind.core.drag.model import Body, Coefficient, Kind, Lookup, Stack
from levelwind.core.errors import InputError


@dataclass(frozen=True, slots=True)
class Contact:
    """Two bodies pressed on each other over a ring.

    ``coefficient`` is None where nothing can slip: the two are bonded, or ``carries`` is False because both are held
    by the same side. ``linings`` are the materials whose friction it is: that of the washer, on whatever it rubs; of
    both bodies where both are washers or neither is; none where a material is not said.
    """

    index: int
    inner_radius_m: float
    outer_radius_m: float
    carries: bool
    coefficient: Coefficient | None
    linings: frozenset[str] = frozenset()


def find_contacts(stack: Stack, lookup: Lookup | None = None) -> tuple[Contact, ...]:
    """Each pair that touches with its ring and its coefficient.

    A washer's own coefficient comes first; where both bodies have one, the lower counts; else ``lookup`` is asked.
    Raises InputError where a surface that can slip has neither.
    """
    loaded = carrying(stack)
    return tuple(
        _surface(index, below, above, index in loaded, stack.condition, lookup)
        for index, (below, above) in enumerate(pairwise(stack.bodies))
    )


def _surface(index: int, below: Body, above: Body, carries: bool, condition: str, lookup: Lookup | None) -> Contact:
    inner, outer = max(below.inner_radius_m, above.inner_radius_m), min(below.outer_radius_m, above.outer_radius_m)
    slips = carries and not above.bonded
    mu = pair_coefficient(below, above, condition, lookup) if slips else None
    return Contact(index, inner, outer, carries, mu, _linings(below, above))


def _linings(below: Body, above: Body) -> frozenset[str]:
    washers = [body for body in (below, above) if body.kind is Kind.FRICTION] or [below, above]
    materials = frozenset(body.material for body in washers)
    return frozenset() if "" in materials else materials


def pair_coefficient(below: Body, above: Body, condition: str, lookup: Lookup | None) -> Coefficient:
    """Coefficient between two bodies, whichever lies below; InputError where neither a number nor a table has it."""
    own = [c for c in (below.coefficient, above.coefficient) if c is not None]
    if own:
        return min(own, key=lambda c: c.mu.value)
    if lookup is None:
        raise InputError(f"friction between {below.name} and {above.name}", "not given", "a coefficient or a material")
    return lookup(below.material, above.material, condition)
