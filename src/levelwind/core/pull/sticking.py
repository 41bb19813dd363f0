"""Whether the spool sticks and slips.

While the spool stands still, tension climbs at the take-up's rate. In steady slip it climbs only as fast as the drag's
own unevenness makes it. So the climbs in steady slip, over what the take-up's rate would have made of the whole time,
are the share of the time that the spool stands still, if the hand goes on as it took up.

A hand that goes on faster makes every climb of a warp as steep as the take-up was. The shape of the cycles tells the
two apart. Sticking climbs slowly and falls at once; a warp does so only on soft line. And sticking climbs in a straight
line, as a line does that is drawn out: half of a climb's time is spent in the middle half of its height. A warp dwells
near its top and its trough, however much soft line leans it: a sinusoid spends a third of its time there. A log of few
cycles, or of few readings in each, shows no shape: unless tension climbs so little that the spool cannot stand still,
it is not told.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray
from levelwind.core.pull.turns import Turning

NO_WARP_ABOVE = 0.45
"""Share that no warp reaches: with a wave so steep the spool itself stands still. Set on simulated drags."""
WARP_EXPLAINS, WARP_CLIMBS = 0.9, 0.5
"""Part of tension's coming and going that a sinusoid over the spool's travel explains if it is a warp's, and the climb
over the take-up's that such a warp does not reach. Set on simulated drags."""
FEWEST_CYCLES, FEWEST_READINGS = 6, 5.4
"""Cycles, and readings in each, from which their shape is told. Our choice: fewer do not show it (six, and what a
count may be short of it)."""
CLIMBS, RISES, CLIFF = 0.55, 0.56, 0.82
"""A cycle is one of sticking if it climbs at about the first part of the take-up's rate and rises for the second part
of its time; or if it rises for the third, however quick the take-up was. Set on simulated logs."""
STRAIGHT, CLIFF_STRAIGHT = 0.41, 0.47
"""Share of a climb's time in the middle half of its height from which it is straight enough for either. A straight line
spends 1/2 there, a sinusoid 1/3; noise and few readings bring the two nearer. Set on simulated logs."""
QUICK_STRAIGHT = 0.03
"""How much less is asked of a climb that is quicker by once the take-up's rate: no warp climbs much quicker. Set on
simulated logs."""
SLOWEST, SLOW_STRAIGHT = 0.45, 0.33
"""The slowest climb of sticking that is no cliff, over the take-up's rate, and how much more is asked of one that is
slower than ``CLIMBS`` by once that rate. Our choice: a hand seldom goes on at half its pace."""
FEW_RISE = (0.9, 0.57)
"""Shares of the time that tension climbs from which a spool stuck once or twice, standing still for as much as
``DOUBTFUL`` says. Our choice."""
FEW_CLIMBS = 3
"""Climbs from which they are asked to be straight. Our choice: one or two are bent by the roughness of the drag."""
FEW_READINGS = 4.0
"""Readings in a cycle from which it is told that a spool stood still. Our choice: noise alone turns every third."""
DOUBTFUL = (0.15, 0.36)
"""Shares of standing still between which one reading alone should not be trusted, where no wave explains so much as
``WARP_EXPLAINS``. Set on simulated drags."""
QUICKER = 1.4
"""Falls of tension over the turns of a wave from which they are another matter. Our choice."""
STICKS_ABOVE, LEAST_RISES = 0.26, 0.5
"""Share of standing still, and share of a cycle that rises, from which cycles that no line follows are sticking: a
warp's are even. Set on simulated drags."""
CLEAR = 4.0
"""Deviations of the readings' own scatter that climbs reach in the mean. Our choice: noise alone reaches three."""
CLEAR_RISES = 0.6
"""Share of a cycle that rises which noise alone does not reach over many cycles. Our choice."""
TURNING_NOISE, TURNING_PART = 5.0, 0.03
"""A turn of tension counts if it is so many deviations of noise and this part of the median tension. Our choice."""
_SHORTEST = 0.05
"""Part of a cycle that a climb takes at the least: a guard against dividing by nothing."""


@dataclass(frozen=True, slots=True)
class Cycles:
    """One climb and fall of tension after another."""

    count: float
    readings: float
    """Readings in one of them."""
    rises: float
    """Share of the mean cycle that rises; a half where there is none."""
    climbs: float
    """How fast tension climbs then over how fast it did in the take-up."""

    @property
    def shown(self) -> bool:
        return self.count >= FEWEST_CYCLES and self.readings >= FEWEST_READINGS

    def stick(self, straight: float) -> bool:
        """``straight`` is the share of a climb's time that is spent in the middle half of its height."""
        cliff = self.rises > CLIFF and straight > CLIFF_STRAIGHT
        quicker = self.climbs - CLIMBS
        asked = STRAIGHT - (QUICK_STRAIGHT if quicker > 0 else SLOW_STRAIGHT) * quicker
        return cliff or (self.rises > RISES and self.climbs > SLOWEST and straight > asked)


@dataclass(frozen=True, slots=True)
class Sticking:
    """What the climbs and falls of tension in steady slip come to."""

    share: float
    """Climbs of tension over what the take-up's slope would make of the whole time: time standing still, parts of 1."""
    falls: tuple[tuple[int, int], ...]
    """The samples from and to which tension fell."""
    warp: float
    """Part of the coming and going that a sinusoid over the spool's travel explains."""
    clear: bool
    """Whether the climbs are larger than what readings scatter by."""
    straight: float
    """Share of the climbs' time that is spent in the middle half of their heights."""
    turned: Cycles
    """Between the points at which tension turns."""
    line: Cycles | None
    """Those of a narrow line."""
    line_explains: float

    @property
    def sticks(self) -> bool | None:
        """None where the log cannot tell. The first of these that speaks decides."""
        if self._of_a_warp():
            return False
        if not self.clear and not self._line_shown:
            return self._in_noise()
        if self._cycles_stick() or self._uneven_cycles_stick():
            return True
        if self._even_cycles_seen():
            return False
        return True if self._stood() else self._between(DOUBTFUL[0])

    @property
    def _cycles(self) -> tuple[Cycles, ...]:
        """As tension turns and, where there is one, of the narrow line."""
        return (self.turned,) if self.line is None else (self.turned, self.line)

    @property
    def _line_shown(self) -> bool:
        return self.line is not None and self.line.shown

    @property
    def _apart(self) -> bool:
        """Whether tension falls so much oftener than the line comes round that its falls are another matter."""
        return self.turned.count > QUICKER * (self.line.count if self.line else 0.0)

    def _of_a_warp(self) -> bool:
        """A sinusoid over the spool's own travel that climbs more slowly than the line is drawn out."""
        return self.warp > WARP_EXPLAINS and max(each.climbs for each in self._cycles) < WARP_CLIMBS

    def _cycles_stick(self) -> bool:
        return any(each.shown and each.stick(self.straight) for each in self._cycles)

    def _uneven_cycles_stick(self) -> bool:
        """Cycles that no line follows: climbs longer than falls, and the spool stands still for much of them."""
        seen = self._apart and self.turned.shown
        return seen and (self.straight > STRAIGHT and self.share > STICKS_ABOVE and self.turned.rises > LEAST_RISES)

    def _even_cycles_seen(self) -> bool:
        """Enough cycles to show a shape, none of them sticking's: of the falls, or of the line that is theirs."""
        if self.turned.shown:
            return True
        return self._line_shown and (not self._apart or self.share < DOUBTFUL[0])

    def _in_noise(self) -> bool | None:
        """Of climbs that may be the readings' own scatter: that rises as often as it falls, and turns every third."""
        if self.turned.rises > CLEAR_RISES and self._stood():
            return True
        few = self.turned.readings < FEWEST_READINGS
        return self._between(DOUBTFUL[0] if few else NO_WARP_ABOVE)

    def _between(self, most: float) -> bool | None:
        """Not told from a share of standing still, or a climb of the line, of ``most`` on."""
        return None if max(self.share, self.line.climbs if self.line else 0.0) > most else False

    def _stood(self) -> bool:
        """Whether a spool of too few cycles stood still for so long that no warp does."""
        bent = self.turned.count >= FEW_CLIMBS and self.straight < STRAIGHT
        if bent or self.turned.readings < FEW_READINGS:
            return False
        return self.share > NO_WARP_ABOVE or any(
            self.share > share and self.turned.rises > rises for share, rises in zip(DOUBTFUL, FEW_RISE, strict=True)
        )

    @property
    def doubtful(self) -> bool:
        between = DOUBTFUL[0] < self.share < DOUBTFUL[1]
        return self.sticks is None or (between and max(self.warp, self.line_explains) < WARP_EXPLAINS)


def find_sticking(
    along: FloatArray, net_N: FloatArray, *, slope: float, noise_N: float, warp: float, line: Turning | None
) -> Sticking:
    """Climbs and falls over the steady slip; ``slope`` is the take-up's in N per unit of ``along`` (s or m).

    ``warp`` is how much a sinusoid over the spool's travel explains, ``line`` the wave followed over the clock.
    """
    points = _turning_points(net_N, max(TURNING_NOISE * noise_N, TURNING_PART * float(np.median(net_N))))
    changes, lengths = np.diff(net_N[points]), np.diff(points)
    taken_up = slope * float(along[-1] - along[0])
    share = float(changes[changes > 0].sum()) / taken_up if slope > 0 else 0.0
    clear = bool(np.sum(changes > 0)) and float(np.mean(changes[changes > 0])) > CLEAR * _scatter(net_N)
    falls = tuple((points[i], points[i + 1]) for i in np.flatnonzero(changes < 0).tolist())
    rises = float(lengths[changes > 0].sum() / lengths.sum()) if len(lengths) else 0.5
    straight = _in_the_middle(along, net_N, [(points[i], points[i + 1]) for i in np.flatnonzero(changes > 0)])
    turned = Cycles(len(falls), float(lengths.sum()) / max(len(falls), 1), rises, share / max(rises, _SHORTEST))
    if line is None:
        return Sticking(share, falls, warp, clear, straight, turned, None, 0.0)
    rises = line.rising()
    climbs = 2.0 * line.half_span()[0] * line.turns / max(rises, _SHORTEST) / taken_up if slope > 0 else 0.0
    lined = Cycles(line.turns, len(net_N) / line.turns, rises, climbs)
    return Sticking(share, falls, warp, clear, straight, turned, lined, line.explained)


def _scatter(net_N: FloatArray) -> float:
    """Standard deviation of what readings scatter by, in N.

    Second differences of white noise have six times its variance; a fifth of them lie within 0.253 deviations of zero
    (tables of the normal law). On a straight climb they are zero, and of a cycle of four readings a fifth is that.

    >>> _scatter(np.tile([0.0, 1.0, 2.0, 3.0], 9))
    0.0
    """
    return float(np.quantile(np.abs(np.diff(net_N, 2)), 0.2) / (0.253 * np.sqrt(6)))


def _in_the_middle(along: FloatArray, net_N: FloatArray, climbs: Sequence[tuple[int, int]]) -> float:
    """Share of the climbs' time that is spent in the middle half of their heights, readings joined by straight lines.

    >>> _in_the_middle(np.arange(5.0), np.array([0.0, 1.0, 2.0, 3.0, 4.0]), [(0, 4)])
    0.5
    """
    inside = total = 0.0
    for first, last in climbs:
        height = (net_N[first : last + 1] - net_N[first]) / (net_N[last] - net_N[first])
        passed = np.minimum(np.maximum(height[1:], height[:-1]), 0.75) - np.maximum(
            np.minimum(height[1:], height[:-1]), 0.25
        )
        steps = np.maximum(np.abs(np.diff(height)), 1e-9)
        inside += float(np.sum(np.diff(along[first : last + 1]) * np.maximum(passed, 0.0) / steps))
        total += float(along[last] - along[first])
    return inside / total if total > 0 else 0.0


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
        if direction <= 0 and value <= values[low]:  # the last of equal ones: there the climb begins
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
