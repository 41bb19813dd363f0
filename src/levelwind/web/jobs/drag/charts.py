"""Line charts of a drag as SVG: what a template needs to draw them, in the drawing's own units."""

from collections.abc import Sequence
from dataclasses import dataclass

from levelwind.core.quantities import Quantity
from levelwind.documents.scale import axis

WIDTH, HEIGHT = 420, 260
LEFT, BOTTOM, TOP, RIGHT = 40, 44, 14, 12
"""Narrow, so that its words can be read on a phone without pinching."""

Values = Sequence[float]


@dataclass(frozen=True, slots=True)
class Curve:
    """One line with its name; ``kind`` says how it is drawn: plain or dashed."""

    name: str
    kind: str
    points: str


@dataclass(frozen=True, slots=True)
class Level:
    """A line across at a height, with its name at the end where the curves leave it room."""

    name: str
    y: float
    at_left: bool


@dataclass(frozen=True, slots=True)
class Dot:
    """A reading with the ends of its interval, and its name: above it, or below where another is higher."""

    name: str
    x: float
    y: float
    low_y: float
    high_y: float
    below: bool


@dataclass(frozen=True, slots=True)
class Chart:
    """Curves on ruled axes; ``band`` is the 90 % interval as a polygon, empty where there is none."""

    title: str
    says: str
    x_name: str
    y_name: str
    curves: tuple[Curve, ...]
    band: str
    levels: tuple[Level, ...]
    dots: tuple[Dot, ...]
    marker_x: float | None
    x_marks: tuple[tuple[float, str], ...]
    y_marks: tuple[tuple[float, str], ...]
    width: int = WIDTH
    height: int = HEIGHT
    left_x: int = LEFT
    right_x: int = WIDTH - RIGHT
    top_y: int = TOP
    floor_y: int = HEIGHT - BOTTOM


def chart(
    title: str,
    xs: Values,
    curves: Sequence[tuple[str, str, Values]],
    *,
    x_name: str,
    y_name: str,
    band: tuple[Values, Values] | None = None,
    levels: Sequence[tuple[str, float]] = (),
    dots: Sequence[tuple[str, float, Quantity]] = (),
    marker: float | None = None,
) -> Chart:
    """A chart from nothing up; curves are (name, kind, values), ``band`` the low and high ends over the same xs, dots
    are readings (name, x, what was read).

    A level far above everything else is left out, so that the curves are not pressed flat.
    """
    tops = (
        [max(values) for _, _, values in curves] + ([max(band[1])] if band else []) + [dot.high for _, _, dot in dots]
    )
    reach = max(tops)
    shown = [(name, value) for name, value in levels if value <= 1.6 * reach]
    x_end, x_marks = axis(max(xs), 5)
    y_end, y_marks = axis(max([reach, *(value for _, value in shown)]) * 1.03, 4)

    def place(x: float, y: float) -> str:
        return f"{_x(x / x_end)},{_y(y / y_end)}"

    drawn = tuple(
        Curve(name, kind, " ".join(place(x, y) for x, y in zip(xs, values, strict=True)))
        for name, kind, values in curves
    )
    shares = [(x / x_end, y / y_end) for _, _, values in curves for x, y in zip(xs, values, strict=True)]
    polygon = ""
    if band:
        there = [place(x, y) for x, y in zip(xs, band[1], strict=True)]
        back = [place(x, y) for x, y in zip(xs, band[0], strict=True)]
        polygon = " ".join(there + back[::-1])
    first = curves[0][2]
    return Chart(
        title=title,
        says=f"{title}: from {first[0]:.3g} at {xs[0]:.3g} to {first[-1]:.3g} at {xs[-1]:.3g} ({x_name}; {y_name})."
        + "".join(f" {name}: {read.value:.3g} at {x:.3g}." for name, x, read in dots),
        x_name=x_name,
        y_name=y_name,
        curves=drawn,
        band=polygon,
        levels=tuple(Level(name, _y(value / y_end), _freer_at_left(value / y_end, shares)) for name, value in shown),
        dots=tuple(
            Dot(
                name=name,
                x=_x(x / x_end),
                y=_y(read.value / y_end),
                low_y=_y(read.low / y_end),
                high_y=_y(read.high / y_end),
                below=any(other.value > read.value for _, _, other in dots),
            )
            for name, x, read in dots
        ),
        marker_x=None if marker is None or marker > x_end else _x(marker / x_end),
        x_marks=tuple((_x(float(str(mark["at"]))), str(mark["label"])) for mark in x_marks),
        y_marks=tuple((_y(float(str(mark["at"]))), str(mark["label"])) for mark in y_marks),
    )


def _freer_at_left(level: float, shares: Sequence[tuple[float, float]]) -> bool:
    """Whether a name above a level is further from the curves over the first third than over the last."""
    name_at = level + 0.05
    first = min((abs(y - name_at) for x, y in shares if x < 1 / 3), default=1.0)
    last = min((abs(y - name_at) for x, y in shares if x > 2 / 3), default=1.0)
    return first > last


def _x(share: float) -> float:
    return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)


def _y(share: float) -> float:
    return round(HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP), 1)
