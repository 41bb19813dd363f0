"""By how much one number changed, and whether that is real."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.changes import REAL, change
from levelwind.core.quantities import Quantity, in_words, shown


def test_a_change_is_as_sure_as_its_interval() -> None:
    clear = change("start-up ratio", "", Quantity(1.62, 1.58, 1.66), Quantity(1.14, 1.12, 1.16))
    assert clear.difference.value == pytest.approx(-0.48)
    assert clear.difference.high == pytest.approx(-0.48 + np.hypot(0.02, 0.04))
    assert clear.chance_real > 0.9999 and clear.words().endswith("real")
    # a difference of one standard deviation: the normal distribution's share below +1 is 0.8413 (any normal table)
    hazy = change("running drag", "N", Quantity(20.0, 20.0, 20.0), Quantity(21.0, 21 - 1.6449, 21 + 1.6449))
    assert hazy.chance_real == pytest.approx(0.8413, abs=1e-4)
    assert "too small to tell from chance" in hazy.words()
    same = change("running drag", "N", Quantity(20.0, 19.0, 21.0), Quantity(20.1, 19.0, 21.0))
    assert "too small to tell from chance" in same.words()


@given(st.floats(1, 100), st.floats(1, 100), st.floats(0.01, 5), st.floats(0.01, 5))
def test_a_chance_is_never_below_a_coin_toss(found: float, left: float, wide: float, wider: float) -> None:
    there = change("x", "N", Quantity(found, found - wide, found + wide), Quantity(left, left - wider, left + wider))
    back = change("x", "N", there.left, there.found)
    assert 0.5 <= there.chance_real <= 1.0
    assert back.chance_real == pytest.approx(there.chance_real)
    assert back.difference.value == pytest.approx(-there.difference.value)


def test_real_asks_for_more_than_an_interval_without_zero() -> None:
    """A sheet shows eight differences: at 90 % each more than half of all unchanged reels would be told of one."""
    clear_of_zero = change("running drag", "N", Quantity(20.0, 19.0, 21.0), Quantity(22.0, 21.0, 23.0))
    assert clear_of_zero.difference.low > 0 and clear_of_zero.chance_real > 0.95 and not clear_of_zero.real
    assert REAL > 0.99
    assert change("running drag", "N", Quantity(20.0, 19.0, 21.0), Quantity(30.0, 29.0, 31.0)).real


def test_what_repeats_no_closer_widens_the_difference() -> None:
    one, other = Quantity(20.0, 19.9, 20.1), Quantity(20.5, 20.4, 20.6)
    assert change("running drag", "N", one, other).real
    wide = change("running drag", "N", one, other, repeats=0.6)
    assert not wide.real and wide.difference.low == pytest.approx(0.5 - np.hypot(0.1 * 2**0.5, 0.6))


def test_a_change_is_written_by_the_one_rule() -> None:
    """Ends outwards, figures by the interval: what is written holds all that was meant."""
    float_ = change("end float", "mm", Quantity(0.05, 0.045, 0.055), Quantity(0.10, 0.095, 0.105))
    assert float_.words() == "end float 0.050 to 0.100 mm: up by 0.050 mm (0.042 to 0.058), real"
    dial = change("end float", "mm", Quantity(0.05, 0.0, 0.1), Quantity(0.10, 0.05, 0.15))
    assert dial.words() == "end float 0.05 to 0.10 mm: up by 0.05 mm (-0.03 to 0.13), too small to tell from chance"
    lighter = change("running drag", "N", Quantity(1800.0, 1700.0, 1900.0), Quantity(1496.0, 1293.0, 1707.0))
    assert lighter.ends == "running drag 1800 to 1500 N"
    assert lighter.by == "down by 300 N (70 to 540), too small to tell from chance"


@given(st.floats(1, 100), st.floats(1, 100), st.floats(0.01, 5), st.floats(0.01, 5))
def test_both_ends_read_as_in_any_table(found: float, left: float, wide: float, wider: float) -> None:
    one, other = Quantity(found, found - wide, found + wide), Quantity(left, left - wider, left + wider)
    said = change("running drag", "N", one, other)
    assert f"{said.ends.removeprefix('running drag ').split(' to ')[0]} N" == shown(one, "N").value
    assert said.ends.endswith(f" to {shown(other, 'N').value}")
    size = said.difference if said.difference.value >= 0 else said.difference.scaled(-1.0)
    assert said.reads_the_same or in_words(size, "N") in said.by


def test_a_change_of_nothing_is_no_change() -> None:
    oil = change("share of oil", "%", Quantity(14.2, 8.0, 20.0), Quantity(14.1, 9.0, 19.0))
    assert oil.words() == "share of oil 14 to 14 %: no change (-8 to 8 points)"
    assert oil.reads_the_same and not oil.real
    known = change("handle torque", "N m", Quantity.exact(0.2), Quantity.exact(0.2))
    assert known.words() == "handle torque 0.2 to 0.2 N m: no change"
    some = change("share of oil", "%", Quantity(14.0, 8.0, 20.0), Quantity(17.0, 11.0, 23.0))
    one = change("share of oil", "%", Quantity(14.0, 8.0, 20.0), Quantity(15.0, 10.0, 21.0))
    assert one.by == "up by 1 point (-7 to 10), too small to tell from chance"
    assert some.by == "up by 3 points (-6 to 12), too small to tell from chance" and not some.reads_the_same
