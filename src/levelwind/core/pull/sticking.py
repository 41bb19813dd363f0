"""Whether the spool sticks and slips, from how much of the hand's way goes into stretching the line again and again.

While the spool stands still, tension climbs as fast as it did in the take-up. In steady slip it climbs only as fast as
the drag's own unevenness makes it. So the share of the steady slip in which tension climbs at the take-up's rate is the
share of the time the spool stands still, at any stiffness of line and any speed of hand. Tension that climbs as part of
a warped washer's wave never makes up so much: a sinusoid whose steepest climb just stops the spool makes up 1/pi.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray

STICKS_ABOVE = 0.26
"""Share of the way lost in stretching the line from which the drag is said to stick. Set on simulated drags."""
DOUBTFUL = (0.15, 0.36)
"""Shares at which one reading alone should not be trusted."""


@dataclass(frozen=True, slots=True)
class Sticking:
    """What the climbs and falls of tension in steady slip come to."""

    share: float
    """Climbs of tension over what the take-up's slope would make of the whole time."""
    falls: tuple[tuple[int, int], ...]
    """The samples from and to which tension fell."""

    @property
    def sticks(self) -> bool:
        return self.share > STICKS_ABOVE

    @property
    def doubtful(self) -> bool:
        return DOUBTFUL[0] < self.share < DOUBTFUL[1]


def find_sticking(along: FloatArray, net_N: FloatArray, slope: float, noise_N: float) -> Sticking:
    """Climbs and falls over the steady slip; ``slope`` is the take-up's, per unit of ``along``."""
    turns = _turning_points(net_N, max(5 * noise_N, 0.03 * float(np.median(net_N))))
    changes = np.diff(net_N[turns])
    climbed = float(changes[changes > 0].sum())
    share = climbed / (slope * float(along[-1] - along[0])) if slope > 0 else 0.0
    falls = np.flatnonzero(changes < 0)
    return Sticking(share, tuple((int(turns[i]), int(turns[i + 1])) for i in falls))


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
