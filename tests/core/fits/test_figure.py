"""The leaders over one another: to scale, from what the tables say and what was read."""

import pytest

from levelwind.core.fits import measured, recognise
from levelwind.core.fits.figure import leaders_figure
from levelwind.reference.standard_parts import BUILDERS, table


def drawn(kind: str, /, **typed: str):
    rows = table(kind)
    return leaders_figure(recognise(rows, measured(rows.kind, typed)))


def test_a_thread_is_drawn_with_its_pitch_its_crest_and_its_angle() -> None:
    figure = drawn("thread", diameter="2.81", pitch="40 tpi")
    assert figure is not None and figure.to_scale and figure.shape == pytest.approx(1.9)
    [thread, read] = figure.lines
    assert (thread.role, thread.name, read.name) == ("first", "#4-40 UNC", "as measured")
    assert [y for _, y in read.points] == pytest.approx([1.405, 1.405])
    crest = max(y for _, y in thread.points)
    assert 2 * crest == pytest.approx((2.6949 + 2.8245) / 2)  # between the limits of the table
    flat = [x for x, y in thread.points if y == crest]
    assert flat[2] - flat[0] == pytest.approx(0.635)
    (x0, y0), (x1, y1) = next(
        pair for pair in zip(thread.points, thread.points[1:], strict=False) if pair[0][1] == crest > pair[1][1]
    )
    assert (x1 - x0) / (y0 - y1) == pytest.approx(3**-0.5)  # half of 60 degrees


def test_rings_and_grooves_lie_where_they_are() -> None:
    bearing = drawn("bearing", bore="3", od="10", width="4")
    assert bearing is not None
    sides = bearing.lines[0].points
    assert (2 * sides[0][1], 2 * sides[1][1], sides[2][0] - sides[1][0]) == pytest.approx((10, 2.99, 3.94), abs=0.02)
    clip = drawn("clip", shaft="6", groove="5", thickness="0.7")
    assert clip is not None and min(y for _, y in clip.lines[0].points) == pytest.approx(2.485, abs=0.01)
    ring = drawn("oring", id="9.2", section="1.8")
    assert ring is not None and ring.y.low > 4  # the ring itself, not the air within it
    assert len([line for line in ring.lines if line.role == "first"]) == 2


@pytest.mark.parametrize("kind", BUILDERS)
def test_every_kind_is_drawn_and_up_to_three_leaders_are_named(kind: str) -> None:
    key = table(kind).kind.dimensions[0].key
    figure = drawn(kind, **{key: "10"})
    assert figure is not None
    named = [line.role for line in figure.lines if line.name]
    assert named[0] == "first" and named[-1] == "here" and len(named) <= 4
