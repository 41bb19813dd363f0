"""A plot as a template draws it: places in per cent of its area, so that its words stay legible at every size."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, log10

from levelwind.documents.scale import step_for

Points = Sequence[Sequence[float]]

PHONE_PX, DESK_PX, HEIGHT_PX = 300.0, 820.0, 280.0
"""How wide a plot's area is on a phone and at a desk, and how high: so much room have the words on it."""

LETTER_PX, LINE_PX, SHAPE_PX = 7.8, 19.0, 10.0
KEY = {
    "edge": "start and end",
    "breakaway": "breakaway, with its range",
    "running": "running level, with its range",
    "wobble": "wobble once a turn",
    "flick": "first speed",
    "half": "half speed",
    "rest": "at rest",
    "rest-range": "when it came to rest, its range",
}
"""What the shapes stand for."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of an axis: where, in per cent, and what is written there."""

    at: float
    label: str
    at_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """A curve: its name, the class it is drawn in, its points in a box of 1000 by 100."""

    name: str
    kind: str
    points: str


@dataclass(frozen=True, slots=True)
class Dot:
    """One moment found: a shape at its place, its interval as a bar, its words beside it where there is room."""

    kind: str
    at_s: float
    x: float
    y: float
    named: str
    """What its words begin with where there is room for it; its shape says the same."""
    short: str
    words: str
    top: float | None = None
    height: float = 0.0
    until_s: float | None = None
    until_x: float = 100.0
    """Where what it names ends, if that is no moment: its words go no further."""
    room: str = "none"
    """Where its words fit: "phone" everywhere, "desk" only on a wide screen, "none" nowhere before one looks closer."""

    @property
    def side(self) -> str:
        """Words stand to the right of the shape, but for one near the right edge."""
        return "end" if self.x > 62 and self.kind != "level" else "start"

    @property
    def word_x(self) -> int:
        return {"end": -10, "start": 10}[self.side]

    @property
    def word_y(self) -> int:
        """The words of a level stand under it, all others over their shape; px from the dot."""
        return 22 if self.kind == "level" else -10


@dataclass(frozen=True, slots=True)
class Level:
    """A value that held from one moment to another, with its interval as a band."""

    kind: str
    from_s: float
    to_s: float
    x: float
    width: float
    y: float
    top: float
    height: float
    words: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """From where to where one pull or spin lies."""

    number: int
    name: str
    from_s: float
    to_s: float
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Row:
    """A mark in words, for the table under the plot."""

    what: str
    when: str
    value: str


@dataclass(frozen=True, slots=True)
class Plot:
    """What stands on the plot, and the table that says the same."""

    label: str
    unit: str
    from_s: float
    to_s: float
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    lines: tuple[Line, ...]
    stretches: tuple[Stretch, ...] = ()
    levels: tuple[Level, ...] = ()
    dots: tuple[Dot, ...] = ()
    rows: tuple[Row, ...] = ()

    @property
    def key(self) -> tuple[tuple[str, str], ...]:
        """Each shape on the plot and what it stands for."""
        there = {dot.kind for dot in self.dots} | {level.kind for level in self.levels}
        there |= {"edge"} if self.stretches else set()
        return tuple((kind, words) for kind, words in KEY.items() if kind in there)


@dataclass(frozen=True, slots=True)
class Axes:
    """From which to which second and value the plot reaches."""

    from_s: float
    to_s: float
    low: float
    high: float

    @classmethod
    def around(cls, times: Iterable[float], values: Iterable[float]) -> "Axes":
        """Nothing left out, a little air at the right and above; the axes start at nought where that is near.

        >>> Axes.around([0.4, 10.0], [0.0, 50.0])
        Axes(from_s=0.0, to_s=10.288, low=0.0, high=59.0)
        """
        at, force = list(times), list(values)
        first, last = min(at), max(at)
        length = max(last - first, 0.1)
        highest = max(*force, 1e-6)
        lowest = min(force)
        low = 1.1 * lowest if lowest < -0.03 * highest else 0.0
        start = 0.0 if 0 <= first < 0.1 * length else first - 0.02 * length
        return cls(start, round(last + 0.03 * length, 6), low, 1.18 * highest)

    def x(self, at_s: float) -> float:
        return round(100 * (at_s - self.from_s) / (self.to_s - self.from_s), 3)

    def y(self, value: float) -> float:
        return round(100 * (1 - (value - self.low) / (self.high - self.low)), 3)

    def line(self, name: str, kind: str, points: Points) -> Line:
        return Line(name, kind, " ".join(f"{10 * self.x(t):.2f},{self.y(v):.2f}" for t, v in points))

    def dot(self, kind: str, at_s: float, value: float, label: tuple[str, str], words: str, range_: Points = ()) -> Dot:
        """``label``: what its words begin with where there is room, and the words themselves."""
        top, height = self._between(*range_[0]) if range_ else (None, 0.0)
        return Dot(kind, at_s, self.x(at_s), self.y(value), *label, words, top, height)

    def level(self, kind: str, from_s: float, to_s: float, value: float, low: float, high: float, words: str) -> Level:
        x = self.x(from_s)
        return Level(kind, from_s, to_s, x, round(self.x(to_s) - x, 3), self.y(value), *self._between(low, high), words)

    def stretch(self, number: int, name: str, from_s: float, to_s: float) -> Stretch:
        x = self.x(from_s)
        return Stretch(number, name, from_s, to_s, x, round(self.x(to_s) - x, 3))

    def _between(self, low: float, high: float) -> tuple[float, float]:
        top = max(self.y(high), 0.0)
        return top, round(self.y(low) - top, 3)

    @property
    def x_ticks(self) -> tuple[Tick, ...]:
        return tuple(Tick(self.x(at), label, at) for at, label in _ticks(self.from_s, self.to_s, 6))

    @property
    def y_ticks(self) -> tuple[Tick, ...]:
        return tuple(Tick(self.y(at), label) for at, label in _ticks(self.low, self.high, 5))


def _ticks(low: float, high: float, count: int) -> list[tuple[float, str]]:
    step = step_for(high - low, count)
    decimals = max(0, -floor(log10(step)))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [(n * step, f"{n * step:z.{decimals}f}") for n in range(first, last + 1)]


def with_room(dots: Sequence[Dot]) -> tuple[Dot, ...]:
    """Each dot knows where its words fit without touching another's."""
    on_phone, at_desk = _fitting(dots, PHONE_PX), _fitting(dots, DESK_PX)
    rooms = ["phone" if i in on_phone else "desk" if i in at_desk else "none" for i in range(len(dots))]
    return tuple(replace(dot, room=room) for dot, room in zip(dots, rooms, strict=True))


def _fitting(dots: Sequence[Dot], width_px: float) -> set[int]:
    """Numbers of the dots whose words fit beside every shape, the first served first."""
    shapes = [(dot.x / 100 * width_px, dot.y / 100 * HEIGHT_PX) for dot in dots if dot.kind != "level"]
    taken = [(x - SHAPE_PX, x + SHAPE_PX, y) for x, y in shapes]
    fit = set()
    for number, dot in enumerate(dots):
        long = LETTER_PX * len(f"{dot.named} {dot.short}") + 12
        at, y = dot.x / 100 * width_px, dot.y / 100 * HEIGHT_PX + dot.word_y
        left = at - long if dot.side == "end" else at
        inside = left >= 0 and left + long <= dot.until_x / 100 * width_px
        if inside and all(left > b or left + long < a or abs(y - h) > LINE_PX for a, b, h in taken):
            taken.append((left, left + long, y))
            fit.add(number)
    return fit
