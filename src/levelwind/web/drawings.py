"""Drawings made from data: what a template needs to draw them as SVG, in the drawing's own units."""

from dataclasses import dataclass
from typing import Any

from levelwind.documents.scale import ForceCurves, SpeedCurves, drawn

WIDTH, HEIGHT = 600, 300
LEFT, BOTTOM, TOP, RIGHT = 56, 40, 14, 14


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve: its name, its points, where its ring stands, and what is said of it."""

    name: str
    kind: str
    points: str
    ring: tuple[float, float] | None
    says: str | None


@dataclass(frozen=True, slots=True)
class CurvesDrawing:
    """Force or speed over time, as found against as left, on ruled axes."""

    width: int
    height: int
    floor_y: float
    right_x: float
    left_x: float
    x_marks: tuple[tuple[float, str], ...]
    y_marks: tuple[tuple[float, str], ...]
    curves: tuple[Curve, ...]
    unit: str


ForceDrawing = CurvesDrawing


def _x(share: float) -> float:
    return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)


def _y(share: float) -> float:
    return round(HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP), 1)


def force_drawing(curves: ForceCurves | None) -> CurvesDrawing | None:
    """The pulls laid on the page; None where there is nothing to draw."""
    return _drawing(curves)


def speed_drawing(curves: SpeedCurves | None) -> CurvesDrawing | None:
    """The spins laid on the page; None where there is nothing to draw."""
    return _drawing(curves)


def _drawing(curves: ForceCurves | SpeedCurves | None) -> CurvesDrawing | None:
    laid: dict[str, Any] | None = drawn(curves) if curves else None
    if laid is None or curves is None:
        return None
    return CurvesDrawing(
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
    ring = trace["ring"]
    return Curve(
        name=trace["name"],
        kind="as-found" if trace["name"] == "as found" else "as-left",
        points=" ".join(f"{_x(x)},{_y(y)}" for x, y in trace["points"]),
        ring=(_x(ring[0]), _y(ring[1])) if ring else None,
        says=trace["says"],
    )
