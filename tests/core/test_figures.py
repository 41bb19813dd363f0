from math import log10

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.figures import Axis, Line, thinned


@given(st.floats(1e-6, 1e9), st.integers(3, 10))
def test_an_axis_holds_its_values_with_ticks_of_one_two_or_five(reach: float, count: int) -> None:
    for axis in (Axis.along("s", [0.0, reach]), Axis.upright("N", [0.0, reach])):
        ticks = axis.ticks(count)
        step = (ticks[-1][0] - ticks[0][0]) / (len(ticks) - 1)
        mantissa = step / 10 ** round(log10(step) - 0.35)
        assert axis.low == 0.0 and reach <= axis.high * (1 + 1e-9)
        assert axis.high < 1.2 * reach
        assert axis.low <= ticks[0][0] and ticks[-1][0] <= axis.high * (1 + 1e-9) < ticks[-1][0] + step * (1 + 1e-8)
        assert min(abs(mantissa - nice) for nice in (0.5, 1, 2, 5)) < 1e-6
        assert 2 <= len(ticks) <= count + 2


def test_the_ticks_say_what_stands_there() -> None:
    assert Axis("N", 0.0, 50.0).ticks(5) == tuple((10.0 * n, str(10 * n)) for n in range(6))
    assert [label for _, label in Axis("s", 0.0, 0.4).ticks(4)] == ["0.0", "0.1", "0.2", "0.3", "0.4"]


def test_an_axis_starts_at_nothing_where_that_is_near_and_goes_below_it_only_for_more_than_noise() -> None:
    assert Axis.along("s", [0.9, 10.0]).low == 0.0
    assert 99.0 < Axis.along("s", [100.0, 110.0]).low < 100.0
    assert Axis.upright("N", [-0.2, 10.0]).low == 0.0
    assert Axis.upright("N", [-2.0, 10.0]).low < -2.0


@pytest.mark.parametrize("nothing", [0.0, 5e-324, -3.0])
def test_a_log_of_nothing_is_drawn_on_the_axis(nothing: float) -> None:
    x, y = Axis.along("s", [0.0, 0.0]), Axis.upright("N", [nothing, nothing])
    assert x.share(0.0) == 0.0
    assert 0.0 <= y.share(nothing) <= 1.0
    assert x.ticks(6) and y.ticks(6)


@settings(deadline=None)
@given(st.integers(721, 4000), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_thinning_keeps_a_peak_and_a_trough_of_one_reading_in_a_long_log(count: int, peak: float, dip: float) -> None:
    forces = [20.0 + (i % 7) / 10 for i in range(count)]
    forces[int(count * dip)] = 3.0
    forces[int(count * peak)] = 45.0
    kept = thinned(list(zip(map(float, range(count)), forces, strict=True)), 720)
    assert max(force for _, force in kept) == 45.0
    assert min(force for _, force in kept) == min(forces)
    assert len(kept) <= 720


def test_points_stay_in_the_order_of_time() -> None:
    across = [x for x, _ in thinned([(i / 100, float(i % 11)) for i in range(3000)], 720)]
    assert across == sorted(across)


@pytest.mark.parametrize(
    ("points", "complaint"),
    [
        ((), "2 or more"),
        (((0.0, 1.0),), "2 or more"),
        (((0.0, 1.0), (1.0, float("nan"))), "finite"),
        (((0.0, 1.0), (float("inf"), 1.0)), "finite"),
        (((1.0, 1.0), (0.0, 1.0)), "values that rise"),
    ],
)
def test_points_that_are_no_curve_are_refused(points: tuple[tuple[float, float], ...], complaint: str) -> None:
    with pytest.raises(InputError, match=complaint):
        Line("read", points)
