"""A pull drawn: what is marked lies where it was found, and two pulls start together on one scale."""

import pytest

from levelwind.core.figures import Figure
from levelwind.core.pull import analyse
from levelwind.core.pull.figure import Trace, points_of, pull_figure, pulls_compared
from levelwind.core.pull.model import Pull, PullResult
from levelwind.core.quantities import NEWTONS_PER, Quantity
from tests.core.pull.test_report import log


def a_pull(start_s: float, running_N: float, wobble_N: Quantity | None = None) -> Pull:
    return Pull(
        start_s,
        start_s + 5.0,
        Quantity(1.2 * running_N, 1.1 * running_N, 1.3 * running_N),
        Quantity(running_N, 0.95 * running_N, 1.05 * running_N),
        Quantity(1.2, 1.1, 1.3),
        wobble_N,
        breakaway_s=start_s + 0.5,
        steady_s=(start_s + 1.0, start_s + 4.0),
    )


def a_trace(start_s: float, running_N: float, *more: Pull) -> Trace:
    points = [(start_s + 0.1 * n - 1.0, 0.0 if n < 10 else running_N) for n in range(70)]
    return Trace(points, PullResult((a_pull(start_s, running_N), *more)))


def test_everything_found_is_marked_where_it_lies() -> None:
    trace = a_trace(2.0, 40.0, a_pull(2.0, 40.0, Quantity(2.0, 1.0, 3.0)))
    figure = pull_figure(trace, "N")
    assert [(span.low, span.high) for span in figure.spans] == [(2.0, 7.0)] * 2
    broke, level = figure.markers[:2]
    assert (broke.kind, broke.x, broke.y, broke.range_) == ("breakaway", 2.5, 48.0, (44.0, 52.0))
    assert (level.kind, level.x, level.y, level.until) == ("level", 3.0, 40.0, 6.0)
    assert broke.words == "pull 1, breakaway 48 N (44 to 52)" and broke.label == "48 N"
    (band, _) = figure.bands
    assert (band.low, band.high) == (((3.0, 38.0), (6.0, 38.0)), ((3.0, 42.0), (6.0, 42.0)))
    edges = [line.points[0][1] for line in figure.lines if line.role == "wobble"]
    assert edges == [38.0, 42.0]
    assert figure.y.high > 52.0, "the whole interval is in the figure"
    assert [row.what for row in figure.rows[:4]] == [
        "pull 1, start",
        "pull 1, breakaway",
        "pull 1, running level",
        "pull 1, end",
    ]


def test_forces_stand_in_the_unit_asked_for() -> None:
    figure = pull_figure(a_trace(2.0, 40.0), "lbf")
    assert figure.markers[1].y == pytest.approx(40.0 / NEWTONS_PER["lbf"])
    assert figure.y.name == "lbf" and "lbf" in figure.markers[0].words


def both(found: Trace | None, left: Trace | None) -> Figure:
    figure = pulls_compared(found, left, "N")
    assert figure is not None
    return figure


def test_two_pulls_share_one_scale_and_start_together() -> None:
    strong, weak = both(a_trace(102.0, 40.0), a_trace(7.0, 20.0)).lines
    assert strong.points[0][0] == pytest.approx(weak.points[0][0], abs=1e-9)
    assert strong.points[1][1] == 2 * weak.points[1][1]
    assert (strong.role, weak.role) == ("as-found", "as-left")
    assert (strong.keyed, weak.keyed) == ("as found, running at 40.0 N", "as left, running at 20.0 N")


def test_the_breakaway_is_marked_where_the_first_pull_lets_go() -> None:
    """A later pull of the same log may come as high: the mark is the first one's."""
    figure = both(None, a_trace(5.0, 30.0, a_pull(11.0, 30.0)))
    assert [(marker.x, marker.y, marker.role) for marker in figure.markers] == [(0.5, 36.0, "as-left")]


def test_with_no_pull_there_is_no_figure() -> None:
    assert pulls_compared(None, Trace([(0.0, 1.0), (1.0, 1.0)], PullResult(())), "N") is None


def test_the_figure_keeps_every_extreme_in_few_points() -> None:
    t, force = log(hz=1000.0)
    result = analyse(t, force)
    points = points_of(t, force, result.tare_N)
    assert len(points) <= 600
    tops = [point[1] for point in points]
    assert max(tops) == pytest.approx(force.max() - result.tare_N, abs=1e-3)
    assert min(tops) == pytest.approx(force.min() - result.tare_N, abs=1e-3)
    assert [point[0] for point in points] == sorted(point[0] for point in points)
    spiked = force.copy()
    spiked[[2100, 4321, 6543]] += (3.0, -3.0, 2.5)
    kept = {point[0] for point in points_of(t, spiked, result.tare_N)}
    assert {2.1, 4.321, 6.543} <= kept
    figure = pull_figure(Trace(points, result), "N")
    (running,) = (line for line in figure.lines if line.role == "running")
    assert {marker.kind: marker.x for marker in figure.markers}["breakaway"] == pytest.approx(1.5, abs=0.02)
    assert [force for _, force in running.points] == [result.pulls[0].running_N.value] * 2
