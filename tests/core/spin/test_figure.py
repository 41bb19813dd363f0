"""A spin drawn: first speed, half speed and rest where they lie, and two spins from the same moment."""

import pytest

from levelwind.core.quantities import Quantity
from levelwind.core.spin.figure import spin_figure, spins_compared
from levelwind.core.spin.model import SpeedCurve, Spin, SpinResult

FALL = tuple((2.0 + 0.1 * n, 30.0 - 0.75 * n) for n in range(37))
"""An even fall: from 30 rev/s at 2 s it would be at rest at 6 s; it is followed to 5.6 s."""

REST = Quantity(4.0, 3.8, 4.1)


def a_spin(rest: Quantity | None = REST) -> Spin:
    return Spin(2.0, 5.6, Quantity(30.0, 29.5, 30.5), rest, SpeedCurve(*zip(*FALL, strict=True)))


def test_first_speed_half_speed_and_rest_lie_on_an_even_fall() -> None:
    figure = spin_figure(SpinResult((a_spin(),)))
    assert figure is not None
    first, half, rest = figure.markers
    assert (first.x, first.y, first.range_) == (2.0, 30.0, (29.5, 30.5))
    assert (half.x, half.y) == (pytest.approx(4.0), pytest.approx(15.0))
    assert (rest.x, rest.y) == (6.0, 0.0)
    (reach,) = (line for line in figure.lines if line.role == "rest-range")
    assert [at for at, _ in reach.points] == pytest.approx([5.8, 6.1])
    assert figure.x.high > 6.1
    assert [row.what for row in figure.rows] == ["first speed", "half speed", "rest"]


def test_of_several_spins_each_is_named() -> None:
    figure = spin_figure(SpinResult((a_spin(), a_spin(None))))
    assert figure is not None and len(figure.spans) == 2
    assert [row.what for row in figure.rows[-2:]] == ["spin 2, first speed", "spin 2, half speed"]


def test_a_stop_watch_has_no_figure() -> None:
    assert spin_figure(SpinResult((Spin(None, None, None, REST),))) is None
    assert spins_compared(Spin(None, None, None, REST), None) is None


def test_a_spin_is_drawn_from_its_first_moment_to_rest_beyond_what_was_followed() -> None:
    figure = spins_compared(a_spin(), None)
    assert figure is not None and figure.lines[0].points[0] == (0.0, 30.0)
    assert [(marker.x, marker.y) for marker in figure.markers] == [(4.0, 0.0)]
    assert figure.x.high > 4.0 and figure.lines[0].keyed == "as found, 4.00 s to rest"


def test_a_spin_whose_stop_is_not_told_has_no_rest() -> None:
    figure = spins_compared(None, a_spin(None))
    assert figure is not None and figure.markers == () and figure.lines[0].keyed == "as left"


def test_two_spins_share_one_scale() -> None:
    figure = spins_compared(a_spin(), Spin(0.0, 9.0, None, None, SpeedCurve((0.0, 9.0), (15.0, 0.0))))
    assert figure is not None
    assert figure.lines[0].points[0][1] == 2 * figure.lines[1].points[0][1]
    assert (figure.x.low, figure.y.low) == (0.0, 0.0)
