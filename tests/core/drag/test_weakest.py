"""Which part gives first, checked against arithmetic done here by another road, and every fault named."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.drag.weakest import (
    ADVICE,
    MARGIN,
    arm_in_bending,
    gear_teeth,
    in_shear,
    tube_in_torsion,
    weakest,
)
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity

STEEL = (250e6, 600e6)


def test_a_solid_shaft_is_a_tube_without_a_bore() -> None:
    """tau = 16 T / (pi d^3), Shigley section 3-12."""
    link = tube_in_torsion("shaft", 6e-3, 0.0, STEEL, 1.0)
    stress = 16 * link.yields_at_Nm.low / (np.pi * 6e-3**3)
    assert stress == pytest.approx(0.577 * 250e6, rel=1e-12)


def test_torsion_by_integrating_rings() -> None:
    """The torque of shear proportional to radius, summed over thin rings, is the closed formula."""
    radii = np.linspace(2.5e-3, 4e-3, 20_001)
    shear = 0.577 * 250e6 * radii / 4e-3
    torque = np.trapezoid(shear * 2 * np.pi * radii**2, radii)
    assert tube_in_torsion("sleeve", 8e-3, 5e-3, STEEL, 1.0).yields_at_Nm.low == pytest.approx(torque, rel=1e-7)


def test_bending_by_integrating_fibres() -> None:
    fibres = np.linspace(3.5e-3, 7e-3, 20_001)
    moment = 2 * np.trapezoid(250e6 * fibres / 7e-3 * 2.5e-3 * fibres, fibres)
    link = arm_in_bending("arm", 14e-3, 2.5e-3, 7e-3, STEEL, 1.0)
    assert link.yields_at_Nm.low == pytest.approx(moment, rel=1e-7)


def test_both_editions_of_the_tooth_table_are_in_the_interval() -> None:
    link = gear_teeth("pinion", 12, 0.6e-3, 5e-3, (0.245, 0.261), (200e6, 400e6), 1.0)
    per_y = 5e-3 * 0.6e-3 * 3.6e-3
    assert link.yields_at_Nm.low == pytest.approx(200e6 * 0.245 * per_y, rel=1e-12)
    assert link.yields_at_Nm.high == pytest.approx(400e6 * 0.261 * per_y, rel=1e-12)


def test_the_weakest_at_the_spool_comes_first_not_the_weakest_at_its_own_shaft() -> None:
    pinion = gear_teeth("pinion", 14, 0.5e-3, 4e-3, (0.276, 0.277), (500e6, 900e6), 1.0)
    gear = gear_teeth("main gear", 56, 0.5e-3, 4e-3, (0.415, 0.416), (200e6, 400e6), 4.0)
    assert gear.yields_at_Nm.low > pinion.yields_at_Nm.low
    found = weakest([pinion, gear], (40.0, 80.0))
    assert found.first.name == "main gear"
    assert found.most_spool_Nm == pytest.approx(gear.yields_at_Nm.low / 4 / MARGIN, rel=1e-12)
    assert found.sentences[-1] == ADVICE


def test_a_drag_that_may_pass_the_limit_is_said() -> None:
    pin = in_shear("dog pin", 3.14e-6, 0.012, STEEL, 4.0)
    limit = weakest([pin], (40.0, 80.0)).most_spool_Nm
    safe = weakest([pin], (40.0, 80.0), Quantity(limit / 2, limit / 3, limit * 0.99))
    risky = weakest([pin], (40.0, 80.0), Quantity(limit / 2, limit / 3, limit * 1.01))
    assert len(safe.sentences) == 3
    assert "this drag may pass that" in risky.sentences[2].words() and risky.sentences[2].key == "may_pass"


@given(st.floats(1.1, 5.0))
def test_teeth_bear_with_the_cube_of_size(scale: float) -> None:
    small = gear_teeth("gear", 40, 0.5e-3, 4e-3, (0.389, 0.39), STEEL, 1.0).yields_at_Nm.value
    large = gear_teeth("gear", 40, 0.5e-3 * scale, 4e-3 * scale, (0.389, 0.39), STEEL, 1.0).yields_at_Nm.value
    assert large / small == pytest.approx(scale**3, rel=1e-9)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: in_shear("pin", -1e-6, 0.01, STEEL, 1.0), "area_m2 of pin was -1e-06"),
        (lambda: tube_in_torsion("sleeve", 5e-3, 6e-3, STEEL, 1.0), "bore of sleeve was 6 mm; allowed is 0 to under 5"),
        (lambda: arm_in_bending("arm", 5e-3, 2e-3, 6e-3, STEEL, 1.0), "hole of arm was 6 mm"),
        (lambda: in_shear("pin", 1e-6, 0.01, (0.0, 1e6), 1.0), "strength of pin was 0 N m"),
        (lambda: in_shear("pin", 1e-6, 0.01, STEEL, 0.0), "torque of pin for one at the spool was 0.0"),
        (lambda: gear_teeth("gear", 40, -1e-3, 4e-3, (0.3, 0.3), STEEL, 1.0), "tooth was"),
        (lambda: weakest([], (1.0, 2.0)), "parts to judge was none"),
    ],
)
def test_a_part_that_cannot_be_is_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
