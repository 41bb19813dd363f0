"""Clamp force from thread, springs and lever: properties, and what cannot be pressed is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.drag.clamp import (
    Thread,
    clamp_from_torque,
    force_from_torque_N,
    pitch_radius_m,
    tightening_Nm_per_N,
)
from levelwind.core.drag.lever import Cam, finest_lever_step_N, force_at_lever_N, lift_m
from levelwind.core.drag.springs import (
    DiscSpring,
    SpringPack,
    disc_force_N,
    finest_step_N,
    force_against_turns_N,
    pack_force,
    pack_force_N,
    turns_to_flat,
)
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

STAR = Thread(0.0044, 1.0e-3, 30.0, 0.0065)
SPRING = DiscSpring(16e-3, 8.2e-3, 0.6e-3, 0.45e-3)
PACK = SpringPack(SPRING, parallel=1, series=3)


@given(st.floats(0.0, 5.0), st.floats(0.02, 0.3), st.floats(0.0, 0.3))
def test_force_and_torque_are_inverse_and_linear(torque: float, mu: float, collar: float) -> None:
    force = force_from_torque_N(STAR, torque, mu, collar)
    assert force * tightening_Nm_per_N(STAR, mu, collar) == pytest.approx(torque, rel=1e-12)
    assert force_from_torque_N(STAR, 2 * torque, mu, collar) == pytest.approx(2 * force, rel=1e-12)


def test_without_friction_the_screw_gives_back_all_work() -> None:
    """2 pi T = F l: the work of a turn is the force times the lead."""
    assert 2 * np.pi * tightening_Nm_per_N(STAR, 0.0) == pytest.approx(STAR.lead_m, rel=1e-12)


def test_an_uncertain_hand_gives_an_uncertain_clamp() -> None:
    hand, mu = Quantity(0.6, 0.4, 0.9), Quantity(0.15, 0.10, 0.20)
    force = clamp_from_torque(STAR, hand, mu, mu, np.random.default_rng(1))
    assert force.low < force.value < force.high
    # At least as wide as the hand alone.
    assert force.high / force.low > 0.9 * 0.9 / 0.4


def test_pitch_radius_of_iso_threads() -> None:
    """ISO 724: M6 has a pitch diameter of 5.350 mm, M10 of 9.026 mm (figures from memory)."""
    assert 2000 * pitch_radius_m(6e-3, 1e-3) == pytest.approx(5.350, abs=5e-4)
    assert 2000 * pitch_radius_m(10e-3, 1.5e-3) == pytest.approx(9.026, abs=5e-4)


@given(st.integers(1, 6), st.integers(1, 6), st.floats(0.01, 1.0))
def test_parallel_adds_force_and_series_shares_the_way(parallel: int, series: int, share: float) -> None:
    pack = SpringPack(SPRING, parallel, series)
    pressed = share * SPRING.cone_height_m
    assert pack_force_N(pack, series * pressed) == pytest.approx(parallel * disc_force_N(SPRING, pressed), rel=1e-9)
    assert pack.travel_m == pytest.approx(series * SPRING.cone_height_m)


def test_force_against_turns_rises_from_nothing_to_flat() -> None:
    turns = np.linspace(0.0, turns_to_flat(PACK, 1.0e-3), 40)
    force = force_against_turns_N(PACK, turns, 1.0e-3)
    assert force[0] == 0
    assert np.all(np.diff(force) > 0)
    assert pack_force(PACK, 1.0e-3).value == pytest.approx(force_against_turns_N(PACK, 1.0, 1.0e-3))


def test_finest_step_is_the_slope_times_five_degrees() -> None:
    """Against a derivative by differences a hundred times finer; the step is 1/72 turn."""
    near = force_against_turns_N(PACK, np.array([0.5 - 5e-5, 0.5 + 5e-5]), 1.0e-3)
    assert finest_step_N(PACK, 0.5, 1.0e-3) == pytest.approx((near[1] - near[0]) / 1e-4 * 5 / 360, rel=1e-3)


def test_a_lever_lifts_through_the_gap_before_it_presses() -> None:
    cam = Cam((0.0, 30.0, 90.0), (0.0, 0.4e-3, 1.2e-3), gap_m=0.4e-3)
    force = force_at_lever_N(cam, PACK, np.array([0.0, 15.0, 30.0, 60.0, 90.0]))
    assert force[:3].tolist() == [0.0, 0.0, 0.0]
    assert force[4] == pytest.approx(pack_force_N(PACK, 0.8e-3))
    assert lift_m(cam, 60.0) == pytest.approx(0.8e-3)


def test_finest_step_of_a_lever_is_that_of_the_turn_it_lifts_like() -> None:
    """A cam that lifts a thread's lead in a turn sets as finely as the thread."""
    cam = Cam((0.0, 360.0), (0.0, 1.0e-3))
    assert finest_lever_step_N(cam, PACK, 180.0) == pytest.approx(finest_step_N(PACK, 0.5, 1.0e-3), rel=1e-9)


def test_finest_step_at_the_end_of_the_lever_looks_one_way() -> None:
    cam = Cam((0.0, 90.0), (0.0, 0.9e-3))
    assert finest_lever_step_N(cam, PACK, 0.0) == pytest.approx(2 * float(force_at_lever_N(cam, PACK, 2.5)), rel=1e-9)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Thread(0.0, 1e-3), "pitch diameter of the thread was 0 mm"),
        (lambda: Thread(0.001, 0.01), "lead of the thread was 10 mm"),
        (lambda: Thread(0.004, 1e-3, 60.0), "half angle of the thread was 60 degrees"),
        (lambda: Thread(0.004, 1e-3, 30.0, -1.0), "collar diameter was -2000 mm"),
        (lambda: force_from_torque_N(STAR, -1.0, 0.1), "torque on the star was -1.0; allowed is 0 N m or more"),
        (lambda: tightening_Nm_per_N(STAR, -0.1), "friction of the thread was -0.1"),
        (lambda: tightening_Nm_per_N(Thread(0.002, 0.006), 3.0), "less than would lock this lead"),
        (lambda: DiscSpring(8e-3, 9e-3, 0.4e-3, 0.2e-3), "inner diameter of the spring was 9 mm"),
        (lambda: DiscSpring(8e-3, 4e-3, -0.4e-3, 0.2e-3), "thickness of the spring was -0.4 mm"),
        (lambda: DiscSpring(8e-3, 4e-3, 1e-300, 0.2e-3), "thickness of the spring was 1e-297 mm; allowed is from 0.05"),
        (lambda: DiscSpring(8e-3, 4e-3, 0.4e-3, 0.0), "cone height of the spring was 0 mm"),
        (lambda: SpringPack(SPRING, parallel=0), "discs in parallel was 0"),
        (lambda: SpringPack(SPRING, edge_friction=0.6), "friction of the springs"),
        (
            lambda: pack_force_N(PACK, 1.5e-3),
            "deflection of a disc spring was 0.5 mm; allowed is from 0 to 0.45 mm, where the spring is flat",
        ),
        (lambda: pack_force_N(PACK, -0.1e-3), "deflection of a disc spring"),
        (lambda: turns_to_flat(PACK, 0.0), "lead of the thread was 0 mm"),
        (lambda: finest_step_N(PACK, 2.0, 1e-3), "turns of the star was 2.0; allowed is over 0 and under 1.35"),
        (lambda: Cam((0.0,), (0.0,)), "points of the cam"),
        (lambda: Cam((0.0, 10.0), (1e-3, 0.0)), "angles that rise and lifts that do not fall"),
        (lambda: Cam((0.0, 10.0), (0.0, float("nan"))), "points of the cam"),
        (lambda: lift_m(Cam((0.0, 90.0), (0.0, 1e-3)), 120.0), "angle of the lever was 120 degrees"),
    ],
)
def test_what_cannot_be_clamped_is_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
