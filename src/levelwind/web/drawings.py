"""Drawings made from data: what a template needs to draw them as SVG, in the drawing's own units."""

from dataclasses import dataclass
from typing import Any

from levelwind.documents.scale import ForceCurves, drawn

WIDTH, HEIGHT = 600, 300
LEFT, BOTTOM, TOP, RIGHT = 56, 40, 14, 14


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve: its name, its points, where its breakaway is marked and where its running drag lies."""

    name: str
    kind: str
    points: str
    breakaway: tuple[float, float] | None
    running_y: float | None
    runs_at: str | None


@dataclass(frozen=True, slots=True)
class ForceDrawing:
    """Force over time, as found against as left, on ruled axes."""

    width: int
    height: int
    floor_y: float
    right_x: float
    left_x: float
    x_marks: tuple[tuple[float, str], ...]
    y_marks: tuple[tuple[float, str], ...]
    curves: tuple[Curve, ...]
    unit: str


def _x(share: float) -> float:
    return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)


def _y(share: float) -> float:
    return round(HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP), 1)


def force_drawing(curves: ForceCurves | None) -> ForceDrawing | None:
    """The curves laid on the page; None where there is nothing to draw."""
    laid: dict[str, Any] | None = drawn(curves) if curves else None
    if laid is None or curves is None:
        return None
    return ForceDrawing(
        width=WIDTH,
        height=HEIGHT,
        floor_y=_y(0),
        right_x=_x(1),
        left_x=_x(0),
        x_marks=tuple((_x(mark["at"]), mark["label"]) for mark in laid["x_marks"]),
        y_marks=tuple((_y(mark["at"]), mark["label"]) for mark in laid["y_marks"]),
        curves=tuple(_curve(trace) for trace in laid["traces"]),
        unit=curves.unit,
    )


def _curve(trace: dict[str, Any]) -> Curve:
    mark = trace["breakaway"]
    return Curve(
        name=trace["name"],
        kind="as-found" if trace["name"] == "as found" else "as-left",
        points=" ".join(f"{_x(x)},{_y(y)}" for x, y in trace["points"]),
        breakaway=(_x(mark[0]), _y(mark[1])) if mark else None,
        running_y=_y(trace["named_at"]),
        runs_at=trace["runs_at"],
    )
