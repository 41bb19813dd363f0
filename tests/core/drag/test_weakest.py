"""Which part gives first, checked against arithmetic done here by another road, and every fault named."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.drag.gears import Teeth, share_of_load
from levelwind.core.drag.weakest import (
    ADVICE,
    RIGHT_THROUGH,
    TO_MEASURE,
    arm_in_bending,
    gear_teeth,
    in_shear,
    tube_in_torsion,
    weakest,
)
from levelwind.core.errors import InputError
from levelwind.core.notes import Amount
from levelwind.core.quantities import Quantity

STEEL = (250e6, 600e6)
GEAR = gear_teeth("main gear teeth", Teeth(48, 12, 0.5e-3, 4e-3), (0.405, 0.406), (200e6, 400e6), 4.0)


def test_a_solid_shaft_yields_right_through_at_four_thirds_of_first_yield() -> None:
    """First yield at tau = 16 T / (pi d^3), Shigley section 3-12; fully plastic 4/3 of it, Roark (from memory)."""
    link = tube_in_torsion("shaft", 6e-3, 0.0, STEEL, 1.0)
    first = 0.577 * 250e6 * np.pi * 6e-3**3 / 16
    assert link.gives_at_Nm.low == pytest.approx(4 / 3 * first, rel=1e-12)


def test_torsion_by_integrating_rings() -> None:
    """The torque of one shear stress right through, summed over thin rings, is the closed formula."""
    radii = np.linspace(2.5e-3, 4e-3, 20_001)
    torque = np.trapezoid(0.577 * 250e6 * 2 * np.pi * radii**2, radii)
    assert tube_in_torsion("sleeve", 8e-3, 5e-3, STEEL, 1.0).gives_at_Nm.low == pytest.approx(torque, rel=1e-7)


def test_bending_by_integrating_fibres() -> None:
    fibres = np.linspace(3.5e-3, 7e-3, 20_001)
    moment = 2 * np.trapezoid(250e6 * 2.5e-3 * fibres, fibres)
    link = arm_in_bending("arm", 14e-3, 2.5e-3, 7e-3, STEEL, 1.0)
    assert link.gives_at_Nm.low == pytest.approx(moment, rel=1e-7)


def test_a_tooths_root_yields_right_through_at_three_halves_of_first_yield() -> None:
    """A rectangle's stress the same in every fibre against stress that grows from the middle."""
    fibres = np.linspace(0.0, 0.5e-3, 20_001)
    through, first = np.trapezoid(fibres, fibres), np.trapezoid(fibres * fibres / 0.5e-3, fibres)
    assert through / first == pytest.approx(RIGHT_THROUGH, rel=1e-7)


def test_both_editions_of_the_tooth_table_are_in_the_interval() -> None:
    teeth = Teeth(12, 48, 0.6e-3, 5e-3)
    link = gear_teeth("pinion", teeth, (0.245, 0.261), (200e6, 400e6), 1.0)
    per_y = 1.5 * 5e-3 * 0.6e-3 * 3.6e-3 / share_of_load(teeth)
    assert link.gives_at_Nm.low == pytest.approx(200e6 * 0.245 * per_y, rel=1e-12)
    assert link.gives_at_Nm.high == pytest.approx(400e6 * 0.261 * per_y, rel=1e-12)


def test_a_low_profile_reels_gear_bears_what_such_reels_hold() -> None:
    """71 brass teeth of module 0.4, 4.3 mm wide, on 11: such reels hold 40 to 50 N for years (common practice, no
    source), at 16.5 mm of line radius and a ratio of 71 to 11. The value is the middle; it was 6 N once."""
    link = gear_teeth("main gear teeth", Teeth(71, 11, 0.4e-3, 4.3e-3), (0.430, 0.432), (120e6, 400e6), 71 / 11 * 0.97)
    at_line = link.at_spool_Nm().scaled(1 / 16.5e-3)
    assert 35 < at_line.value < 50 and at_line.low < 40 < at_line.high
    slanting = gear_teeth("gear", Teeth(71, 11, 0.4e-3, 4.3e-3, 20.0), (0.435, 0.437), (120e6, 400e6), 71 / 11 * 0.97)
    assert slanting.at_spool_Nm().value > link.at_spool_Nm().value


def test_the_weakest_at_the_spool_comes_first_not_the_weakest_at_its_own_shaft() -> None:
    pinion = gear_teeth("pinion", Teeth(14, 56, 0.5e-3, 4e-3), (0.276, 0.277), (500e6, 900e6), 1.0)
    gear = gear_teeth("main gear", Teeth(56, 14, 0.5e-3, 4e-3), (0.415, 0.416), (200e6, 400e6), 4.0)
    assert gear.gives_at_Nm.low > pinion.gives_at_Nm.low
    found = weakest([pinion, gear], (40.0, 80.0))
    assert found.first.name == "main gear"
    assert found.limit_spool_Nm == gear.at_spool_Nm()
    assert found.sentences[-1] == ADVICE


def test_the_list_is_sorted_by_what_is_shown() -> None:
    """A wide part whose low end is lower, but whose middle is higher, comes second."""
    wide = in_shear("wide", 2e-6, 0.01, (100e6, 1600e6), 1.0)
    narrow = in_shear("narrow", 2e-6, 0.01, (300e6, 310e6), 1.0)
    assert wide.gives_at_Nm.low < narrow.gives_at_Nm.low
    assert [link.name for link in weakest([wide, narrow], (40.0, 80.0)).links] == ["narrow", "wide"]


def test_value_and_interval_at_the_line_are_of_one_kind() -> None:
    """What is said at the line, full and near empty, is the torque at the spool times the tension for each N m."""
    found = weakest([GEAR], (40.0, 80.0))
    said = dict(found.sentences[0].carried)
    torque = GEAR.at_spool_Nm()
    assert said["torque"].of == torque
    assert (said["full"].of, said["bare"].of) == (torque.scaled(40.0), torque.scaled(80.0))
    assert [note.key for note in found.sentences] == ["first_to_give", "which_end", "advice"]
    assert "middle of what its metal bears" in found.sentences[1].words()


def test_the_chance_that_the_drag_passes_the_strength() -> None:
    """Of two log-normal quantities with 90 % ratios u and v the chance is Phi(1.645 ln(a/b) / hypot(ln u, ln v))."""
    torque = GEAR.at_spool_Nm()
    middle, up = torque.value * 0.7, 1.4
    drag = Quantity(middle, middle / up, middle * up)
    wide = np.log(torque.high / torque.value)
    expected = NormalDist().cdf(1.6448536 * np.log(0.7) / np.hypot(np.log(up), wide))
    found = weakest([GEAR], (40.0, 80.0), drag)
    assert found.chances[0] == pytest.approx(expected, abs=0.002)
    assert found.sentences[2].key == "chance_passed"
    assert f"{100 * expected:.0f} %" in found.sentences[2].words()


def test_without_teeth_no_newtons_are_spoken_of() -> None:
    pin = in_shear("dog pin", 3.14e-6, 0.012, STEEL, 4.0)
    found = weakest([pin], (40.0, 80.0), Quantity(0.5, 0.4, 0.6))
    assert found.limit_spool_Nm is None and TO_MEASURE in found.sentences
    spoken = [part for note in found.sentences for _, part in note.carried if isinstance(part, Amount)]
    assert [part.unit for part in spoken] == ["N m"]
    assert "module" in TO_MEASURE.words() and "metal" in TO_MEASURE.words()


@given(st.floats(1.1, 5.0))
def test_teeth_bear_with_the_cube_of_size(scale: float) -> None:
    small, large = (
        gear_teeth("gear", Teeth(40, 10, 0.5e-3 * size, 4e-3 * size), (0.389, 0.39), STEEL, 1.0).gives_at_Nm.value
        for size in (1.0, scale)
    )
    assert large / small == pytest.approx(scale**3, rel=1e-9)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: in_shear("pin", -1e-6, 0.01, STEEL, 1.0), "area_m2 of pin was -1e-06"),
        (lambda: tube_in_torsion("sleeve", 5e-3, 6e-3, STEEL, 1.0), "bore of sleeve was 6 mm; allowed is 0 to under 5"),
        (lambda: arm_in_bending("arm", 5e-3, 2e-3, 6e-3, STEEL, 1.0), "hole of arm was 6 mm"),
        (lambda: in_shear("pin", 1e-6, 0.01, (0.0, 1e6), 1.0), "strength of pin was 0 N m"),
        (lambda: in_shear("pin", 1e-6, 0.01, STEEL, 0.0), "torque of pin for one at the spool was 0.0"),
        (lambda: gear_teeth("gear", Teeth(40, 10, -1e-3, 4e-3), (0.3, 0.3), STEEL, 1.0), "tooth was"),
        (lambda: weakest([], (1.0, 2.0)), "parts to judge was none"),
    ],
)
def test_a_part_that_cannot_be_is_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
