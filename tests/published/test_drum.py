"""Rope on a winch drum: line on a spool, at another size.

The drum (barrel 10 in, flange 20 in, width 12 in, rope 1/2 in) is built at one tenth, since Levelwind refuses
spools and lines of that size; all its lengths are then a tenth, the length of rope too.
"""

import numpy as np
import pytest

from levelwind.core.line.model import CLOSEST_PACKING, SQUARE_PACKING, Line, Spool
from levelwind.core.line.radius import capacity_m
from levelwind.core.line.tension import tension_N
from levelwind.core.quantities import INCH
from tests.core.line.layers import layer_diameters_m, layered_length_m

FOOT = 12 * INCH
DRUM = Spool(arbor_radius_m=0.5 * INCH, rim_radius_m=1.0 * INCH, width_m=1.2 * INCH)
ROPE = Line("rope", 0.05 * INCH, 1000.0)


def test_rope_in_plain_layers() -> None:
    """A winch-drum calculator (about 940 ft over 10 layers) and drum winder formulae; both read on web pages."""
    assert len(layer_diameters_m(DRUM, ROPE)) == 10
    assert 10 * layered_length_m(DRUM, ROPE) / FOOT == pytest.approx(940, abs=5)
    assert 10 * layered_length_m(DRUM, ROPE) / FOOT == pytest.approx(942.478, abs=0.001)


def test_capacity_formula() -> None:
    """(A + D) A B pi / (12 d^2), the drum capacity formula, read on a web page;
    square packing gives the same, so K = pi / 3 = 1.0472."""
    length_ft = 10 * capacity_m(DRUM, ROPE, SQUARE_PACKING) / FOOT
    assert length_ft == pytest.approx(942.478, abs=0.001)
    assert length_ft / ((5 + 10) * 5 * 12) == pytest.approx(1.0472, abs=0.0001)


def test_packing_of_round_line() -> None:
    """Geometry of circles in a square and in a hexagonal array."""
    assert pytest.approx(0.785398, abs=1e-6) == SQUARE_PACKING
    assert pytest.approx(0.9069, abs=1e-6) == CLOSEST_PACKING


def test_pull_at_the_full_drum() -> None:
    """d_eff = D + (2 i - 1) d, drum winder formulae, read on a web page:
    rated pull on the first layer, this share of it on the tenth."""
    diameters = layer_diameters_m(DRUM, ROPE)
    pull = tension_N(1.0, np.array([diameters[0], diameters[-1]]) / 2)
    assert pull[1] / pull[0] == pytest.approx(0.5384615385, abs=1e-9)
