"""Disc clutches worked in textbooks: what a drag stack is, at another size.

Numbers and tolerances are those of the printed answers (half a unit of the last figure printed, unless the example says
otherwise). R. S. Khurmi and J. K. Gupta, Theory of Machines; U. C. Jindal, Machine Design; T. H. Wentzell, Machine
Design: each test names its example. Read as the printed outputs of the textbook companions (docs/sources.md).
"""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from levelwind.core.drag.chain import runs, torque_per_N
from levelwind.core.drag.rings import Assumption, friction_radius_m

RPM = 2 * np.pi / 60
POUND_INCHES_PER_HP = 63025.0
"""T = 63025 P / N in lb in, hp and rpm, as Wentzell rounds it."""


def clutch_torque_Nm(
    pairs: int, mu: float, force_N: float, inner_m: float, outer_m: float, assumption: Assumption
) -> float:
    """A clutch of driving and driven plates in turn is a chain of bodies tied to either side in turn."""
    sides = [1 if place % 2 == 0 else -1 for place in range(pairs + 1)]
    return float(force_N * torque_per_N(sides, np.full(pairs, mu), inner_m, outer_m, assumption))


def face_torque_Nm(mu: float, force_N: float, inner_m: float, outer_m: float, assumption: Assumption) -> float:
    """T = mu W R of one pair of faces."""
    return float(mu * force_N * friction_radius_m(inner_m, outer_m, assumption))


def force_at_pressure_N(pressure_Pa: float, inner_m: float, outer_m: float, assumption: Assumption) -> float:
    """Force at which the greatest pressure is this: p pi (ro^2 - ri^2), or worn 2 pi p ri (ro - ri)."""
    mean = outer_m + inner_m if assumption is Assumption.PRESSURE else 2 * inner_m
    return float(pressure_Pa * np.pi * mean * (outer_m - inner_m))


def pressures_Pa(force_N: float, inner_m: float, outer_m: float) -> tuple[float, float, float]:
    """Least, mean and greatest on a worn ring, p r = W / (2 pi (ro - ri))."""
    along = force_N / (2 * np.pi * (outer_m - inner_m))
    return along / outer_m, force_N / (np.pi * (outer_m**2 - inner_m**2)), along / inner_m


def test_pressures_on_a_worn_plate() -> None:
    """Khurmi and Gupta, example 10.22, p. 302."""
    least, mean, greatest = (p / 1e6 for p in pressures_Pa(4000.0, 0.050, 0.100))
    assert greatest == pytest.approx(0.2546, abs=5e-5)
    assert least == pytest.approx(0.1273, abs=5e-5)
    assert mean == pytest.approx(0.17, abs=0.005)


def test_single_plate_effective_on_both_sides() -> None:
    """Khurmi and Gupta, example 10.23, p. 303."""
    force = force_at_pressure_N(0.1e6, 0.100, 0.150, Assumption.WEAR)
    torque = clutch_torque_Nm(2, 0.3, float(force), 0.100, 0.150, Assumption.WEAR)
    assert torque * 2500 * RPM / 1000 == pytest.approx(61.685, abs=0.001)


def test_four_pairs_of_faces() -> None:
    """Khurmi and Gupta, example 10.28, p. 308."""
    force = force_at_pressure_N(0.127e6, 0.075, 0.125, Assumption.WEAR)
    torque = clutch_torque_Nm(4, 0.3, float(force), 0.075, 0.125, Assumption.WEAR)
    assert torque * 500 * RPM / 1000 == pytest.approx(18.8, abs=0.05)


def test_three_driving_and_two_driven_discs() -> None:
    """Khurmi and Gupta, example 10.29, p. 308: D + d - 1 pairs, and the greatest pressure."""
    pairs = sum(run.carries for run in runs([1, -1, 1, -1, 1]))
    assert pairs == 4
    needed = 25_000 / (1575 * RPM)
    force = needed / clutch_torque_Nm(pairs, 0.3, 1.0, 0.060, 0.120, Assumption.WEAR)
    assert pressures_Pa(force, 0.060, 0.120)[2] / 1e6 == pytest.approx(0.062, abs=0.0005)


def test_the_same_clutch_worn() -> None:
    """Khurmi and Gupta, example 10.30, p. 309: eight faces worn 1.25 mm relax six springs of 13 kN/m."""
    force = 25_000 / (1575 * RPM) / clutch_torque_Nm(4, 0.3, 1.0, 0.060, 0.120, Assumption.PRESSURE)
    assert force == pytest.approx(1353, abs=1)
    worn = force - 6 * 13_000 * 8 * 1.25e-3
    power_kW = clutch_torque_Nm(4, 0.3, worn, 0.060, 0.120, Assumption.WEAR) * 1575 * RPM / 1000
    assert power_kW == pytest.approx(10.21, abs=0.01)


def test_thrust_collar_by_both_theories() -> None:
    """Khurmi and Gupta, example 10.19, p. 295."""
    powers = {t: float(face_torque_Nm(0.12, 100e3, 0.150, 0.300, t)) * 90 * RPM / 1000 for t in Assumption}
    assert powers[Assumption.PRESSURE] == pytest.approx(26.4, abs=0.05)
    assert powers[Assumption.WEAR] == pytest.approx(25.45, abs=0.01)


def test_sizing_a_plate() -> None:
    """Khurmi and Gupta, example 10.24, p. 303: torque grows as the cube of the size."""
    needed = 25_000 / (3000 * RPM)
    force_at_1_m = float(force_at_pressure_N(0.1e6, 1.0, 1.25, Assumption.WEAR))
    inner = (needed / clutch_torque_Nm(2, 0.255, force_at_1_m, 1.0, 1.25, Assumption.WEAR)) ** (1 / 3)
    assert 1250 * inner == pytest.approx(120, abs=0.5)
    assert 1000 * inner == pytest.approx(96, abs=0.5)
    assert force_at_1_m * inner**2 == pytest.approx(1446, abs=3)


def test_plate_with_one_face_counted() -> None:
    """Jindal, example 22-1, p. 588. The book counts one face for torque."""
    force = force_at_pressure_N(0.1e6, 0.070, 0.110, Assumption.WEAR)
    assert force == pytest.approx(1759.3, abs=0.1)
    torque = clutch_torque_Nm(1, 0.28, float(force), 0.070, 0.110, Assumption.WEAR)
    assert torque == pytest.approx(44.33, abs=0.01)
    assert torque * 300 * RPM == pytest.approx(1393, abs=1)


def test_six_pairs_by_uniform_pressure() -> None:
    """Jindal, example 22-5, p. 591."""
    torque = 15_000 / (1400 * RPM)
    assert torque == pytest.approx(102.314, abs=0.001)
    force = torque / clutch_torque_Nm(6, 0.25, 1.0, 0.050, 0.080, Assumption.PRESSURE)
    assert force == pytest.approx(1031.1, abs=0.1)
    pressure = force / float(force_at_pressure_N(1.0, 0.050, 0.080, Assumption.PRESSURE))
    assert pressure / 1e6 == pytest.approx(0.084, abs=0.0005)


def test_faces_needed_by_wear() -> None:
    """Jindal, example 22-6, p. 592: mean radius 50 mm and ri / ro = 0.6 give the ring."""
    torque = 5_000 / (1000 * RPM)
    assert torque == pytest.approx(47.746, abs=0.001)
    outer = 0.050 / float(friction_radius_m(0.6, 1.0, Assumption.WEAR))
    assert (600 * outer, 1000 * outer) == pytest.approx((37.5, 62.5), abs=0.01)
    force = float(force_at_pressure_N(0.3e6, 0.6 * outer, outer, Assumption.PRESSURE))
    faces = torque / clutch_torque_Nm(1, 0.1, force, 0.6 * outer, outer, Assumption.WEAR)
    assert faces == pytest.approx(4, abs=0.1)
    assert pressures_Pa(force, 0.6 * outer, outer)[2] / 1e6 == pytest.approx(0.4, abs=1e-9)


def test_clutch_in_inches() -> None:
    """Wentzell, example 16.1, p. 358. The torque is linear, so pounds and inches pass through unchanged."""
    torque_lb_in = float(face_torque_Nm(0.3, 120.0, 9.0, 12.0, Assumption.WEAR))
    assert torque_lb_in == pytest.approx(378, abs=0.01)
    assert torque_lb_in * 2000 / POUND_INCHES_PER_HP == pytest.approx(12, abs=0.01)


def test_best_inner_radius_and_the_two_theories_apart() -> None:
    """Derived: T ~ ri (ro^2 - ri^2) peaks at ri / ro = 1 / sqrt 3; Jindal, example 22-4, prints 0.577."""

    def lost(inner: float) -> float:
        force = force_at_pressure_N(1.0, inner, 1.0, Assumption.WEAR)
        return -float(face_torque_Nm(1.0, float(force), inner, 1.0, Assumption.WEAR))

    best = minimize_scalar(lost, bounds=(0.1, 0.9), method="bounded", options={"xatol": 1e-9}).x
    assert best == pytest.approx(0.5773502692, abs=1e-6)
    ratio = friction_radius_m(0.5, 1.0, Assumption.PRESSURE) / friction_radius_m(0.5, 1.0, Assumption.WEAR)
    assert ratio == pytest.approx(1.037037, abs=1e-6)
