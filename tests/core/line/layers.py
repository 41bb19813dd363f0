"""Line laid in plain layers, turn on turn: what the smooth model is held against."""

import numpy as np

from levelwind.core.line import Line, Spool
from levelwind.core.line.radius import Floats


def layer_diameters_m(spool: Spool, line: Line) -> Floats:
    """Middle diameter of each plain layer of a parallel spool, d_i = D + (2 i - 1) d, as many as fit whole."""
    layers = int((spool.rim_radius_m - spool.arbor_radius_m) / line.diameter_m + 1e-9)
    return np.asarray(2 * spool.arbor_radius_m + (2 * np.arange(1, layers + 1) - 1) * line.diameter_m)


def layered_length_m(spool: Spool, line: Line) -> float:
    """Metres of line in whole plain layers, w / d turns a layer: L = sum of pi d_i w / d."""
    return float(np.sum(np.pi * layer_diameters_m(spool, line) * spool.width_m / line.diameter_m))
