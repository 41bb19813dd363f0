"""Spur gears worked in textbooks.

T. H. Wentzell, Machine Design; U. C. Jindal, Machine Design; J. E. Shigley, Mechanical Engineering Design (answers from
memory); R. S. Khurmi and J. K. Gupta, Theory of Machines: each test names its example. Read as the printed outputs of
the textbook companions (docs/sources.md); tolerances are half a unit of the last figure printed or as the example says.
In inches and pounds a module is 1 / Pd and speeds are ft/min: the formulas are the same.
"""

import numpy as np
import pytest

from levelwind.core.drag.gears import pitch_diameter_m, tooth_strength_N
from levelwind.core.quantities import INCH
from levelwind.reference.gears import Edition, lewis_y

RPM = 2 * np.pi / 60


def barth(speed: float, constant: float) -> float:
    """Kv = (c + v) / c, by which a running tooth bears less; a reel's gears turn too slowly for it."""
    return (constant + speed) / constant


def test_forces_on_a_tooth() -> None:
    """Wentzell, examples 12.1 and 12.2, p. 254. T = F d / 2."""
    diameter_in = pitch_diameter_m(20, 1 / 8)
    torque_lb_in = 63_000 * 5 / 1725
    assert torque_lb_in == pytest.approx(182.61, abs=0.01)
    assert 2 * torque_lb_in / diameter_in == pytest.approx(146.09, abs=0.01)
    assert np.pi * diameter_in / 12 * 1725 == pytest.approx(1129.01, abs=0.01)


def test_lewis_strength_and_dynamic_load() -> None:
    """Wentzell, examples 12.3 and 12.4, pp. 258 to 262, with the older table's Y for 20 and 60 teeth."""
    assert lewis_y(20, Edition.OLDER) == 0.320
    assert lewis_y(60, Edition.OLDER) == 0.421
    assert tooth_strength_N(47_500, 1.0, 1 / 8, lewis_y(20, Edition.OLDER)) == pytest.approx(1900, abs=0.01)
    assert tooth_strength_N(44_000, 1.0, 1 / 8, lewis_y(60, Edition.OLDER)) == pytest.approx(2315.5, abs=0.01)
    assert 146 * barth(1129, 600) == pytest.approx(420.72, abs=0.01)


def test_lewis_in_module_form() -> None:
    """Jindal, example 25-3, p. 670, with the older table's Y for 30 teeth."""
    strength = tooth_strength_N(150e6, 0.060, 5e-3, lewis_y(30, Edition.OLDER))
    assert strength == pytest.approx(16110, abs=0.5)
    speed = pitch_diameter_m(30, 5e-3) / 2 * 1000 * RPM
    power_kW = strength / barth(speed, 3.0) / 1.5 / 2 * speed / 1000
    assert power_kW == pytest.approx(11.657, abs=0.001)


def test_lewis_with_barth() -> None:
    """Shigley, example 14-1 (answers from memory), with the newer table's Y for 16 teeth."""
    speed_ft_min = np.pi * pitch_diameter_m(16, 1 / 8) * 1200 / 12
    assert speed_ft_min == pytest.approx(628, abs=0.5)
    kv = barth(speed_ft_min, 1200)
    assert kv == pytest.approx(1.52, abs=0.005)
    load_lb = tooth_strength_N(10_000, 1.5, 1 / 8, lewis_y(16, Edition.NEWER)) / kv
    assert load_lb == pytest.approx(365, abs=1)
    assert load_lb * speed_ft_min / 33_000 == pytest.approx(6.95, abs=0.02)


def test_diametral_pitch() -> None:
    """Wentzell, example 11.3, p. 231."""
    module = INCH / 8
    assert pitch_diameter_m(16, module) / INCH == pytest.approx(2, abs=1e-9)
    assert pitch_diameter_m(32, module) / INCH == pytest.approx(4, abs=1e-9)
    assert (pitch_diameter_m(16, module) + pitch_diameter_m(32, module)) / 2 / INCH == pytest.approx(3, abs=1e-9)
    assert 1000 * module == pytest.approx(3.175, abs=1e-9)
