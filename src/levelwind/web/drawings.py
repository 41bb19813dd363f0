"""Drawings made from data: what a template needs to draw them as SVG, in the drawing's own units."""

from dataclasses import dataclass
from typing import Any

from levelwind.core.quantities import Quantity
from levelwind.documents.scale import ForceCurves, SpeedCurves, drawn
from levelwind.shop.readings.selectors.readings import Readings

WIDTH, HEIGHT = 600, 300
LEFT, BOTTOM, TOP, RIGHT = 56, 40, 36, 24
BAR = 200


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
    top_y: float
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
        top_y=_y(1),
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


@dataclass(frozen=True, slots=True)
class ShareBar:
    """One share of what took the spool's speed, as a bar from nothing to all, with its interval."""

    kind: str
    moment: str
    percent: Quantity
    value_x: float
    low_x: float
    high_x: float
    width: int = BAR


@dataclass(frozen=True, slots=True)
class ShareRow:
    """One of dry friction, oil and air: a bar for each moment that tells it, and what the difference is worth."""

    name: str
    bars: tuple[ShareBar, ...]
    difference: str


def share_rows(readings: Readings) -> tuple[ShareRow, ...]:
    """Nothing where no recording tells what took the spool's speed away."""
    if not readings.shares:
        return ()
    return tuple(
        ShareRow(name, tuple(_share_bar(each.moment, dict(each.bars)[name]) for each in readings.shares), difference)
        for name, difference in ((name, readings.share_difference(name)) for name, _ in readings.shares[0].bars)
    )


def _share_bar(moment: str, share: Quantity) -> ShareBar:
    low, value, high = (round(BAR * min(1.0, max(0.0, x)), 1) for x in (share.low, share.value, share.high))
    return ShareBar(moment.replace(" ", "-"), moment, share.scaled(100.0), value, low, high)
