from math import log10

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.documents.scale import (
    COLUMNS,
    NAME_HEIGHT,
    ForceCurves,
    SpeedCurves,
    SpeedTrace,
    Trace,
    _parted,
    axis,
    drawn,
)


def points(drawing: dict[str, object] | None, which: int = 0) -> list[list[float]]:
    assert drawing
    return drawing["traces"][which]["points"]  # type: ignore[index, no-any-return]


@given(st.floats(1e-6, 1e9), st.integers(2, 10))
def test_an_axis_holds_its_readings_with_marks_of_one_two_or_five(reach: float, marks: int) -> None:
    end, written = axis(reach, marks)
    step = end / (len(written) - 1)
    mantissa = step / 10 ** round(log10(step) - 0.35)
    assert reach <= end * (1 + 1e-9)
    assert end < reach + step * (1 + 1e-9)
    assert min(abs(mantissa - nice) for nice in (0.5, 1, 2, 5)) < 1e-6
    assert 2 <= len(written) <= marks + 2


def test_the_marks_say_what_stands_there() -> None:
    assert axis(47.0) == (50.0, [{"at": i / 5, "label": str(i * 10)} for i in range(6)])
    assert [mark["label"] for mark in axis(0.4, 4)[1]] == ["0.0", "0.1", "0.2", "0.3", "0.4"]


@settings(deadline=None)
@given(st.integers(721, 4000), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_thinning_keeps_a_peak_and_a_trough_of_one_reading_in_a_long_log(count: int, peak: float, dip: float) -> None:
    forces = [20.0 + (i % 7) / 10 for i in range(count)]
    forces[int(count * dip)] = 3.0
    forces[int(count * peak)] = 45.0
    drawing = drawn(ForceCurves(Trace(tuple(float(i) for i in range(count)), tuple(forces)), None))
    heights = [y for _, y in points(drawing)]
    assert max(heights) == pytest.approx(45 / 50, abs=1e-5)
    assert min(heights) == pytest.approx(min(forces) / 50, abs=1e-5)
    assert len(heights) <= 2 * COLUMNS


def test_points_stay_in_the_order_of_time() -> None:
    times = tuple(i / 100 for i in range(3000))
    drawing = drawn(ForceCurves(Trace(times, tuple(float(i % 11) for i in range(3000))), None))
    across = [x for x, _ in points(drawing)]
    assert across == sorted(across)


def test_two_pulls_share_one_scale_and_start_together() -> None:
    strong = Trace((100.0, 101.0, 102.0), (0.0, 40.0, 40.0))
    weak = Trace((7.0, 8.0, 8.5), (0.0, 20.0, 20.0))
    drawing = drawn(ForceCurves(strong, weak))
    assert points(drawing, 0)[0] == points(drawing, 1)[0] == [0.0, 0.0]
    assert points(drawing, 0)[1][1] == 2 * points(drawing, 1)[1][1]
    assert points(drawing, 0)[1][0] == points(drawing, 1)[1][0]


def test_the_breakaway_is_marked_where_the_pull_first_comes_to_it() -> None:
    trace = Trace((0.0, 1.0, 2.0, 3.0), (0.0, 30.0, 20.0, 30.0), breakaway=30.0)
    drawing = drawn(ForceCurves(None, trace))
    assert drawing["traces"][0]["ring"] == points(drawing)[1]  # type: ignore[index]


def test_a_breakaway_above_every_reading_is_marked_at_the_highest() -> None:
    drawing = drawn(ForceCurves(None, Trace((0.0, 1.0, 2.0), (0.0, 30.0, 20.0), breakaway=33.0)))
    assert drawing["traces"][0]["ring"] == points(drawing)[1]  # type: ignore[index]


@given(st.lists(st.floats(0, 1), min_size=1, max_size=2))
def test_the_names_of_two_curves_never_touch_and_keep_their_order(heights: list[float]) -> None:
    parted = _parted(heights)
    assert all(0 <= height <= 1 for height in parted)
    if len(parted) == 2:
        assert abs(parted[0] - parted[1]) >= NAME_HEIGHT - 1e-9
        assert (parted[0] >= parted[1]) == (heights[0] >= heights[1])


def test_with_no_pull_there_is_no_drawing() -> None:
    assert drawn(ForceCurves(None, None)) is None


@pytest.mark.parametrize("nothing", [0.0, 5e-324, -3.0])
def test_a_log_of_nothing_is_drawn_on_the_axis(nothing: float) -> None:
    assert [y for _, y in points(drawn(ForceCurves(Trace((0.0, 0.0), (nothing, nothing)), None)))] == [0.0, 0.0]


@pytest.mark.parametrize(
    ("times", "forces", "complaint"),
    [
        ((), (), "2 or more"),
        ((0.0, 1.0), (1.0,), "equal"),
        ((0.0, 1.0), (1.0, float("nan")), "finite"),
        ((0.0, float("inf")), (1.0, 1.0), "finite"),
        ((1.0, 0.0), (1.0, 1.0), "times that rise"),
    ],
)
def test_points_that_are_no_curve_are_refused(times: tuple[float], forces: tuple[float], complaint: str) -> None:
    with pytest.raises(InputError, match=complaint):
        Trace(times, forces)


def test_the_ring_stands_where_the_pull_is_known_to_let_go() -> None:
    """A later pull of the same log may come as high: the ring is the first one's."""
    trace = Trace((5.0, 6.0, 7.0, 8.0), (0.0, 29.0, 20.0, 31.0), breakaway=30.0, breakaway_s=6.0)
    drawing = drawn(ForceCurves(None, trace))
    assert drawing["traces"][0]["ring"][0] == pytest.approx(1 / 3, abs=1e-4)  # type: ignore[index]


FALL = SpeedTrace((2.0, 3.0, 4.0), (30.0, 15.0, 5.0), 3.5, "3.5 s")


def test_a_spin_is_drawn_from_its_first_moment_to_rest_beyond_what_was_followed() -> None:
    drawing = drawn(SpeedCurves(FALL, None))
    assert drawing and points(drawing)[0][0] == 0.0
    assert drawing["traces"][0]["ring"] == [pytest.approx(3.5 / 4.0), 0.0]  # type: ignore[index]
    assert drawing["traces"][0]["says"] == "3.5 s"  # type: ignore[index]


def test_a_spin_whose_stop_is_not_told_has_no_ring() -> None:
    drawing = drawn(SpeedCurves(None, SpeedTrace((0.0, 1.0), (30.0, 20.0))))
    assert drawing["traces"][0]["ring"] is None  # type: ignore[index]


def test_two_spins_share_one_scale_and_their_names_do_not_touch() -> None:
    drawing = drawn(SpeedCurves(FALL, SpeedTrace((0.0, 9.0), (15.0, 0.0), 9.0)))
    assert drawing
    first, second = drawing["traces"]  # type: ignore[misc]
    assert first["points"][0][1] == 2 * second["points"][0][1]
    assert first["named_at"] - second["named_at"] >= NAME_HEIGHT - 1e-9


@pytest.mark.parametrize("rates", [(1.0,), (1.0, float("nan"))])
def test_speeds_that_are_no_curve_are_refused(rates: tuple[float, ...]) -> None:
    with pytest.raises(InputError):
        SpeedTrace((0.0, 1.0), rates)
