"""Pieces as they were seen on the sheet, and what their outlines say once it is known how high they stand."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from levelwind.core.fits.model import Floats

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Outline:
    """Points on an edge and the unit normals that point away from the material, both in mm of the sheet."""

    points: tuple[Point, ...]
    normals: tuple[Point, ...]
    soft: tuple[bool, ...] = ()
    """Where the light rises over a wider way than at the rest of the edge: a shadow's rim runs into the edge there.
    Empty: nowhere."""


class Edge(NamedTuple):
    """An edge as if it lay on the paper: points, the unit normals off the material, mm, which points are foot or rim
    for certain, and which of them are seen as sharp as an edge can be."""

    points: Floats
    normals: Floats
    told: npt.NDArray[np.bool_]
    sharp: npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sides:
    """A long piece seen across: from ``start``, in the direction ``along``, every ``step_mm``, how far its two sides
    lie to the left (below nothing) and to the right of that line; nan where a side was not seen."""

    start: Point
    along: Point
    step_mm: float
    left_mm: tuple[float | None, ...]
    right_mm: tuple[float | None, ...]
    ends_mm: tuple[float, float]
    """Where along the line the piece begins and ends."""


@dataclass(frozen=True, slots=True)
class SeenPiece:
    """One piece: its outer edge, its holes, the largest first, and its sides where it is long."""

    outer: Outline
    holes: tuple[Outline, ...] = ()
    sides: Sides | None = None
    unclear: float = 0.0
    """Part of its outer edge that lies in a shadow, or where another piece touches it."""
    cut_off: bool = False
    """It reaches over the room for pieces."""


@dataclass(frozen=True, slots=True)
class Eye:
    """Where the lens stood over the sheet, mm, and how far off that may be (standard deviations)."""

    x_mm: float
    y_mm: float
    height_mm: float
    off_mm: tuple[float, float, float]


BETWEEN, BETWEEN_MM = 0.15, 1.0
"""Sine of the angle, between an edge and the line from the lens, under which neither foot nor rim is seen but the side
between them; and mm that the rim must be seen aside of the foot for it to matter. Our choice."""


def brought_down(outline: Outline, eye: Eye, height_mm: float, *, round_edge: bool = False) -> Edge:
    """The edge as if it lay on the paper.

    A rim ``h`` above the paper is seen from the height H as if it lay further from the point under the lens, H/(H - h)
    times. Of a piece with upright sides that rim shows where the edge looks away from the lens, its foot elsewhere, and
    where it runs along the line from the lens it may be the side between them. A ``round_edge`` shows at half its
    height all round.
    """
    points, normals = np.array(outline.points), np.array(outline.normals)
    under = np.array([eye.x_mm, eye.y_mm])
    from_lens = points - under
    high = height_mm / 2 if round_edge else height_mm
    shrink = 1 - high / eye.height_mm
    lowered = under + from_lens * shrink
    every = np.ones(len(points), dtype=bool)
    sharp = ~np.array(outline.soft) if outline.soft else every
    if round_edge:
        return Edge(lowered, normals, every, sharp)
    away = (from_lens * normals).sum(axis=1)
    far = np.hypot(*from_lens.T)
    told = (np.abs(away) > BETWEEN * far) | (far * (1 - shrink) < BETWEEN_MM)
    return Edge(np.where(away[:, None] > 0, lowered, points), normals, told, sharp)


@dataclass(frozen=True, slots=True)
class Circle:
    x_mm: float
    y_mm: float
    radius_mm: float
    spread_mm: float
    """How far its points lie off it, standard deviation."""
    share: float
    """Of all points: those near it."""

    def off(self, points: Floats) -> Floats:
        """How far outside each point lies, mm."""
        return np.asarray(np.hypot(points[:, 0] - self.x_mm, points[:, 1] - self.y_mm) - self.radius_mm)


def circle_through(points: Floats) -> tuple[float, float, float]:
    """Middle and radius, by least squares on the squares (Kåsa's fit, moved to the points' own middle).

    >>> turn = np.linspace(0, 5, 9)
    >>> [round(each, 6) for each in circle_through(np.column_stack([3 + 2 * np.cos(turn), 1 + 2 * np.sin(turn)]))]
    [3.0, 1.0, 2.0]
    """
    about = points.mean(axis=0)
    x, y = (points - about).T
    (a, b, c), *_ = np.linalg.lstsq(np.column_stack([x, y, np.ones(len(x))]), x**2 + y**2, rcond=None)
    return float(about[0] + a / 2), float(about[1] + b / 2), float(np.sqrt(max(c + (a**2 + b**2) / 4, 0.0)))


NEAR_MM = 0.12
"""mm; a point this near to a circle belongs to it: about one dot of a picture of 12 megapixels. Our choice."""

LEAST_NEAR_MM, POLISHED = 0.03, 3.0
"""mm, and times the usual distance of the points from the circle: further off, a point does not draw it. Our choice."""


def best_circle(points: Floats, near_mm: float = NEAR_MM, start: Circle | None = None) -> Circle:
    """The circle that most points lie on, whatever the others do: three points at a time, then all that are near."""
    found = start or _most_agreed(points, near_mm)
    for _ in range(8):
        off = found.off(points)
        near = np.abs(off) < max(near_mm, 3 * min(found.spread_mm, near_mm))
        if near.sum() < 8:
            break
        x, y, radius = circle_through(points[near])
        again = Circle(x, y, radius, float(np.sqrt((off[near] ** 2).mean())), float(near.mean()))
        if abs(again.radius_mm - found.radius_mm) < 1e-6 and again.share == found.share:
            break
        found = again
    found = _polished(points, found, near_mm)
    off = found.off(points)
    near = np.abs(off) < near_mm
    return Circle(found.x_mm, found.y_mm, found.radius_mm, float(off[near].std()) if near.any() else 9.9, near.mean())


def _polished(points: Floats, found: Circle, near_mm: float) -> Circle:
    """Once more by the points that lie nearest: the feet of ears and keys, which lie near too, would draw it aside."""
    for _ in range(6):
        off = np.abs(found.off(points))
        usual = float(np.median(off[off < near_mm])) if (off < near_mm).any() else near_mm
        near = off < max(LEAST_NEAR_MM, POLISHED * usual)
        if near.sum() < 8:
            break
        found = Circle(*circle_through(points[near]), found.spread_mm, found.share)
    return found


def _most_agreed(points: Floats, near_mm: float) -> Circle:
    """Each third of the way round with the two others, in turn: no dice are needed."""
    count = len(points)
    best = Circle(*circle_through(points), 9.9, 0.0)
    for stride in (count // 3, count // 4, count // 6, count // 9):
        for first in range(0, count, max(1, count // 24)):
            three = points[[first, (first + stride) % count, (first + 2 * stride) % count]]
            (ax, ay), (bx, by) = three[1] - three[0], three[2] - three[0]
            if abs(ax * by - ay * bx) < 1e-6:
                continue
            x, y, radius = circle_through(three)
            tried = Circle(x, y, radius, near_mm, 0.0)
            share = float((np.abs(tried.off(points)) < near_mm).mean())
            if share > best.share:
                best = Circle(x, y, radius, near_mm, share)
    return best
