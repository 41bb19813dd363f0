"""Whether the spool sticks and slips: how much of the time tension climbs as fast as it did in the take-up.

While the spool stands still, tension climbs at the take-up's rate. In steady slip it climbs only as fast as the drag's
own unevenness makes it. So the climbs in steady slip, over what the take-up's rate would have made of the whole time,
are the share of the time that the spool stands still, at any stiffness of line and any speed of hand. The wave of a
warped washer seldom comes to so much: a sinusoid whose steepest climb just stops the spool comes to 1/π.

Where a soft line brings a warp near that, the shape of the wave tells the two apart. Over the spool's own travel a warp
is a sinusoid; sticking, in which the spool does not travel while tension climbs, is a row of steps. A log with enough
readings in a cycle shows the slow climbs and quick falls of sticking by the clock as well, however fast the take-up
was."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray

STICKS_ABOVE = 0.26
"""Share of the time standing still from which the drag is said to stick. Set on simulated drags."""
NO_WARP_ABOVE = 0.45
"""Share that no warp reaches: with a wave so steep the spool itself stands still. Set on simulated drags."""
WARP_EXPLAINS = 0.9
"""Part of tension's coming and going that a sinusoid explains if it is a warp's, and sticking's is not. Set on
simulated drags."""
CLIMBING_SHARE, CLIFFS, CLIFF_READINGS = 0.8, 4, 5
"""Share of the time spent climbing from which a wave is one of sticking, if so many falls were seen with so many
readings each. Set on simulated drags: fewer do not show the shape."""
DOUBTFUL = (0.15, 0.36)
"""Shares between which one reading alone should not be trusted, unless a warp explains it. Set on simulated drags."""
TURNING_NOISE, TURNING_PART = 5.0, 0.03
"""A turn of tension counts if it is so many deviations of noise and this part of the median tension. Our choice."""


@dataclass(frozen=True, slots=True)
class Sticking:
    """What the climbs and falls of tension in steady slip come to."""

    share: float
    """Climbs of tension over what the take-up's slope would make of the whole time: time standing still, parts of 1."""
    falls: tuple[tuple[int, int], ...]
    """The samples from and to which tension fell."""
    warp: float
    """Part of the coming and going that a sinusoid over the spool's travel explains."""
    climbing: float
    """Share of the time spent climbing, from the first turning point to the last; a half where there is none."""
    readings: float
    """Readings in one climb and fall."""

    @property
    def sticks(self) -> bool:
        if self.warp > WARP_EXPLAINS:
            return self.share > NO_WARP_ABOVE
        shape_seen = len(self.falls) >= CLIFFS and self.readings >= CLIFF_READINGS
        return self.share > STICKS_ABOVE or (shape_seen and self.climbing > CLIMBING_SHARE)

    @property
    def doubtful(self) -> bool:
        return DOUBTFUL[0] < self.share < DOUBTFUL[1] and self.warp < WARP_EXPLAINS


def find_sticking(along: FloatArray, net_N: FloatArray, *, slope: float, noise_N: float, warp: float) -> Sticking:
    """Climbs and falls over the steady slip; ``slope`` is the take-up's in N per unit of ``along`` (s or m)."""
    turns = _turning_points(net_N, max(TURNING_NOISE * noise_N, TURNING_PART * float(np.median(net_N))))
    changes, lengths = np.diff(net_N[turns]), np.diff(turns)
    climbed = float(changes[changes > 0].sum())
    share = climbed / (slope * float(along[-1] - along[0])) if slope > 0 else 0.0
    falls = tuple((turns[i], turns[i + 1]) for i in np.flatnonzero(changes < 0).tolist())
    climbing = float(lengths[changes > 0].sum() / lengths.sum()) if len(lengths) else 0.5
    return Sticking(share, falls, warp, climbing, float(lengths.sum()) / max(len(falls), 1))


def _turning_points(values: FloatArray, least: float) -> list[int]:
    """Samples at which the values turn by ``least`` or more, the first and last extreme with them.

    >>> _turning_points(np.array([0.0, 3.0, 2.8, 5.0, 1.0, 1.2, 4.0]), 1.0)
    [0, 3, 4, 6]
    """
    low = high = 0
    points: list[int] = []
    direction = 0  # of the last move that was large enough; 0 before the first
    for i, value in enumerate(values.tolist()):
        if direction >= 0 and value > values[high]:
            high = i
        if direction <= 0 and value < values[low]:
            low = i
        if direction >= 0 and values[high] - value >= least:
            points.append(high)
            direction, low = -1, i
        elif direction <= 0 and value - values[low] >= least:
            points.append(low)
            direction, high = 1, i
    if direction:
        points.append(high if direction > 0 else low)
    return points
