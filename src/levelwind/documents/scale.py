"""Drawings to scale: readings as fractions of an axis, so that a layout only multiplies by its width and height."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, isfinite, log10
from statistics import median

from levelwind.core.errors import InputError

COLUMNS = 360
"""A curve is drawn with the lowest and the highest point of each of so many strips: finer than paper shows."""

NAME_HEIGHT = 0.21
"""Of the height of the drawing: the room a curve's name and running drag take."""

NOTHING = 1e-9
"""Less than this is no reading in any unit of force or time that a bench uses."""


@dataclass(frozen=True, slots=True)
class Trace:
    """One pull: seconds and force, in the unit of the drawing; the breakaway and running drag found in it, if any.

    ``breakaway_s`` says when it lets go; without it the ring stands where the force first comes to the breakaway.
    """

    t_s: tuple[float, ...]
    force: tuple[float, ...]
    breakaway: float | None = None
    running: float | None = None
    breakaway_s: float | None = None

    def __post_init__(self) -> None:
        _can_be_drawn(self.t_s, self.force)


@dataclass(frozen=True, slots=True)
class ForceCurves:
    """The pull as found against as left, both from the start of the pull, in one unit of force."""

    as_found: Trace | None
    as_left: Trace | None
    unit: str = "N"


@dataclass(frozen=True, slots=True)
class SpeedTrace:
    """One spin running down: seconds and turns a second, and how long after its first moment it was at rest, if told.

    ``says`` is what stands beside the curve, such as "34 s".
    """

    t_s: tuple[float, ...]
    rev_s: tuple[float, ...]
    spin_time_s: float | None = None
    says: str = ""

    def __post_init__(self) -> None:
        _can_be_drawn(self.t_s, self.rev_s)


@dataclass(frozen=True, slots=True)
class SpeedCurves:
    """The spin as found against as left, both from the first moment each was followed."""

    as_found: SpeedTrace | None
    as_left: SpeedTrace | None
    unit: str = "rev/s"


@dataclass(frozen=True, slots=True)
class _Curve:
    """A curve about to be laid on its axes: where its ring stands, at what height it is named, what is said there."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    ring: tuple[float, float] | None
    level: float | None
    says: str | None


def _can_be_drawn(times: tuple[float, ...], heights: tuple[float, ...]) -> None:
    if len(times) != len(heights) or len(times) < 2:
        raise InputError("count of times and readings", (len(times), len(heights)), "equal, 2 or more")
    if not all(isfinite(x) for x in (*times, *heights)):
        raise InputError("a point of the curve", "not a number", "finite numbers only")
    if any(b < a for a, b in pairwise(times)):
        raise InputError("time on the curve", "running backwards", "times that rise")


def step_for(reach: float, marks: int = 5) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides an axis from nothing to ``reach`` into about ``marks``.

    >>> step_for(47.0)
    10.0
    """
    rough = reach / marks
    decade = 10.0 ** floor(log10(rough))
    return float(next(m for m in (1, 2, 5, 10) if m * decade >= rough * 0.999) * decade)


def axis(reach: float, marks: int = 5) -> tuple[float, list[dict[str, object]]]:
    """Where the axis ends, and its marks: each where (0 to 1) and what is written there. It starts at nothing."""
    if reach < NOTHING:
        reach = 1.0
    step = step_for(reach, marks)
    count = ceil(reach / step - 1e-9)
    decimals = max(0, -floor(log10(step)))
    return count * step, [{"at": i / count, "label": f"{i * step:.{decimals}f}"} for i in range(count + 1)]


def drawn(curves: ForceCurves | SpeedCurves) -> dict[str, object] | None:
    """The curves as a layout draws them, or None when there is nothing to draw.

    The ring is where a pull lets go, or where a spool is at rest; ``says`` the running drag, or the time to rest.
    """
    traces = {name: t for name, t in (("as found", curves.as_found), ("as left", curves.as_left)) if t}
    laid = [_pull(name, t, curves.unit) if isinstance(t, Trace) else _spin(name, t) for name, t in traces.items()]
    if not laid:
        return None
    x_end, x_marks = axis(max(max(c.x[-1], *((c.ring[0],) if c.ring else ()), 0.0) for c in laid), 6)
    y_end, y_marks = axis(1.02 * max(max(*c.y, c.level or 0.0, c.ring[1] if c.ring else 0.0) for c in laid), 5)
    named_at = _parted([_share(c.level, y_end) for c in laid])
    return {
        "unit": curves.unit,
        "x_marks": x_marks,
        "y_marks": y_marks,
        "traces": [
            {
                "name": c.name,
                "named_at": height,
                "points": _thinned([x / x_end for x in c.x], [y / y_end for y in c.y]),
                "ring": c.ring and [round(c.ring[0] / x_end, 5), round(max(c.ring[1], 0.0) / y_end, 5)],
                "says": c.says,
            }
            for c, height in zip(laid, named_at, strict=True)
        ],
    }


def _pull(name: str, trace: Trace, unit: str) -> _Curve:
    """Named at its running drag, or at the middle of its readings; the ring where it first comes to its breakaway."""
    start = trace.t_s[0]
    points = [(t - start, force) for t, force in zip(trace.t_s, trace.force, strict=True)]
    ring = None
    if trace.breakaway is not None:
        ring = _first_at(points, trace.breakaway)
        ring = ring if trace.breakaway_s is None else (trace.breakaway_s - start, trace.breakaway)
    says = None if trace.running is None else f"{trace.running:.3g} {unit}"
    level = median(trace.force) if trace.running is None else trace.running
    return _Curve(name, tuple(t for t, _ in points), trace.force, ring, level, says)


def _spin(name: str, trace: SpeedTrace) -> _Curve:
    """Named at the top, where a spool running down leaves room; the ring where it is at rest."""
    start = trace.t_s[0]
    ring = None if trace.spin_time_s is None else (trace.spin_time_s, 0.0)
    return _Curve(name, tuple(t - start for t in trace.t_s), trace.rev_s, ring, None, trace.says or None)


def _share(level: float | None, end: float) -> float:
    return 1.0 if level is None else min(1.0, max(0.0, level / end))


def _first_at(points: list[tuple[float, float]], height: float) -> tuple[float, float]:
    """Where a curve first comes to this height, or its highest point if it stays below."""
    return next((p for p in points if p[1] >= height), max(points, key=lambda p: p[1]))


def _parted(heights: list[float]) -> list[float]:
    """Heights for the names of one or two curves, moved apart where the words would touch, within the drawing."""
    if len(heights) < 2 or abs(heights[0] - heights[1]) >= NAME_HEIGHT:
        return heights
    half = NAME_HEIGHT / 2
    middle = min(1 - half, max(half, sum(heights) / 2))
    up = 1 if heights[0] >= heights[1] else -1
    return [middle + up * half, middle - up * half]


def _thinned(xs: Sequence[float], ys: Sequence[float]) -> list[list[float]]:
    """Few enough points to draw, every peak and trough kept. Force below nothing is drawn as nothing."""
    points = [[round(x, 5), round(max(y, 0.0), 5)] for x, y in zip(xs, ys, strict=True)]
    if len(points) <= 2 * COLUMNS:
        return points
    strips: dict[int, list[list[float]]] = {}
    for point in points:
        strips.setdefault(min(COLUMNS - 1, int(point[0] * COLUMNS)), []).append(point)
    kept: list[list[float]] = []
    for strip in strips.values():
        ends = {id(p): p for p in (min(strip, key=lambda p: p[1]), max(strip, key=lambda p: p[1]))}
        kept.extend(sorted(ends.values()))
    return kept
