"""Line on a spool: geometry both ways, whatever the flanges, and every refusal."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from levelwind.core.errors import InputError
from levelwind.core.line import (
    CLOSEST_PACKING,
    SQUARE_PACKING,
    Filled,
    Line,
    Spool,
    capacity_m,
    radius_at_length_m,
    radius_at_volume_m,
    run_steps,
)
from tests.core.line.layers import layered_length_m

SPOOL = Spool(0.010, 0.025, 0.030)
NYLON = Line("0.40 mm nylon", 0.40e-3, 75.6)
BRAID = Line("0.23 mm braid", 0.23e-3, 89.0)
SPOOLS = st.builds(
    lambda arbor, depth, width, flare: Spool(arbor, arbor + depth, width, width * flare),
    st.floats(0.005, 0.05),
    st.floats(0.002, 0.05),
    st.floats(0.005, 0.08),
    st.floats(0.4, 2.0),
)


@given(SPOOLS, st.floats(0.0, 1.0))
def test_radius_and_volume_are_inverse_whatever_the_flanges(spool: Spool, share: float) -> None:
    volume = share * spool.volume_m3()
    radius = float(radius_at_volume_m(spool, volume))
    assert spool.arbor_radius_m <= radius <= spool.rim_radius_m * (1 + 1e-9)
    filled, _ = quad(
        lambda r: 2 * np.pi * r * (spool.width_m + spool.flare * (r - spool.arbor_radius_m)),
        spool.arbor_radius_m,
        radius,
    )
    # quad's own tolerance on a cubic is far below this; the flared spool's radius is good to 1e-9.
    assert filled == pytest.approx(volume, rel=1e-7, abs=1e-16)


@given(st.floats(0.1e-3, 0.9e-3))
def test_smooth_and_layered_lengths_agree_where_whole_layers_fill_the_spool(diameter: float) -> None:
    layers = int(0.015 / diameter)
    spool = Spool(0.010, 0.010 + layers * diameter, 0.030)
    line = Line("line", diameter, 50.0)
    assert layered_length_m(spool, line) == pytest.approx(capacity_m(spool, line, SQUARE_PACKING), rel=1e-9)


@given(st.floats(0.0, 300.0), st.floats(0.0, 300.0))
def test_more_line_lies_further_out(one: float, other: float) -> None:
    assume(one < other)
    filled = Filled(SPOOL, NYLON, 300.0)
    assert radius_at_length_m(filled, one) <= radius_at_length_m(filled, other)


def test_backing_lies_under_the_line() -> None:
    filled = Filled(SPOOL, NYLON, 100.0, BRAID, 300.0)
    bare = float(radius_at_length_m(filled, 0.0))
    braid_alone = float(radius_at_length_m(Filled(SPOOL, BRAID, 300.0), 300.0))
    assert bare == pytest.approx(braid_alone, rel=1e-12)
    assert radius_at_length_m(filled, 100.0) > bare


def test_closer_packing_holds_more() -> None:
    assert capacity_m(SPOOL, NYLON, CLOSEST_PACKING) / capacity_m(SPOOL, NYLON, SQUARE_PACKING) == pytest.approx(
        2 / np.sqrt(3), rel=1e-12
    )


def test_a_run_turns_the_spool_by_the_integral_of_length_over_radius() -> None:
    """Parallel flanges: r^2 = ra^2 + c L, so the angle of a run is 2 (r1 - r2) / c."""
    filled = Filled(SPOOL, NYLON, 250.0)
    seconds, angle = run_steps(filled, 250.0, 200.0, 4.0, steps=2000)
    start, end = (float(radius_at_length_m(filled, left)) for left in (250.0, 50.0))
    per_metre = (start**2 - end**2) / 200.0
    assert angle.sum() == pytest.approx(2 * (start - end) / per_metre, rel=1e-7)
    assert seconds.sum() == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Spool(0.03, 0.02, 0.03), "arbor diameter was 60 mm; allowed is less than the rim diameter of 40 mm"),
        (lambda: Spool(0.01, 0.02, -0.03), "width between the flanges was -30 mm"),
        (lambda: Spool(float("nan"), 0.02, 0.03), "arbor diameter was nan mm"),
        (lambda: Spool(0.01, 0.02, 0.03, 0.0), "width at the rim was 0 mm"),
        (lambda: Line("rope", 0.05, 100.0), "diameter of rope was 50 mm; allowed is from 0.02 to 5 mm"),
        (lambda: Line("thread", 0.2e-3, 0.0), "strength of thread was 0.0 N"),
        (lambda: Filled(SPOOL, NYLON, 400.0), "length of line was 400 m; allowed is up to 309 m of 0.40 mm nylon"),
        (lambda: Filled(SPOOL, NYLON, -1.0), "length of line was -1 m; allowed is from 0 to 5000 m"),
        (lambda: Filled(SPOOL, NYLON, 10.0, packing=0.95), "packing was 0.95; allowed is from 0.3 (loose) to 0.907"),
        (lambda: Filled(SPOOL, NYLON, 10.0, backing_length_m=9.0), "length of backing was 9 m; allowed is 0 when"),
        (lambda: Filled(SPOOL, NYLON, 10.0, BRAID, 4000.0), "length of backing was 4000 m; allowed is what fits"),
        (
            lambda: radius_at_length_m(Filled(SPOOL, NYLON, 9.0), 400.0),
            "left on the spool was 400 m; allowed is from 0",
        ),
        (lambda: radius_at_volume_m(SPOOL, 1.0), "volume of line was 1.0"),
        (lambda: run_steps(Filled(SPOOL, NYLON, 100.0), 100.0, 120.0, 5.0), "length of the run was 120 m"),
        (lambda: run_steps(Filled(SPOOL, NYLON, 100.0), 120.0, 10.0, 5.0), "line left at the start of the run was 120"),
        (lambda: run_steps(Filled(SPOOL, NYLON, 100.0), 100.0, 10.0, 0.0), "speed of the run was 0 m/s"),
        (lambda: run_steps(Filled(SPOOL, NYLON, 100.0), 100.0, 10.0, 1e-300), "allowed is from 0.001 to 40 m/s"),
    ],
)
def test_what_does_not_fit_is_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
