"""Whether the spool sticks and slips: how far the line is stretched again and again, and how the wave leans.

While the spool stands still, tension climbs as fast as it did in the take-up. In steady slip it climbs only as fast as
the drag's own unevenness makes it. So the share of the steady slip in which tension climbs at the take-up's rate is the
share of the time the spool stands still, at any stiffness of line and any speed of hand. Tension that climbs as part of
a warped washer's wave seldom makes up so much: a sinusoid whose steepest climb just stops the spool makes up 1/pi.

Where the log is fast enough to show the shape of the wave, its lean speaks too: sticking climbs slowly and lets go at
once, a warp climbs as it falls.
"""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray

STICKS_ABOVE = 0.26
"""Share of the way lost in stretching the line from which the drag is said to stick. Set on simulated drags."""
DOUBTFUL = (0.15, 0.36)
"""Shares at which one reading alone should not be trusted."""
EVEN, LEANING = 0.57, 0.66
"""Share spent climbing, of the time, below which a well-seen wave is a warp; of the travel, above which it sticks."""


@dataclass(frozen=True, slots=True)
class Sticking:
    """What the climbs and falls of tension in steady slip come to."""

    share: float
    """Climbs of tension over what the take-up's slope would make of the whole time."""
    climbing: float
    """Share of the time spent climbing, from the first turning point to the last; a half where there is none."""
    lean: float
    """The same share of the spool's travel, which a warp on soft line shares out evenly where the clock does not."""
    readings: float
    """Readings in one climb and fall."""
    falls: tuple[tuple[int, int], ...]
    """The samples from and to which tension fell."""

    @property
    def sticks(self) -> bool:
        leans = len(self.falls) >= 4 and self.readings >= 5 and self.lean > LEANING
        even = len(self.falls) >= 3 and self.readings >= 8 and self.climbing < EVEN
        return leans or (self.share > STICKS_ABOVE and not even)

    @property
    def doubtful(self) -> bool:
        return DOUBTFUL[0] < self.share < DOUBTFUL[1] and not self.lean > LEANING


def find_sticking(along: FloatArray, net_N: FloatArray, slope: float, noise_N: float) -> Sticking:
    """Climbs and falls over the steady slip; ``slope`` is the take-up's, per unit of ``along``."""
    turns = _turning_points(net_N, max(5 * noise_N, 0.03 * float(np.median(net_N))))
    changes, lengths = np.diff(net_N[turns]), np.diff(turns)
    climbed = float(changes[changes > 0].sum())
    share = climbed / (slope * float(along[-1] - along[0])) if slope > 0 else 0.0
    falls = tuple((turns[i], turns[i + 1]) for i in np.flatnonzero(changes < 0).tolist())
    travels = np.maximum(np.diff(along[turns]) - (changes / slope if slope > 0 else 0.0), 0.0)
    climbing, lean = (float(x[changes > 0].sum() / x.sum()) if x.sum() > 0 else 0.5 for x in (lengths, travels))
    return Sticking(share, climbing, lean, float(lengths.sum()) / max(len(falls), 1), falls)


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
