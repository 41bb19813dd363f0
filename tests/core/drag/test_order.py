"""A wrong order is found by computing, with its cost and its cure."""

from itertools import pairwise

import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.order import Order, right_order
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.torque import torque_Nm
from levelwind.core.errors import InputError
from tests.core.drag.stacks import THREE_BETWEEN_ALTERNATE_PLATES, body, stack


def test_the_right_order_is_left_alone() -> None:
    assert right_order(stack(*THREE_BETWEEN_ALTERNATE_PLATES)) == Order(tuple(range(7)), 0.0, ())


def test_two_washers_together_cost_a_third_and_the_cure_is_shown() -> None:
    wrong = stack("gear", "friction", "keyed", "friction", "friction", "eared", "cap")
    order = right_order(wrong)
    assert order is not None
    assert order.share_lost == pytest.approx(1 / 3, rel=1e-12)
    cured = [b.kind.value for b in wrong.in_order(order.places).bodies]
    assert cured == ["gear", "friction", "keyed", "friction", "eared", "friction", "cap"]


def test_a_plate_on_the_wrong_side_leaves_a_washer_idle() -> None:
    wrong = stack("gear", "friction", "eared", "friction", "keyed", "friction", "cap")
    order = right_order(wrong)
    assert order is not None
    # gear-eared carries nothing, eared-keyed one, keyed-cap nothing: one of three is left.
    assert order.share_lost == pytest.approx(2 / 3, rel=1e-12)
    assert order.idle == (1, 5)
    cured = wrong.in_order(order.places)
    assert torque_Nm(cured, find_contacts(cured), 1.0, Assumption.WEAR) == pytest.approx(
        3 * torque_Nm(wrong, find_contacts(wrong), 1.0, Assumption.WEAR), rel=1e-12
    )


def test_washers_under_the_gear_stay_under_it() -> None:
    order = right_order(stack("flange", "friction", "gear", "friction", "friction", "keyed", "eared", "cap"))
    assert order is not None
    assert order.places[:3] == (0, 1, 2)


def test_metal_rubbing_on_metal_is_never_the_cure() -> None:
    built = stack("gear", "friction", body("keyed", friction=0.9), body("eared", friction=0.9), "friction", "cap")
    order = right_order(built)
    assert order is not None
    cured = built.in_order(order.places).bodies
    rubbing = [(a, b) for a, b in pairwise(cured) if "friction" not in {a.kind.value, b.kind.value}]
    assert all(a.tie == b.tie for a, b in rubbing) or order.share_lost == 0.0


def test_a_lining_bonded_to_its_plate_moves_with_it() -> None:
    lined = stack("gear", body("keyed", name="plate"), body("friction", bonded=True), "eared", "friction", "cap")
    order = right_order(lined)
    assert order is not None
    assert order.places.index(2) == order.places.index(1) + 1


def test_a_small_washer_is_not_put_where_it_would_miss_its_neighbour() -> None:
    small = body("friction", outer_diameter_mm=14.0, inner_diameter_mm=6.0)
    narrow = body("keyed", inner_diameter_mm=16.0)
    order = right_order(stack("gear", small, body("eared"), "friction", narrow, "friction", "cap"))
    assert order is not None
    assert abs(order.places.index(1) - order.places.index(4)) > 1


def test_the_best_order_is_not_one_in_which_two_washers_miss() -> None:
    """Carbon, then the narrow plate, then the small washer idle would pull hardest, but the last two do not touch."""
    small = body("friction", name="small", outer_diameter_mm=14.0, inner_diameter_mm=6.0)
    narrow = body("keyed", inner_diameter_mm=16.0)
    order = right_order(stack("gear", small, "friction", narrow, "cap"))
    assert order == Order((0, 1, 2, 3, 4), 0.0, ())


def test_too_many_different_washers_give_no_answer_rather_than_a_guess() -> None:
    many = [body("friction", friction=0.1 + 0.01 * i) for i in range(10)]
    assert right_order(stack("gear", *many, "cap")) is None


def test_a_washer_of_unknown_friction_is_refused() -> None:
    with pytest.raises(InputError, match="friction between"):
        right_order(stack("gear", {**body("friction"), "friction": None}, "cap"))
