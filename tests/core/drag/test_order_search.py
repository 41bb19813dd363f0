"""The right order against every order that can be built, each written out and put through the torque that is shown."""

from collections.abc import Iterator
from itertools import pairwise, permutations
from typing import Any

import numpy as np
import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.model import WORKING, Coefficient, Kind, Stack, stack_from_dict
from levelwind.core.drag.order import right_order
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.torque import slipping_contacts, torque_Nm
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from tests.conftest import Figure
from tests.full_size import cases

MU = {
    frozenset(("carbon", "steel")): 0.20,
    frozenset(("carbon", "brass")): 0.17,
    frozenset(("leather", "steel")): 0.31,
    frozenset(("leather", "brass")): 0.35,
    frozenset(("carbon", "leather")): 0.24,
    frozenset(("steel", "brass")): 0.28,
    frozenset(("steel",)): 0.13,
    frozenset(("brass",)): 0.22,
    frozenset(("carbon",)): 0.15,
    frozenset(("leather",)): 0.29,
}


def lookup(one: str, other: str, condition: str) -> Coefficient:
    return Coefficient(Quantity.exact(MU[frozenset((one, other))]), "made up")


def every_order(stack: Stack) -> Iterator[Stack]:
    """All that can be built: whatever is no washer or plate stays, what is glued stays glued, nothing passes a stay."""
    bodies = stack.bodies
    glued = [place for place, body in enumerate(bodies) if body.bonded]
    stays = {place for place, body in enumerate(bodies) if body.kind not in WORKING}
    for _ in bodies:
        stays |= {place for place in glued if place - 1 in stays} | {place - 1 for place in glued if place in stays}
    loose = [place for place in range(len(bodies)) if place not in stays]
    passed = {place: sum(stay < place for stay in stays) for place in loose}
    for laid in permutations(loose):
        if any(passed[place] != passed[body] for place, body in zip(loose, laid, strict=True)):
            continue
        order = list(range(len(bodies)))
        for place, body in zip(loose, laid, strict=True):
            order[place] = body
        if all(order[order.index(place) - 1] == place - 1 for place in glued):
            try:
                yield stack.in_order(tuple(order))
            except InputError:
                continue


def held_and_bare(stack: Stack) -> tuple[float, int]:
    """The torque that is shown, run in, for one newton, and how many faces of metal on metal slip for it."""
    contacts = find_contacts(stack, lookup)
    faces = [stack.bodies[place : place + 2] for place in slipping_contacts(stack, contacts)]
    bare = sum(all(body.kind is not Kind.FRICTION for body in face) for face in faces)
    return torque_Nm(stack, contacts, 1.0, Assumption.WEAR), bare


def random_stack(rng: np.random.Generator) -> Stack:
    """Three to six washers and plates about a gear, with springs, spacers and glued pieces among them."""

    def ring(kind: str, material: str) -> dict[str, Any]:
        sizes = [(18.0, 8.0), (20.0, 10.0), (24.0, 8.0), (24.0, 12.0), (24.0, 19.0)]
        outer, inner = sizes[rng.choice(5, p=[0.2, 0.25, 0.25, 0.25, 0.05])]
        return {
            "kind": kind,
            "material": material,
            "outer_diameter_mm": outer,
            "inner_diameter_mm": inner,
            "thickness_mm": 1.0,
            "key_diameter_mm": inner,
        }

    def loose() -> list[dict[str, Any]]:
        kind = str(rng.choice(["friction", "friction", "keyed", "eared"]))
        lining = kind == "friction"
        made = ring(kind, str(rng.choice(["carbon", "leather"] if lining else ["steel", "brass"])))
        if lining and rng.random() < 0.15:
            made["tie"] = str(rng.choice(["gear", "sleeve"]))
        extra = rng.random()
        if extra < 0.12:
            return [made, ring("spring", "steel")]
        if extra < 0.24:
            return [made, ring("spacer", "brass")]
        return [made]

    count = int(rng.integers(3, 7))
    bodies = [piece for _ in range(count) for piece in loose()]
    under = int(rng.integers(0, 3))
    bodies = [ring("flange", "steel"), *bodies[:under], ring("gear", "brass"), *bodies[under:], ring("cap", "steel")]
    ties = {"gear": "gear", "eared": "gear", "flange": "sleeve", "keyed": "sleeve", "cap": "sleeve"}
    for below, above in pairwise(bodies):
        sides = {body.get("tie", ties.get(body["kind"], "")) for body in (below, above)}
        lined = "friction" in {below["kind"], above["kind"]}
        if lined and rng.random() < 0.25 and sides != {"gear", "sleeve"} and not below.get("bonded"):
            above["bonded"] = True
    named = [{"name": f"{number} {body['kind']}", **body} for number, body in enumerate(bodies)]
    try:
        return stack_from_dict({"bodies": named, "key_friction": float(rng.choice([0.0, 0.0, 0.15]))})
    except InputError:
        return random_stack(rng)


@pytest.mark.sampled
def test_no_order_that_can_be_built_holds_more_than_the_right_one(figure: Figure) -> None:
    rng, number = np.random.default_rng(31), cases(60, 4000)
    mended = 0
    for _ in range(number):
        stack = random_stack(rng)
        now, _ = held_and_bare(stack)
        tried = [held_and_bare(order) for order in every_order(stack)]
        least = min(bare for _, bare in tried)
        most = max(held for held, bare in tried if bare == least)
        found = right_order(stack, lookup)
        held, bare = held_and_bare(stack.in_order(found.places))
        assert found.proven
        if most > now * (1 + 1e-9):
            assert held == pytest.approx(most, rel=1e-9) and bare == least
            assert found.share_lost == pytest.approx(1 - now / held, abs=1e-12)
            mended += 1
        else:
            assert found.share_lost == 0 and found.places == tuple(range(len(stack.bodies)))
        for place, body in enumerate(stack.bodies):
            if body.bonded:
                assert found.places.index(place) == found.places.index(place - 1) + 1
    assert mended > number / 5
    figure(
        "random stacks with springs, spacers and glued pieces: right order against every order", number, "all", "all"
    )
