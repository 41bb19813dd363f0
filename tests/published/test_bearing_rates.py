"""Defect rates of ball bearings.

Case Western Reserve University Bearing Data Center, table of the 6205 at the drive end, in multiples of the
shaft's speed (values from memory): 9 balls of 0.3126 in on 1.537 in. Tolerances are half a unit of the last figure, but
for the ball and the cage, where the published figures do not quite follow from the published sizes.
"""

import pytest

from levelwind.core.spin.bearing import defect_rates
from levelwind.core.spin.options import Bearing

RATES = defect_rates(Bearing(balls=9, ball_mm=25.4 * 0.3126, pitch_mm=25.4 * 1.537))


def test_rings() -> None:
    assert RATES.outer_ring == pytest.approx(3.5848, abs=5e-5)
    assert RATES.inner_ring == pytest.approx(5.4152, abs=5e-5)


def test_ball_and_cage() -> None:
    assert 2 * RATES.ball == pytest.approx(4.7135, abs=5e-4)
    assert RATES.cage == pytest.approx(0.39828, abs=5e-5)


def test_rings_share_all_balls() -> None:
    """Every ball passes a fault on one ring or the other once while the cage goes round it (kinematics)."""
    assert RATES.outer_ring + RATES.inner_ring == pytest.approx(9)
    assert RATES.outer_ring == pytest.approx(9 * RATES.cage)
