"""Tension as the spool empties, with its interval, where the line parts, and what to set."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.line import (
    Filled,
    Line,
    Spool,
    capstan,
    fill_curve,
    guides_factor,
    left_at_strength_m,
    line_report,
    radius_at_length_m,
    retrieve_per_turn_m,
    setting,
    spool_torque_Nm,
    tension_N,
)
from tests.full_size import cases

FILLED = Filled(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6), 250.0)


@given(st.floats(0.01, 20.0), st.floats(0.005, 0.06), st.floats(1.0, 3.0))
def test_torque_and_tension_are_inverse(torque: float, radius: float, guides: float) -> None:
    assert spool_torque_Nm(tension_N(torque, radius, guides), radius, guides) == pytest.approx(torque, rel=1e-12)


def test_line_work_is_spool_work() -> None:
    """Tension times line out equals torque times the angle turned, whatever the fill: energy is conserved."""
    curve = fill_curve(FILLED, 0.8, points=20_001)
    line_work = np.trapezoid(curve.tension_N[::-1], curve.left_m[::-1])
    angle = np.trapezoid(1 / curve.radius_m[::-1], curve.left_m[::-1])
    assert line_work == pytest.approx(0.8 * angle, rel=1e-9)


def test_the_interval_holds_nine_draws_in_ten_at_every_fill() -> None:
    rng = np.random.default_rng(2)
    torque, packing = 0.8 * np.exp(0.2 * rng.standard_normal(4000)), rng.uniform(0.7, 0.86, 4000)
    curve = fill_curve(FILLED, 0.8, torque, packing, points=11)
    for place in (0, 5, 10):
        area = curve.left_m[place] * FILLED.line.volume_per_m_m3() / packing / (np.pi * 0.030)
        tension = torque / np.sqrt(0.010**2 + area)
        share = np.mean((tension >= curve.low_N[place] - 1e-9) & (tension <= curve.high_N[place] + 1e-9))
        # The same 4,000 draws, so the share is 90 % to a draw or two.
        assert share == pytest.approx(0.9, abs=1e-3)


@settings(max_examples=cases(15, 40), deadline=None)
@given(
    arbor=st.floats(0.0006, 0.05),
    rim=st.floats(1.05, 12.0),
    flare=st.floats(0.3, 3.0),
    share=st.floats(0.01, 1.0),
    packing=st.lists(st.floats(0.3, 0.906), min_size=1, max_size=40),
)
def test_the_ends_are_the_curves_of_the_loosest_and_the_closest_packing_drawn(
    arbor: float, rim: float, flare: float, share: float, packing: list[float]
) -> None:
    """All draws at once go through a polynomial in 1 / packing; one by one through the spool's own geometry."""
    spool = Spool(arbor, min(arbor * rim, 0.24), 0.04, 0.04 * flare)
    line = Line("0.3 mm nylon", 0.3e-3, 50.0)
    length = share * min(0.999 * min(packing) * spool.volume_m3() / line.volume_per_m_m3(), 4900.0)
    low, high = (
        fill_curve(Filled(spool, line, length, packing=p), 0.8, points=7).tension_N
        for p in (min(packing), max(packing))
    )
    curve = fill_curve(
        Filled(spool, line, length, packing=max(packing)),
        0.8,
        np.full(3, 0.8),
        np.array([min(packing), *2 * [max(packing)]]),
        points=7,
    )
    # A lower packing lies further out, so it is the lower end.
    np.testing.assert_allclose(curve.low_N, low, rtol=1e-8)
    np.testing.assert_allclose(curve.high_N, high, rtol=1e-8)


def test_loose_packing_cannot_pile_line_over_the_rim() -> None:
    full = Filled(FILLED.spool, FILLED.line, 305.0)
    curve = fill_curve(full, 0.8, np.full(500, 0.8), np.linspace(0.4, 0.9, 500), points=3)
    assert curve.low_N[0] == pytest.approx(0.8 / 0.025, rel=1e-6)


def test_packing_matters_in_the_middle_and_not_at_the_arbor() -> None:
    curve = fill_curve(FILLED, 0.8, np.full(500, 0.8), np.linspace(0.7, 0.9, 500), points=3)
    width = curve.high_N - curve.low_N
    assert width[1] > 0
    assert width[2] == 0


def test_where_the_line_parts() -> None:
    curve = fill_curve(FILLED, 1.2)
    left = left_at_strength_m(curve, 75.6)
    assert left is not None
    assert curve.at(left).value == pytest.approx(75.6, rel=1e-6)
    assert left_at_strength_m(curve, 500.0) is None
    told = line_report(FILLED, curve, 1.2)
    assert f"It passes the strength of 0.40 mm nylon, 76 N, with {left:.0f} m left on the spool." in map(
        str, told.sentences
    )


def test_a_drag_too_strong_when_full_parts_at_once() -> None:
    assert left_at_strength_m(fill_curve(FILLED, 5.0), 75.6) == FILLED.length_m


def test_a_drag_that_only_may_part_the_line_says_so() -> None:
    draws = np.random.default_rng(3).uniform(0.3, 0.9, 2000)
    told = line_report(FILLED, fill_curve(FILLED, 0.6, draws), 0.6)
    assert told.parts_at_left_m is None
    assert told.may_part_at_left_m is not None
    assert any("It may pass the strength" in str(sentence) for sentence in told.sentences)


def test_how_it_was_worked_out_has_the_reel_s_own_values() -> None:
    told = line_report(FILLED, fill_curve(FILLED, 0.8, guides=1.1), 0.8, 1.1)
    assert [row.fill for row in told.rows] == ["full", "half", "near empty"]
    assert "0.8 N m /" in told.rows[0].numbers
    assert "e^(μθ)" in told.rows[0].formula
    assert told.rows[0].tension_N.value == pytest.approx(0.8 / told.rows[0].radius_m * 1.1)


def test_setting_for_a_line_class_and_what_it_becomes() -> None:
    """25 to 33 % at the strike: common practice, no source. The same torque further down the spool."""
    set_to = setting(FILLED, 147.1)
    assert set_to.strike_N == pytest.approx((0.25 * 147.1, 0.33 * 147.1))
    full, near = (float(radius_at_length_m(FILLED, left)) for left in (250.0, 25.0))
    assert set_to.near_bare_N == pytest.approx([end * full / near for end in set_to.strike_N])
    assert set_to.near_bare_share == pytest.approx(set_to.near_bare_N[1] / 147.1)


def test_retrieve_is_the_circumference_times_the_ratio() -> None:
    assert retrieve_per_turn_m(0.020, 5.0) == pytest.approx(2 * np.pi * 0.1)


@given(st.lists(st.tuples(st.floats(0.0, 0.5), st.floats(0.0, 3.0)), max_size=5))
def test_guides_multiply_in_any_order(guides: list[tuple[float, float]]) -> None:
    assert guides_factor(guides) == pytest.approx(guides_factor(guides[::-1]), rel=1e-12)
    assert guides_factor(guides) >= 1


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: tension_N(1.0, 0.0), "radius of the line on the spool was 0.0"),
        (lambda: capstan(-0.1, 1.0), "friction and wrap of a guide"),
        (lambda: retrieve_per_turn_m(0.02, 0.0), "gear ratio was 0.0"),
        (lambda: fill_curve(FILLED, 1.0, points=1), "points on the curve was 1"),
        (lambda: setting(FILLED, 0.0), "strength of the line was 0 N"),
    ],
)
def test_bad_input_is_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
