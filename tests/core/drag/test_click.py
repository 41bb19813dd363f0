"""Click and pawl: the work of a click is what the spring stores, plus friction."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.drag.click import Click, ripple
from levelwind.core.errors import InputError


@given(st.integers(12, 60), st.floats(0.2, 0.9), st.floats(0.0, 20.0), st.floats(1.0, 5000.0))
def test_without_friction_a_turn_takes_what_the_spring_stores(
    teeth: int, lifting: float, force: float, rate: float
) -> None:
    click = Click(teeth, 0.010, 0.5e-3, lifting, force, rate, mu=0.0)
    stored = force * click.height_m + rate * click.height_m**2 / 2
    assert ripple(click).mean_Nm * 2 * np.pi == pytest.approx(teeth * stored, rel=1e-9)


def test_the_curve_has_the_mean_and_the_peak() -> None:
    click = Click(30, 0.010, 0.8e-3, 0.5, 4.0, 2000.0)
    turned = ripple(click)
    under = np.trapezoid(turned.torque_Nm, turned.angle_rad)
    assert under / turned.angle_rad[-1] == pytest.approx(turned.mean_Nm, rel=1e-12)
    assert turned.torque_Nm.max() == turned.peak_Nm
    assert turned.clicks_per_turn == 30


def test_a_steeper_way_out_than_in_pulls_harder() -> None:
    gentle, steep = (Click(30, 0.010, 0.5e-3, share, 4.0, 2000.0) for share in (0.8, 0.3))
    assert ripple(steep).peak_Nm > ripple(gentle).peak_Nm


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"teeth": 2}, "teeth of the click wheel was 2"),
        ({"radius_m": 0.0}, "diameter of the click wheel was 0 mm"),
        ({"height_m": 0.006}, "height of a tooth was 6 mm"),
        ({"lifting_share": 1.0}, "lifting share of the pitch was 1.0"),
        ({"force_N": -1.0}, "pawl spring was"),
        ({"mu": 5.0}, "friction of the pawl was 5.0; allowed is from 0 to less than 1.31, or it locks"),
        ({"pawls": 9}, "pawls was 9"),
    ],
)
def test_a_click_that_cannot_be_is_refused(change: dict, says: str) -> None:
    usual = {"teeth": 30, "radius_m": 0.010, "height_m": 0.8e-3, "lifting_share": 0.5, "force_N": 4.0, "rate_N_m": 2e3}
    with pytest.raises(InputError) as refused:
        Click(**(usual | change))
    assert says in str(refused.value)
