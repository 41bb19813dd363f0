"""A figure as data: axes and what lies on them, each by what it is, not by how it looks. One drawer draws them all."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, isfinite, log10

from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

Points = Sequence[tuple[float, float]]

NOTHING = 1e-9
"""Less than this is no reading in any unit that a bench uses."""

NEAR_NOTHING = 0.1
"""An axis whose first value is nearer to nothing than this part of its length starts at nothing. Our choice."""

AIR = 0.03
"""Of an axis' length: left free beyond the last value; what lies less than this below nothing is noise. Our choice."""

HEADROOM = 1.18
"""So many times the highest value an upright axis reaches: room for the words over a peak. Our choice."""


@dataclass(frozen=True, slots=True)
class Axis:
    """What is laid off along it, with its unit, and from where to where it reaches."""

    name: str
    low: float
    high: float

    @classmethod
    def along(cls, name: str, values: Iterable[float]) -> "Axis":
        """An axis from left to right that holds every value.

        >>> Axis.along("seconds", [0.4, 10.0])
        Axis(name='seconds', low=0.0, high=10.288)
        """
        first, last = _ends(values)
        length = last - first if last - first >= NOTHING else 1.0
        low = 0.0 if 0 <= first < NEAR_NOTHING * length else first - 0.02 * length
        return cls(name, low, round(last + AIR * length, 9))

    @classmethod
    def upright(cls, name: str, values: Iterable[float]) -> "Axis":
        """An axis upwards from nothing, or from below it where that is more than noise.

        >>> Axis.upright("N", [0.0, 50.0])
        Axis(name='N', low=0.0, high=59.0)
        """
        lowest, highest = _ends(values)
        top = highest if highest >= NOTHING else 1.0
        return cls(name, 1.1 * lowest if lowest < -AIR * top else 0.0, HEADROOM * top)

    def share(self, value: float) -> float:
        """Where it lies, from 0 at the axis' low end to 1 at its high end."""
        return (value - self.low) / (self.high - self.low)

    def ticks(self, count: int) -> tuple[tuple[float, str], ...]:
        """About so many values to write along it, and how each is written.

        >>> Axis("N", 0.0, 59.0).ticks(6)
        ((0.0, '0'), (10.0, '10'), (20.0, '20'), (30.0, '30'), (40.0, '40'), (50.0, '50'))
        """
        step = step_for(self.high - self.low, count)
        decimals = max(0, -floor(log10(step)))
        first, last = ceil(self.low / step - 1e-9), floor(self.high / step + 1e-9)
        return tuple((n * step, written(n * step, f"z.{decimals}f")) for n in range(first, last + 1))


def _ends(values: Iterable[float]) -> tuple[float, float]:
    known = list(values)
    return min(known), max(known)


def step_for(length: float, count: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a length into about ``count``.

    >>> step_for(47.0, 5)
    10.0
    """
    rough = length / count
    decade = 10.0 ** floor(log10(rough))
    return float(next(m for m in (1, 2, 5, 10) if m * decade >= rough * 0.999) * decade)


@dataclass(frozen=True, slots=True)
class Line:
    """A curve. One with a ``name`` stands in the key, with what it ``says``.

    ``role`` says what it is: as-found, as-left, read, computed, supposed, limit, here, running, wobble or rest-range;
    first, second or third of what a drawing compares.
    """

    role: str
    points: Points
    name: str = ""
    says: str = ""

    @property
    def keyed(self) -> str:
        """Its words in the key."""
        return ", ".join(part for part in (self.name, self.says) if part)

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise InputError("points of a curve", len(self.points), "2 or more")
        if not all(isfinite(each) for point in self.points for each in point):
            raise InputError("a point of the curve", "not a number", "finite numbers only")
        if any(later[0] < earlier[0] for earlier, later in pairwise(self.points)):
            raise InputError("the way along the curve", "running backwards", "values that rise")


@dataclass(frozen=True, slots=True)
class Band:
    """Between which two curves a value lies nine times in ten."""

    role: str
    low: Points
    high: Points


@dataclass(frozen=True, slots=True)
class Span:
    """A part of the axis along, such as from where to where a pull lies."""

    name: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Marker:
    """A place on the figure. ``kind`` gives its shape, ``role`` whose it is: as-found, as-left, or read.

    ``label`` stands beside it where there is room, before it ``named``, which its shape says too; ``words`` tell all.
    ``range_`` is its interval upwards, ``until`` where that ends which the label names, if it is no moment.
    """

    kind: str
    x: float
    y: float
    words: str
    label: str = ""
    named: str = ""
    role: str = "read"
    range_: tuple[float, float] | None = None
    until: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A mark in words, for the table that says the same as the figure."""

    what: str
    when: str
    value: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """What is drawn, on which axes; ``says`` is read out in its stead, ``title`` stands under it."""

    says: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    bands: tuple[Band, ...] = ()
    spans: tuple[Span, ...] = ()
    markers: tuple[Marker, ...] = ()
    rows: tuple[Row, ...] = ()
    title: str = ""
    to_scale: bool = False
    """A step of one axis is as long as the same step of the other: a drawing of a thing."""

    @property
    def shape(self) -> float:
        """How many times as wide as high its area is, for one that is to scale."""
        return (self.x.high - self.x.low) / (self.y.high - self.y.low)


def compared(what: str, unit: str, lines: Sequence[Line], markers: Sequence[Marker]) -> Figure | None:
    """As found and as left on the same axes; None where there is neither. ``unit``: of what is laid off upwards."""
    if not lines:
        return None
    along = [*(x for line in lines for x, _ in line.points), *(marker.x for marker in markers)]
    up = [*(y for line in lines for _, y in line.points), *(marker.y for marker in markers)]
    says = "; ".join([what, *(line.keyed for line in lines)])
    return Figure(says, Axis.along("seconds", along), Axis.upright(unit, up), tuple(lines), markers=tuple(markers))


@dataclass(frozen=True, slots=True)
class Bar:
    """A number from nothing to ``end``, with its interval; ``whole`` where ``end`` is all there can be."""

    role: str
    read: Quantity
    end: float
    whole: bool = False

    @property
    def shares(self) -> tuple[float, float, float]:
        """Low end, value and high end of it as parts of ``end``, none beyond it.

        >>> Bar("as-left", Quantity(99.0, 97.0, 104.0), 100.0).shares
        (0.97, 0.99, 1.0)
        """
        low, value, high = (
            min(1.0, max(0.0, each / self.end)) for each in (self.read.low, self.read.value, self.read.high)
        )
        return low, value, high


def thinned(points: Points, most: int) -> Points:
    """At most so many of them: the lowest and the highest of each of equally many in a row, so that no extreme is lost.

    >>> thinned([(0, 1), (1, 5), (2, 2), (3, 0), (4, 3), (5, 3)], 4)
    [(0, 1), (1, 5), (3, 0), (4, 3)]
    """
    if len(points) <= most:
        return points
    edges = [len(points) * n // (most // 2) for n in range(most // 2 + 1)]
    kept: list[tuple[float, float]] = []
    for start, end in pairwise(edges):
        lowest, highest = (pick(range(start, end), key=lambda n: points[n][1]) for pick in (min, max))
        kept += [points[n] for n in sorted({lowest, highest})]
    return kept
