"""A wrong order is found by computing, with its cost and its cure."""

from itertools import pairwise

import numpy as np
import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.model import Coefficient, Lookup, Stack
from levelwind.core.drag.order import Order, right_order
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.torque import torque_Nm
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from tests.core.drag.stacks import THREE_BETWEEN_ALTERNATE_PLATES, body, stack

LINING = 0.20


def metal(mu: float) -> Lookup:
    """What metal holds on metal, which the stacks here do not say themselves."""
    return lambda one, other, condition: Coefficient(Quantity.exact(mu), "made up")


def held_Nm(built: Stack, lookup: Lookup | None = None) -> float:
    return torque_Nm(built, find_contacts(built, lookup), 1.0, Assumption.WEAR)


def test_the_right_order_is_left_alone() -> None:
    assert right_order(stack(*THREE_BETWEEN_ALTERNATE_PLATES)) == Order(tuple(range(7)), 0.0, ())


def test_two_washers_together_cost_one_of_three_and_the_cure_is_shown() -> None:
    """Three faces of 0.2 where two slipped, and the eared washer on the cap, metal on metal, of 0.05."""
    wrong = stack("gear", "friction", "keyed", "friction", "friction", "eared", "cap")
    order = right_order(wrong, metal(0.05))
    assert order.share_lost == pytest.approx(1 - (2 * LINING + 0.05) / (3 * LINING), rel=1e-12)
    cured = wrong.in_order(order.places)
    assert [b.kind.value for b in cured.bodies] == ["gear", "friction", "keyed", "friction", "eared", "friction", "cap"]
    assert order.share_lost == pytest.approx(1 - held_Nm(wrong, metal(0.05)) / held_Nm(cured, metal(0.05)), rel=1e-12)


def test_no_order_is_advised_that_holds_less_than_metal_on_metal_does() -> None:
    """Two faces of 0.2 and one of metal, of 0.5, hold more than three of 0.2: the advice would make the drag weaker."""
    rubbing = stack("gear", "friction", "keyed", "friction", "friction", "eared", "cap")
    assert right_order(rubbing, metal(0.5)) == Order(tuple(range(7)), 0.0, ())


def test_a_spring_is_not_made_to_hold() -> None:
    """With the eared washer on top the spring under the cap would slip, metal on metal, and hold more than a lining."""
    built = stack("gear", "friction", "keyed", "friction", "eared", "friction", "keyed", "spring", "cap")
    assert right_order(built, metal(0.9)).share_lost == 0


def test_a_plate_on_the_wrong_side_leaves_a_washer_idle() -> None:
    wrong = stack("gear", "friction", "eared", "friction", "keyed", "friction", "cap")
    order = right_order(wrong)
    # gear-eared carries nothing, eared-keyed one, keyed-cap nothing: one of three is left.
    assert order.share_lost == pytest.approx(2 / 3, rel=1e-12)
    assert order.idle == (1, 5)
    cured = wrong.in_order(order.places)
    assert torque_Nm(cured, find_contacts(cured), 1.0, Assumption.WEAR) == pytest.approx(
        3 * torque_Nm(wrong, find_contacts(wrong), 1.0, Assumption.WEAR), rel=1e-12
    )


def test_washers_under_the_gear_stay_under_it() -> None:
    order = right_order(
        stack("flange", "friction", "gear", "friction", "friction", "keyed", "eared", "cap"), metal(0.1)
    )
    assert order.places[:3] == (0, 1, 2)


def test_metal_rubbing_on_metal_is_never_the_cure() -> None:
    built = stack("gear", "friction", body("keyed", friction=0.9), body("eared", friction=0.9), "friction", "cap")
    order = right_order(built)
    cured = built.in_order(order.places).bodies
    rubbing = [(a, b) for a, b in pairwise(cured) if "friction" not in {a.kind.value, b.kind.value}]
    assert all(a.tie == b.tie for a, b in rubbing) or order.share_lost == 0.0


def test_a_lining_bonded_to_its_plate_moves_with_it() -> None:
    lined = stack("gear", body("keyed", name="plate"), body("friction", bonded=True), "eared", "friction", "cap")
    order = right_order(lined, metal(0.1))
    assert order.places.index(2) == order.places.index(1) + 1


@pytest.mark.parametrize("glued", ["lining", "gear"])
def test_a_lining_bonded_to_the_gear_is_not_torn_off(glued: str) -> None:
    """Off the gear it would slip on both faces, one more than now."""
    lining = body("friction", name="lining", bonded=glued == "lining")
    gear = body("gear", bonded=glued == "gear")
    pair = [gear, lining] if glued == "lining" else [lining, gear]
    built = stack("flange", *pair, body("keyed"), "eared", "friction", "cap")
    order = right_order(built, metal(0.1))
    assert order.places[1:3] == (1, 2)


def test_a_small_washer_is_not_put_where_it_would_miss_its_neighbour() -> None:
    small = body("friction", outer_diameter_mm=14.0, inner_diameter_mm=6.0)
    narrow = body("keyed", inner_diameter_mm=16.0)
    order = right_order(stack("gear", small, body("eared"), "friction", narrow, "friction", "cap"))
    assert abs(order.places.index(1) - order.places.index(4)) > 1


def test_the_best_order_is_not_one_in_which_two_washers_miss() -> None:
    """Carbon, then the narrow plate, then the small washer idle would pull hardest, but the last two do not touch."""
    small = body("friction", name="small", outer_diameter_mm=14.0, inner_diameter_mm=6.0)
    narrow = body("keyed", inner_diameter_mm=16.0)
    order = right_order(stack("gear", small, "friction", narrow, "cap"))
    assert order == Order((0, 1, 2, 3, 4), 0.0, ())


def test_ten_different_washers_are_no_longer_too_many() -> None:
    many = [body("friction", friction=0.1 + 0.01 * i) for i in range(10)]
    assert right_order(stack("gear", *many, "cap")) == Order(tuple(range(12)), 0.0, ())


def test_of_too_many_orders_the_best_of_those_tried_is_given_as_no_more_than_that() -> None:
    rng = np.random.default_rng(5)
    kinds = ["friction", "keyed", "friction", "eared"] * 5
    many = [
        body(kind, outer_diameter_mm=float(outer)) for kind, outer in zip(kinds, rng.uniform(20, 26, 20), strict=True)
    ]
    built = stack("gear", *(many[place] for place in rng.permutation(20)), "cap")
    order = right_order(built, metal(0.1))
    assert not order.proven and order.share_lost > 0
    cured = built.in_order(order.places)
    assert order.share_lost == pytest.approx(1 - held_Nm(built, metal(0.1)) / held_Nm(cured, metal(0.1)), rel=1e-12)


def test_a_washer_of_unknown_friction_is_refused() -> None:
    with pytest.raises(InputError, match="friction between"):
        right_order(stack("gear", {**body("friction"), "friction": None}, "cap"))
