"""How far out the line lies, for every length of it left on the spool.

The line fills the room from the arbor outwards: length times its cross-section is packing times the room filled.
Source for plain layers: winch-drum practice, d_i = D + (2 i - 1) d, L = sum of pi d_i b / d; with square packing
(pi / 4) the smooth model gives the same length to the last layer exactly.
"""

import numpy as np
import numpy.typing as npt

from levelwind.core.errors import InputError
from levelwind.core.line.model import Filled, Line, Spool
from levelwind.core.writing import written

Floats = npt.NDArray[np.float64]
Numbers = float | Floats


def radius_at_volume_m(spool: Spool, volume_m3: Numbers) -> Floats:
    """Radius in m out to which a volume of line and gaps fills the spool, any shape.

    Parallel flanges: r = sqrt(ra^2 + V / (pi w)). Flared: the cubic by a table of 513 radii and one
    step of Newton's method, good to 1e-9 of the radius. Valid from the empty arbor to the rim.

    >>> radius_at_volume_m(Spool(0.010, 0.025, 0.030), 0.0)
    np.float64(0.01)
    """
    volume = np.asarray(volume_m3, float)
    if np.any(volume < 0) or np.any(volume > spool.volume_m3() * (1 + 1e-6)):
        raise InputError("volume of line", volume_m3, f"from 0 to the spool's {written(spool.volume_m3(), '.3g')} m3")
    arbor, width, flare = spool.arbor_radius_m, spool.width_m, spool.flare
    if flare == 0:
        return np.asarray(np.sqrt(arbor**2 + volume / (np.pi * width)))[()]
    knots = np.linspace(arbor, spool.rim_radius_m, 513)
    radius = np.interp(volume, _filled_m3(spool, knots), knots)
    step = (_filled_m3(spool, radius) - volume) / (2 * np.pi * radius * (width + flare * (radius - arbor)))
    return np.asarray(radius - step)[()]


def _filled_m3(spool: Spool, radius_m: Floats) -> Floats:
    """Room in m3 from the arbor out to a radius."""
    depth = radius_m - spool.arbor_radius_m
    level = (radius_m + spool.arbor_radius_m) * spool.width_m
    return np.asarray(np.pi * depth * (level + spool.flare * depth * (spool.arbor_radius_m + depth * (2 / 3))))


def radius_at_length_m(filled: Filled, length_m: Numbers) -> Floats:
    """Radius in m at which the line leaves with ``length_m`` of it left over the backing.

    >>> spool, line = Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6)
    >>> radius_at_length_m(Filled(spool, line, 200.0), np.array([0.0, 100.0, 200.0])).tolist()
    [0.01, 0.01642, 0.02096]
    """
    length = np.asarray(length_m, float)
    room = filled.spool.volume_m3() - filled.backing_volume_m3()
    most = room * filled.packing / filled.line.volume_per_m_m3()
    if not (np.all(length >= 0) and np.all(length <= most * (1 + 1e-6))):
        raise InputError("line left on the spool", f"{written(np.max(length))} m", f"from 0 to {most:.0f} m")
    return radius_at_volume_m(
        filled.spool, filled.backing_volume_m3() + length * filled.line.volume_per_m_m3() / filled.packing
    )


def capacity_m(spool: Spool, line: Line, packing: float) -> float:
    """Metres of a line that fill the spool from bare arbor to rim.

    >>> capacity_m(Spool(0.010, 0.025, 0.030), Line("0.40 mm nylon", 0.40e-3, 75.6), np.pi / 4)
    309.3
    """
    return spool.volume_m3() * packing / line.volume_per_m_m3()
