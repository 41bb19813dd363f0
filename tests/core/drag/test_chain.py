"""What a chain carries: counted by hand, by symmetry, and against a general max-flow."""

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.drag.chain import carried_torque_Nm, clamp_shares, runs, sides, slipping_surfaces, torque_per_N
from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.rings import Assumption
from levelwind.core.drag.torque import idle_bodies, torque_Nm
from levelwind.core.errors import InputError
from tests.conftest import Figure
from tests.core.drag.stacks import THREE_BETWEEN_ALTERNATE_PLATES, body, stack
from tests.full_size import cases

CHAINS = st.integers(2, 12).flatmap(
    lambda n: st.tuples(
        st.lists(st.sampled_from([1, -1, 0]), min_size=n, max_size=n),
        st.lists(st.floats(0.0, 50.0), min_size=n - 1, max_size=n - 1),
    )
)


def by_max_flow(side: list[int], capacity: list[float]) -> float:
    graph = nx.Graph()
    graph.add_nodes_from(["gear", "sleeve"])
    names = [{1: "gear", -1: "sleeve"}.get(s, f"floating {i}") for i, s in enumerate(side)]
    for below, above, most in zip(names, names[1:], capacity, strict=False):
        if below != above:
            already = graph.get_edge_data(below, above, {"capacity": 0.0})["capacity"]
            graph.add_edge(below, above, capacity=already + most)
    return float(nx.maximum_flow_value(graph, "gear", "sleeve"))


@pytest.mark.sampled
def test_chain_is_the_max_flow_of_random_stacks(figure: Figure) -> None:
    rng, number = np.random.default_rng(20), cases(100, 500)
    for _ in range(number):
        n = int(rng.integers(2, 14))
        side = rng.choice([1, -1, 0], n)
        capacity = rng.uniform(0.0, 10.0, n - 1)
        # Two floating-point sums of the same numbers in another order.
        assert carried_torque_Nm(side, capacity) == pytest.approx(
            by_max_flow(list(side), list(capacity)), rel=1e-12, abs=1e-12
        )
    figure("random stacks whose torque is a general max-flow's", number, "all", "all")


def test_three_washers_between_alternate_plates_are_three_not_six() -> None:
    built = stack(*THREE_BETWEEN_ALTERNATE_PLATES)
    one_surface = 0.20 * 100.0 * 0.0085
    assert torque_Nm(built, find_contacts(built), 100.0, Assumption.WEAR) == pytest.approx(3 * one_surface, rel=1e-12)


def test_washers_under_the_gear_count() -> None:
    built = stack("flange", "friction", "gear", "friction", "cap")
    assert torque_Nm(built, find_contacts(built), 100.0, Assumption.WEAR) == pytest.approx(
        2 * 0.20 * 100 * 0.0085, rel=1e-12
    )


def test_a_washer_between_two_plates_of_one_side_is_idle_and_adds_nothing() -> None:
    wrong = stack("gear", "friction", "keyed", "friction", body("keyed", name="second keyed"), "spring", "cap")
    # The second friction washer, and the keyed plate above it.
    assert idle_bodies(wrong) == (3, 4)
    known = [s for s in runs(sides(wrong)) if s.carries]
    assert [(run.first, run.last) for run in known] == [(0, 1)]


def test_washer_on_washer_counts_the_lower_coefficient() -> None:
    pair = stack("gear", body("friction", friction=0.3), body("friction", friction=0.1), "cap")
    assert [s.coefficient.mu.value for s in find_contacts(pair) if s.coefficient] == [0.3, 0.1, 0.1]


def test_bonded_faces_do_not_slip_and_the_free_face_does() -> None:
    free = body("friction", friction=0.1)
    bonded = stack("gear", free, body("friction", bonded=True, friction=0.4), "cap")
    # Washer on washer counts the lower coefficient at the gear (0.1); the top face has 0.4; the middle is bonded.
    assert torque_Nm(bonded, find_contacts(bonded), 100.0, Assumption.WEAR) == pytest.approx(
        0.1 * 100 * 0.0085, rel=1e-12
    )


def test_gear_bonded_to_the_sleeve_is_refused() -> None:
    locked = stack("gear", body("keyed", bonded=True))
    with pytest.raises(InputError, match="bonded together"):
        torque_Nm(locked, find_contacts(locked), 100.0, Assumption.WEAR)


@given(CHAINS, st.floats(0.01, 100.0))
def test_linear_in_what_the_surfaces_carry(chain: tuple[list[int], list[float]], factor: float) -> None:
    side, capacity = chain
    once = carried_torque_Nm(side, np.array(capacity))
    assert carried_torque_Nm(side, factor * np.array(capacity)) == pytest.approx(factor * once, rel=1e-12, abs=1e-300)


@given(CHAINS)
def test_turning_the_stack_round_or_swapping_the_sides_changes_nothing(chain: tuple[list[int], list[float]]) -> None:
    side, capacity = chain
    torque = carried_torque_Nm(side, np.array(capacity))
    assert carried_torque_Nm(side[::-1], np.array(capacity[::-1])) == pytest.approx(torque, rel=1e-12, abs=1e-12)
    assert carried_torque_Nm([-s for s in side], np.array(capacity)) == torque


@given(st.lists(st.lists(st.floats(0.0, 50.0), min_size=1, max_size=4), min_size=1, max_size=6), st.randoms())
def test_the_order_of_stretches_and_of_what_floats_in_them_changes_nothing(stretches: list[list[float]], dice) -> None:
    """Alternate plates with linings between them: the weakest face of each stretch counts, wherever either stands."""

    def carried() -> float:
        side = [1]
        for number, faces in enumerate(stretches):
            side += [0] * (len(faces) - 1) + [-1 if number % 2 == 0 else 1]
        return float(carried_torque_Nm(side, [most for faces in stretches for most in faces]))

    before = carried()
    assert before == pytest.approx(sum(map(min, stretches)), rel=1e-12)
    dice.shuffle(stretches)
    for faces in stretches:
        dice.shuffle(faces)
    assert carried() == pytest.approx(before, rel=1e-12)


@given(CHAINS)
def test_the_slipping_surfaces_add_up_to_the_torque(chain: tuple[list[int], list[float]]) -> None:
    side, capacity = chain
    slipping = slipping_surfaces(side, np.array(capacity))
    assert sum(capacity[s] for s in slipping) == pytest.approx(carried_torque_Nm(side, np.array(capacity)), abs=1e-12)


def test_many_stacks_in_one_call_are_the_same_as_one_by_one() -> None:
    rng = np.random.default_rng(3)
    side = rng.choice([1, -1, 0], (200, 9))
    capacity = rng.uniform(0, 5, (200, 8))
    each = [carried_torque_Nm(s, c) for s, c in zip(side, capacity, strict=True)]
    assert carried_torque_Nm(side, capacity) == pytest.approx(np.array(each), rel=0)


def test_keys_take_clamp_force_from_the_plates_below_them_only() -> None:
    mu, side = np.array([0.2, 0.2, 0.2, 0.2]), [1, 0, -1, 0, 1]
    free = torque_per_N(side, mu, 0.005, 0.012, Assumption.WEAR)
    keyed = torque_per_N(side, mu, 0.005, 0.012, Assumption.WEAR, 0.15, [None, None, 0.006, None, None])
    # By hand: a = b = 0.2 * 0.0085; below the key F' = F (1 - f a / r) / (1 + f a / r).
    bite = 0.15 * 0.2 * 0.0085 / 0.006
    assert keyed == pytest.approx(free / 2 * (1 + (1 - bite) / (1 + bite)), rel=1e-12)


def test_a_key_that_would_lock_leaves_no_force_rather_than_a_negative_one() -> None:
    shares = clamp_shares([1, -1, 1], np.array([0.01, 0.01]), 1.0, [None, 0.001, None])
    assert shares.tolist() == [0.0, 1.0]


def test_one_surface_too_many_is_refused() -> None:
    with pytest.raises(InputError, match="number of surfaces"):
        carried_torque_Nm([1, 0, -1], np.zeros(3))
