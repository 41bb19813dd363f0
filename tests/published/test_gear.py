"""Spur gears worked in textbooks.

T. H. Wentzell, Machine Design; U. C. Jindal, Machine Design; J. E. Shigley, Mechanical Engineering Design (answers from
memory); R. S. Khurmi and J. K. Gupta, Theory of Machines: each test names its example. Read as the printed outputs of
the textbook companions (docs/sources.md); tolerances are half a unit of the last figure printed or as the example says.
In inches and pounds a module is 1 / Pd and speeds are ft/min: the formulas are the same.
"""

import numpy as np
import pytest

from levelwind.core.drag.gears import (
    Teeth,
    contact_ratio,
    overlap_ratio,
    pitch_diameter_m,
    share_of_load,
    tooth_strength_N,
)
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


def test_contact_ratio() -> None:
    """Khurmi and Gupta, Theory of Machines, example 12.3, p. 398: 30 and 80 teeth of module 12, addendum 10 mm."""
    found = contact_ratio(30, 80, addendum=10 / 12)
    assert found == pytest.approx(1.475, abs=0.001)
    assert found * np.pi * 12 * np.cos(np.radians(20)) == pytest.approx(52.3, abs=0.05)


@pytest.mark.parametrize(
    ("pinion", "gear", "helix_deg"), [(24, 77, 14.0), (23, 96, 14.0), (20, 40, 0.0), (19, 71, 25.0)]
)
def test_contact_ratio_by_the_angles_at_the_tips(pinion: int, gear: int, helix_deg: float) -> None:
    """Pu Lianggui and others, Mechanical Design, 10th edition (in Chinese), design of helical gears, read in a public
    program after it: by the tangents of the pressure angles at the tips instead of lengths along the path."""
    beta = np.radians(helix_deg)
    transverse = np.arctan(np.tan(np.radians(20)) / np.cos(beta))
    tips = [np.arccos(z * np.cos(transverse) / (z + 2 * np.cos(beta))) for z in (pinion, gear)]
    tangents = [z * (np.tan(tip) - np.tan(transverse)) for z, tip in zip((pinion, gear), tips, strict=True)]
    assert contact_ratio(pinion, gear, helix_deg) == pytest.approx(sum(tangents) / (2 * np.pi), rel=1e-12)


def test_sharing_of_helical_teeth() -> None:
    """The same, for its Ye and overlap: 24 teeth as wide as their diameter, 14 degrees: overlap z tan(beta) / pi. ISO
    6336-3 counts an overlap as 1 at most, the book does not."""
    module, beta = 2e-3, np.radians(14)
    pinion = Teeth(24, 77, module, 24 * module / np.cos(beta), 14.0)
    assert overlap_ratio(pinion) == pytest.approx(24 * np.tan(beta) / np.pi, rel=1e-12)
    transverse = np.arctan(np.tan(np.radians(20)) / np.cos(beta))
    on_base = np.arctan(np.tan(beta) * np.cos(transverse))
    by_pairs = 0.25 + 0.75 / (contact_ratio(24, 77, 14.0) / np.cos(on_base) ** 2)
    assert share_of_load(pinion) == pytest.approx(by_pairs * (1 - 14 / 120), rel=1e-12)


J_SHARED = {
    (21, 21): 0.33, (21, 26): 0.33, (21, 35): 0.34, (21, 55): 0.34, (21, 135): 0.35,
    (26, 26): 0.35, (26, 35): 0.36, (26, 55): 0.37, (26, 135): 0.38,
    (35, 35): 0.39, (35, 55): 0.40, (35, 135): 0.41, (55, 55): 0.43, (55, 135): 0.45, (135, 135): 0.49,
    (26, 21): 0.35, (35, 21): 0.37, (55, 21): 0.40, (135, 21): 0.43, (35, 26): 0.38, (55, 26): 0.41,
    (135, 26): 0.44, (55, 35): 0.42, (135, 35): 0.45, (135, 55): 0.47,
}  # fmt: skip
"""AGMA bending factor J of 20 degree full-depth teeth, loaded at the highest point of single contact, by teeth and
mate: R. L. Norton, Machine Design, table 12-9; read in a public course program."""
J_AT_TIP = {21: 0.24, 26: 0.25, 35: 0.26, 55: 0.28, 135: 0.29}
"""The same loaded at the tip: Norton, table 12-8, from memory."""


@pytest.mark.parametrize("pair", J_SHARED)
def test_sharing_against_the_tables_of_j(pair: tuple[int, int]) -> None:
    """Two printed figures, each right to 0.005. Method C stays under the layout that AGMA's tables are made from by up
    to 14 %, most with many teeth, and never promises 5 % more."""
    printed = J_SHARED[pair] / J_AT_TIP[pair[0]]
    ours = 1 / share_of_load(Teeth(*pair, 1e-3, 10e-3))
    assert 0.86 * printed < ours < 1.05 * printed
