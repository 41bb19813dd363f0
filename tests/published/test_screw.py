"""Power screws and bolts worked in textbooks: a star on its thread, at another size.

J. E. Shigley, Mechanical Engineering Design (answers from memory); U. C. Jindal, Machine Design; T. H. Wentzell,
Machine Design; R. L. Mott, Machine Elements in Mechanical Design, 4th edition (read on a web page). Each test names its
example; read as the printed outputs of the textbook companions (docs/sources.md). Tolerances are half a unit
of the last figure printed, unless the test says otherwise.
"""

import numpy as np
import pytest

from levelwind.core.drag.clamp import Thread, force_from_torque_N, tightening_Nm_per_N
from levelwind.core.quantities import INCH


def screw(mean_mm: float, lead_mm: float, half_angle_deg: float = 0.0, collar_radius_mm: float = 0.0) -> Thread:
    return Thread(mean_mm / 2000, lead_mm / 1000, half_angle_deg, collar_radius_mm / 1000)


def lead_angle_deg(thread: Thread) -> float:
    """Without friction a unit of force takes r tan(lead angle)."""
    return float(np.degrees(np.arctan(tightening_Nm_per_N(thread, 0.0) / thread.pitch_radius_m)))


def efficiency(thread: Thread, mu: float, collar_mu: float = 0.0) -> float:
    """Share of the hand's work that goes into clamping: e = l / (2 pi T / F)."""
    return float(thread.lead_m / (2 * np.pi * tightening_Nm_per_N(thread, mu, collar_mu)))


def nut_factor(thread: Thread, major_diameter_m: float, mu: float, collar_mu: float) -> float:
    """K in T = K F d (Shigley, section 8-8)."""
    return float(tightening_Nm_per_N(thread, mu, collar_mu) / major_diameter_m)


def test_square_thread_double_start() -> None:
    """Shigley, example 8-1 (answers from memory)."""
    thread = screw(30, 8, 0, 20)
    assert 6400 * tightening_Nm_per_N(thread, 0.08, 0.08) == pytest.approx(26.18, abs=0.01)
    assert efficiency(thread, 0.08, 0.08) == pytest.approx(0.311, abs=0.0005)


def test_screw_with_collar() -> None:
    """Jindal, example 16-1, p. 450."""
    assert 20e3 * tightening_Nm_per_N(screw(27, 6, 0, 12), 0.2, 0.15) == pytest.approx(110.148, abs=0.001)


@pytest.mark.parametrize(
    ("mean_mm", "up", "up_tolerance"),
    [
        pytest.param(46.5, 186.879, 0.001, id="from the book's statement"),
        pytest.param(47.0, 187.49, 0.01, id="as printed, with 50 - 7/2 taken as whole numbers"),
    ],
)
def test_trapezoidal_thread_triple_start(mean_mm: float, up: float, up_tolerance: float) -> None:
    """Jindal, example 16-2, p. 451; the printed notebook rounds dm, and is met with its own dm."""
    thread = screw(mean_mm, 21, 15, 20)
    assert 20e3 * tightening_Nm_per_N(thread, 0.12, 0.15) == pytest.approx(up, abs=up_tolerance)


def test_trapezoidal_thread_efficiency() -> None:
    """Jindal, example 16-2, p. 451, recomputed with dm = 46.5 mm."""
    assert efficiency(screw(46.5, 21, 15, 20), 0.12, 0.15) == pytest.approx(0.35769, abs=5e-5)


def test_acme_thread_with_plain_and_rolling_collar() -> None:
    """Jindal, example 16-3, p. 452, recomputed with dm = 27.5 mm and the collar at 22.5 mm."""
    thread = screw(27.5, 5, 14.5, 22.5)
    assert 5e3 * tightening_Nm_per_N(thread, 0.15, 0.15) == pytest.approx(31.638, abs=0.001)
    assert efficiency(thread, 0.15, 0.15) == pytest.approx(0.12576, abs=5e-5)
    assert 5e3 * tightening_Nm_per_N(thread, 0.15, 0.02) == pytest.approx(17.013, abs=0.001)


def test_acme_thread_as_the_notebook_rounds_it() -> None:
    """Jindal, example 16-3: the printed notebook's dm = 28 mm and collar 22 mm give its printed answers."""
    thread = screw(28, 5, 14.5, 22)
    assert 5e3 * tightening_Nm_per_N(thread, 0.15, 0.15) == pytest.approx(31.456, abs=0.001)


def test_clamp_force_from_hand_torque() -> None:
    """Jindal, example 16-4, p. 453: the nearest published case to a hand on a star."""
    assert force_from_torque_N(screw(24, 8, 0, 31), 300 * 0.180, 0.12, 0.15) / 1000 == pytest.approx(7.299, abs=0.001)


def test_screw_in_inches() -> None:
    """Wentzell, examples 18.1 and 18.2, p. 399. Torque per force is a length, here in inches."""
    thread = screw(25.4 * 1.354, 25.4 / 3)
    inches = tightening_Nm_per_N(thread, 0.15) / INCH
    assert 2900 * inches == pytest.approx(453.68, abs=0.01)
    assert lead_angle_deg(thread) == pytest.approx(4.48, abs=0.005)
    assert 100 * efficiency(thread, 0.15) == pytest.approx(33.91, abs=0.01)


def test_acme_screw_in_inches() -> None:
    """Wentzell, example 18.3, p. 402."""
    thread = screw(25.4 * 1.375, 25.4 * 0.25, 14.5)
    assert 2900 * tightening_Nm_per_N(thread, 0.15) / INCH == pytest.approx(428.13, abs=0.01)
    assert lead_angle_deg(thread) == pytest.approx(3.31, abs=0.005)


def test_another_acme_screw_in_inches() -> None:
    """Mott, example problem 17-1: the inputs give 1814 lb in, the scanned page reads 1809."""
    thread = screw(25.4 * 1.3429, 25.4 * 0.25, 14.5)
    assert 12_500 * tightening_Nm_per_N(thread, 0.15) / INCH == pytest.approx(1809, abs=6)
    assert efficiency(thread, 0.15) == pytest.approx(0.275, abs=0.0015)


def test_bolt_torque_by_the_nut_factor() -> None:
    """Wentzell, examples 6.1 and 6.4, pp. 120 to 124: T = K F d, with K from a thread that has it.

    The friction that gives exactly K is found first, so that our K is what is being multiplied.
    """
    assert pytest.approx(24131.5, abs=0.1) == 0.85 * 0.334 * 85_000
    for factor, size_in, force_lb, torque_lb_in in (
        (0.2, 0.75, 0.85 * 0.334 * 85_000, 3619.73),
        (0.15, 1.25, 0.9 * 120_000 * 1.073, 21728.25),
    ):
        thread = screw(25.4 * size_in * 0.92, 25.4 * 0.1, 30.0, 25.4 * size_in * 0.625)
        low, high = 0.0, 0.5
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if nut_factor(thread, INCH * size_in, middle, middle) < factor else (low, middle)
        torque_Nm = force_lb * tightening_Nm_per_N(thread, low, low)
        assert torque_Nm / INCH == pytest.approx(torque_lb_in, abs=0.01)


def test_nut_factor_of_a_small_screw() -> None:
    """Shigley, section 8-8 (from memory): K is near 0.20 for a friction of 0.15, whatever the size."""
    assert nut_factor(screw(5.35, 1, 30, 0.625 * 6), 6e-3, 0.15, 0.15) == pytest.approx(0.2, abs=0.01)
