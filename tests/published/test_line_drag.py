"""Drag at the line as the spool empties, against a published measurement.

A fishing magazine's drag test, May 2011, read on a web page: two lever-drag reels set to 14 lb gained roughly half a
pound for every 100 yards of 30 lb nylon drawn off, a little less over the first hundred, more over the last.
The page gives no spool sizes: the spool here is a plausible offshore one (90 mm rim, 60 mm wide, 50 mm arbor, 1000 m of
braided backing under 400 yd of 0.50 mm nylon), so the check is of size and shape, not of a figure. "Roughly half" is
taken as 0.4 to 0.6 lb.
"""

import numpy as np
import pytest

from levelwind.core.line import Filled, Line, Spool, fill_curve, radius_at_length_m
from levelwind.core.quantities import METRES_PER, NEWTONS_PER

YARD, LBF = METRES_PER["yd"], NEWTONS_PER["lbf"]
SPOOL = Spool(arbor_radius_m=0.025, rim_radius_m=0.045, width_m=0.060)
FILLED = Filled(
    SPOOL,
    Line("30 lb nylon", 0.50e-3, 133.4),
    400 * YARD,
    backing=Line("65 lb braid", 0.41e-3, 289.1),
    backing_length_m=1000.0,
)


def test_gain_per_hundred_yards_has_the_published_size_and_shape() -> None:
    torque = 14 * LBF * float(radius_at_length_m(FILLED, 400 * YARD))
    pull_lbf = fill_curve(FILLED, torque, points=5).tension_N / LBF
    gains = np.diff(pull_lbf)
    assert pull_lbf[0] == pytest.approx(14.0, rel=1e-12)
    assert gains.mean() == pytest.approx(0.5, abs=0.1)
    assert gains[0] < gains.mean() < gains[-1]
    assert np.all(np.diff(gains) > 0)


def test_full_half_and_near_empty() -> None:
    """Geometry alone: tension times radius is the torque at every fill, and half the line is not half the radius."""
    curve = fill_curve(FILLED, 2.0, points=501)
    assert curve.tension_N * curve.radius_m == pytest.approx(2.0, rel=1e-12)
    full, half, near_empty = (curve.at(share * FILLED.length_m).value for share in (1.0, 0.5, 0.1))
    assert full < half < near_empty
    bare = 2.0 / curve.at(0.0).value
    # Equal lengths fill equal areas: r^2 at half fill lies midway between the backing's and the full spool's.
    assert (2.0 / half) ** 2 == pytest.approx((bare**2 + (2.0 / full) ** 2) / 2, rel=1e-6)
