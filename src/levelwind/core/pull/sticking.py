"""Whether the spool sticks and slips: how far the line is stretched again and again, and what no warp explains.

While the spool stands still, tension climbs as fast as it did in the take-up. In steady slip it climbs only as fast as
the drag's own unevenness makes it. So the share of the steady slip in which tension climbs at the take-up's rate is the
share of the time the spool stands still, at any stiffness of line and any speed of hand. Tension that climbs as part of
a warped washer's wave seldom makes up so much: a sinusoid whose steepest climb just stops the spool makes up 1/pi.

Where a soft line brings a warp's climbs near that, its wave tells the two apart: laid out over the spool's own travel a
warp is a sinusoid, and sticking, in which the spool does not travel while tension climbs, is a row of cliffs. Where the
log is fast enough to show cliffs by the clock as well, they speak for themselves, however fast the take-up was.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray

STICKS_ABOVE = 0.26
"""Share of the way lost in stretching the line from which the drag is said to stick. Set on simulated drags."""
NO_WARP_ABOVE = 0.45
"""Share that no warp reaches: with a wave so steep the spool itself stands still. Set on simulated drags."""
A_WARP = 0.9
"""Part of tension's coming and going that a warp's sinusoid explains, and sticking does not. Set on simulated drags."""
CLIFFS = 0.8
"""Share of the time spent climbing from which a well-seen wave is a row of cliffs."""
DOUBTFUL = (0.15, 0.36)
"""Shares at which one reading alone should not be trusted, unless a warp explains it."""


@dataclass(frozen=True, slots=True)
class Sticking:
    """What the climbs and falls of tension in steady slip come to."""

    share: float
    """Climbs of tension over what the take-up's slope would make of the whole time."""
    falls: tuple[tuple[int, int], ...]
    """The samples from and to which tension fell."""
    warp: float
    """The part of the coming and going that a sinusoid over the spool's travel explains."""
    climbing: float
    """Share of the time spent climbing, from the first turning point to the last; a half where there is none."""
    readings: float
    """Readings in one climb and fall."""

    @property
    def sticks(self) -> bool:
        if self.warp > A_WARP:
            return self.share > NO_WARP_ABOVE
        return self.share > STICKS_ABOVE or (len(self.falls) >= 4 and self.readings >= 5 and self.climbing > CLIFFS)

    @property
    def doubtful(self) -> bool:
        return DOUBTFUL[0] < self.share < DOUBTFUL[1] and self.warp < A_WARP


def find_sticking(along: FloatArray, net_N: FloatArray, *, slope: float, noise_N: float, warp: float) -> Sticking:
    """Climbs and falls over the steady slip; ``slope`` is the take-up's, per unit of ``along``."""
    turns = _turning_points(net_N, max(5 * noise_N, 0.03 * float(np.median(net_N))))
    changes, lengths = np.diff(net_N[turns]), np.diff(turns)
    climbed = float(changes[changes > 0].sum())
    share = climbed / (slope * float(along[-1] - along[0])) if slope > 0 else 0.0
    falls = tuple((turns[i], turns[i + 1]) for i in np.flatnonzero(changes < 0).tolist())
    climbing = float(lengths[changes > 0].sum() / lengths.sum()) if len(lengths) else 0.5
    return Sticking(share, falls, warp, climbing, float(lengths.sum()) / max(len(falls), 1))


def _turning_points(values: FloatArray, least: float) -> list[int]:
    """Samples at which the values turn round by ``least`` or more, the first and last extreme with them.

    >>> _turning_points(np.array([0.0, 3.0, 2.8, 5.0, 1.0, 1.2, 4.0]), 1.0)
    [0, 3, 4, 6]
    """
    low = high = 0
    points: list[int] = []
    way = 0
    for i, value in enumerate(values.tolist()):
        if way >= 0 and value > values[high]:
            high = i
        if way <= 0 and value < values[low]:
            low = i
        if way >= 0 and values[high] - value >= least:
            points.append(high)
            way, low = -1, i
        elif way <= 0 and value - values[low] >= least:
            points.append(low)
            way, high = 1, i
    if way:
        points.append(high if way > 0 else low)
    return points
