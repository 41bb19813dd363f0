"""What must be true of any spool running down by the law."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after
from tests.full_size import cases

# Every size at which a term may count or vanish, nought and the degenerate cases included.
dry = st.floats(0.01, 5.0)
oil = st.just(0.0) | st.floats(-12, 0).map(lambda x: 10.0**x)
air = st.just(0.0) | st.floats(-14, -1).map(lambda x: 10.0**x)
laws = st.builds(Law, dry, oil, air) | st.builds(lambda a, b: Law(a, b, b * b / (4 * a)), dry, oil)
start = st.floats(1.0, 60.0)


@given(laws, start, st.floats(0.0, 1.0))
@settings(deadline=None, max_examples=cases(15, 40))
def test_time_and_speed_are_each_other_turned_round(law: Law, start: float, part: float) -> None:
    seconds = part * float(time_between(law, start, 0.0))
    speed = float(speed_after(law, start, seconds))
    assert float(time_between(law, start, speed)) == pytest.approx(seconds, rel=1e-7, abs=1e-7)


@given(laws, start, st.floats(0.01, 0.99))
@settings(deadline=None, max_examples=cases(15, 40))
def test_two_parts_make_the_whole(law: Law, start: float, part: float) -> None:
    """Turns down to a speed in between and from there on add up: no seam between the forms."""
    middle = part * start
    whole = float(turns_after(law, start, time_between(law, start, 0.0)))
    parts = float(turns_after(law, start, time_between(law, start, middle))) + float(
        turns_after(law, middle, time_between(law, middle, 0.0))
    )
    assert parts == pytest.approx(whole, rel=1e-7)


@given(laws, start)
@settings(deadline=None, max_examples=cases(15, 40))
def test_loss_is_the_slope_of_speed_and_speed_the_slope_of_turns(law: Law, start: float) -> None:
    stop = float(time_between(law, start, 0.0))
    t, step = 0.4 * stop, 1e-4 * stop
    before, after = speed_after(law, start, np.array([t - step, t + step]))
    here = float(speed_after(law, start, t))
    assert (before - after) / (2 * step) == pytest.approx(float(law.loss(here)), rel=1e-4)
    first, second = turns_after(law, start, np.array([t - step, t + step]))
    assert (second - first) / (2 * step) == pytest.approx(here, rel=1e-4)


@given(laws, start, st.floats(0.1, 10.0))
@settings(deadline=None, max_examples=cases(15, 40))
def test_energy_lost_is_energy_had(law: Law, start: float, scale: float) -> None:
    shares = energy_shares(law, start, 0.0)
    assert shares.sum() == pytest.approx(1.0)
    assert (shares >= 0).all()
    doubled = Law(*(scale * float(x) for x in law.coefficients))
    assert energy_shares(doubled, start, 0.0) == pytest.approx(shares, abs=1e-9)
    assert float(time_between(doubled, start, 0.0)) == pytest.approx(float(time_between(law, start, 0.0)) / scale)


def test_at_rest_it_stays() -> None:
    law = Law(0.5, 0.05, 0.002)
    stop = float(time_between(law, 20.0, 0.0))
    assert float(speed_after(law, 20.0, stop + 5)) == 0.0
    assert turns_after(law, 20.0, [stop, stop + 5]) == pytest.approx(
        float(turns_after(law, 20.0, time_between(law, 20.0, 0.0)))
    )


def test_backward_from_rest_comes_to_where_it_started() -> None:
    law = Law(0.5, 0.05, 0.002)
    stop = float(time_between(law, 20.0, 0.0))
    assert float(speed_after(law, 0.0, -stop)) == pytest.approx(20.0)
    assert float(turns_after(law, 0.0, -stop)) == pytest.approx(
        -float(turns_after(law, 20.0, time_between(law, 20.0, 0.0)))
    )


def test_without_dry_friction_it_never_stops() -> None:
    assert np.isinf(time_between(Law(0.0, 0.05, 0.002), 20.0, 0.0))


def test_many_laws_at_once_are_the_laws_one_by_one() -> None:
    dry, t = np.array([[0.2], [0.9]]), np.array([0.0, 3.0, 9.0])
    both = turns_after(Law(dry, 0.04, 0.001), 20.0, t)
    assert both[1] == pytest.approx(turns_after(Law(0.9, 0.04, 0.001), 20.0, t))
    risen = turns_after(Law(dry, 0.04, 0.001, 0.5, 1.0), 20.0, t)
    assert risen[0] == pytest.approx(turns_after(Law(0.2, 0.04, 0.001, 0.5, 1.0), 20.0, t))
