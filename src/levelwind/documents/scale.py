"""Drawings to scale: readings as fractions of an axis, so that a layout only multiplies by its width and height."""

from collections.abc import Sequence
from dataclasses import dataclass
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
    """One pull: seconds and force, in the unit of the drawing; the breakaway and running drag found in it, if any."""

    t_s: tuple[float, ...]
    force: tuple[float, ...]
    breakaway: float | None = None
    running: float | None = None

    def __post_init__(self) -> None:
        if len(self.t_s) != len(self.force) or len(self.t_s) < 2:
            raise InputError("count of times and forces", (len(self.t_s), len(self.force)), "equal, 2 or more")
        if not all(isfinite(x) for x in (*self.t_s, *self.force)):
            raise InputError("a point of the curve", "not a number", "finite numbers only")
        if any(b < a for a, b in zip(self.t_s, self.t_s[1:], strict=False)):
            raise InputError("time on the curve", "running backwards", "times that rise")


@dataclass(frozen=True, slots=True)
class ForceCurves:
    """The pull as found against as left, both from the start of the pull, in one unit of force."""

    as_found: Trace | None
    as_left: Trace | None
    unit: str = "N"


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


def drawn(curves: ForceCurves) -> dict[str, object] | None:
    """The curves as a layout draws them, or None when there is nothing to draw."""
    traces = {name: t for name, t in (("as found", curves.as_found), ("as left", curves.as_left)) if t}
    if not traces:
        return None
    longest = max(t.t_s[-1] - t.t_s[0] for t in traces.values())
    strongest = max(max(*t.force, t.breakaway or 0.0, t.running or 0.0) for t in traces.values())
    x_end, x_marks = axis(longest, 6)
    y_end, y_marks = axis(strongest * 1.02, 5)
    named_at = _parted([min(1.0, max(0.0, _level(t) / y_end)) for t in traces.values()])
    return {
        "unit": curves.unit,
        "x_marks": x_marks,
        "y_marks": y_marks,
        "traces": [
            {"name": name, "named_at": height, **_trace(trace, x_end, y_end)}
            for (name, trace), height in zip(traces.items(), named_at, strict=True)
        ],
    }


def _level(trace: Trace) -> float:
    """The force a curve is named at: its running drag, or the middle of its readings."""
    return median(trace.force) if trace.running is None else trace.running


def _trace(trace: Trace, x_end: float, y_end: float) -> dict[str, object]:
    points = _thinned([(t - trace.t_s[0]) / x_end for t in trace.t_s], [f / y_end for f in trace.force])
    return {
        "points": points,
        "breakaway": None if trace.breakaway is None else _first_at(points, trace.breakaway / y_end),
        "runs_at": None if trace.running is None else f"{trace.running:.3g}",
    }


def _first_at(points: list[list[float]], height: float) -> list[float]:
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
