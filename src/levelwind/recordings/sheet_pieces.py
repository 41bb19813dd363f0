"""Pieces on the straightened sheet: found, outlined, and their edges sought in the picture itself."""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from scipy.spatial.distance import cdist

from levelwind.core.fits.camera import Camera
from levelwind.core.fits.edges import rises, strongest
from levelwind.core.fits.model import Floats
from levelwind.core.fits.outlines import Outline, SeenPiece, Sides
from levelwind.core.fits.sheet import Sheet

GRID_PX_PER_MM = 8
"""Dots a millimetre in which pieces are sought; their edges are then sought finer."""

DARKER, MORE_COLOURED = 0.80, 0.15
"""A place is no paper where it is darker than this part of it, or its colour is this far off: our choice."""

SHADOW_SHARES = (0.30, 0.20, 0.45, 0.60, 0.75)
"""From the darkness of a piece's middle to the paper's white: what lies beyond is taken for its shadow. A dull piece in
a deep shadow needs a low one, a glossy piece a high one: taken is the one along whose outline the light changes
fastest. Our choice."""

STEEP_BEFORE = 1.05
"""Times as steep an outline must be to be taken before an earlier one of those: our choice."""

SMALLEST_MM = 1.6
"""mm; what is smaller is a crumb, or the dot of a pencil. Our choice."""

MOST_PIECES = 40

LONG = 1.7
"""Times as long as wide, from which a piece is measured along: our choice."""

FILLED = 0.6
"""Of the rectangle round it a piece that lies along fills at least: our choice."""

NEAR_MM = 0.7
"""mm inside and outside of a first outline where its edge is sought."""

SHADE_MM = 0.7
"""mm outside of an outline where clean paper should be."""

WEAK, WEAKEST = 0.45, 0.22
"""Of the usual steepness of a piece's edge: a place less steep than the first is in a shadow, than the second is no
edge. Set on rendered pictures other than those that the tests count."""

RISE, APART = 0.35, 2.5
"""A second rise of light counts if it is this part as steep as the steepest, and so many blurs from the first. Our
choice."""

BEVELLED, BEVEL = 0.5, 1.6
"""Two rises along half of an outline and more are no shadow, which lies on one side, but a bevel; its width is up to so
many times its usual. Our choice."""

RISE_BLURS, SOFTER = 3.0, 1.25
"""Blurs on either side of an edge between which the light's rise is looked at, and times as wide as its sharpest
quarter from which a place is called soft: our choice."""

WALL_SHARE = 0.6
"""Of a ring's width: no further into it the one edge is sought, so as not to meet the other."""


def looked_up(picture: np.ndarray, at: np.ndarray, how: int) -> np.ndarray:
    """The picture at each place of ``at`` (rows by columns by x and y); outside of it, as at its nearest edge."""
    across, down = np.ascontiguousarray(at[..., 0]), np.ascontiguousarray(at[..., 1])
    return np.asarray(cv2.remap(picture, across, down, how, borderMode=cv2.BORDER_REPLICATE))


@dataclass(frozen=True, slots=True)
class Light:
    """The picture as linear light, 0 to 1."""

    picture: np.ndarray

    def at(self, camera: Camera, points_mm: Floats) -> Floats:
        """Light at points of the sheet (any shape, last axis x and y)."""
        shape = points_mm.shape[:-1]
        seen = camera.pixels(points_mm.reshape(-1, 2)).astype(np.float32)
        rows = -(-len(seen) // REMAP_WIDE)
        padded = np.zeros((rows * REMAP_WIDE, 2), np.float32)
        padded[: len(seen)] = seen
        read = looked_up(self.picture, padded.reshape(rows, REMAP_WIDE, 2), cv2.INTER_CUBIC)
        return np.asarray(read.ravel()[: len(seen)].reshape(shape), dtype=np.float64)

    def across(
        self, camera: Camera, points_mm: Floats, normals: Floats, reach_mm: float, step_mm: float
    ) -> tuple[Floats, float]:
        """Lines of readings across an edge, from inside to outside, and the mm between two of them."""
        half = int(np.ceil(reach_mm / step_mm))
        at = np.arange(-half, half + 1) * step_mm
        return self.at(camera, points_mm[:, None, :] + normals[:, None, :] * at[None, :, None]), step_mm


BAND_ROWS = 128
"""Rows of a straightened picture whose places are worked out together: those of all at once take ten times the picture.
"""


def laid_flat(colours: np.ndarray, camera: Camera, wide: int, high: int, mm: Callable[[Floats], Floats]) -> np.ndarray:
    """The sheet seen square on; ``mm`` says where on it dots of the new picture (n by 2, across and down) lie."""
    flat = np.empty((high, wide, 3), np.uint8)
    for top in range(0, high, BAND_ROWS):
        y, x = np.mgrid[top : min(top + BAND_ROWS, high), 0:wide]
        at = camera.pixels(mm(np.column_stack([x.ravel(), y.ravel()]))).astype(np.float32)
        flat[top : top + len(x)] = looked_up(colours, at.reshape(*x.shape, 2), cv2.INTER_LINEAR)
    return flat


REMAP_WIDE = 1024
"""Points in a row when they are looked up: OpenCV takes pictures, not lists."""


def pieces_of(light: Light, colours: np.ndarray, camera: Camera, paper: Sheet, blur_mm: float) -> tuple[SeenPiece, ...]:
    """Every piece in the room of the sheet, from the top down."""
    left, top, right, bottom = paper.room
    grid = _Grid(left, top, round((right - left) * GRID_PX_PER_MM), round((bottom - top) * GRID_PX_PER_MM))
    bright, coloured = _against_paper(grid.straightened(colours, camera))
    no_paper = ((bright < DARKER) | coloured).astype(np.uint8)
    found = []
    for contour, _ in _contours(no_paper):
        if cv2.contourArea(contour) >= (SMALLEST_MM * GRID_PX_PER_MM) ** 2 / 2:
            found += _without_shadow(contour, bright, coloured)
    found.sort(key=lambda each: (cv2.boundingRect(each[0])[1], cv2.boundingRect(each[0])[0]))
    sight = _Sight(light, camera, blur_mm)
    return tuple(_seen(grid, sight, no_paper, contour, holes) for contour, holes in found[:MOST_PIECES])


Contours = list[tuple[np.ndarray, list[np.ndarray]]]
"""Outer edges, each with its holes, the largest hole first."""


def _contours(mask: np.ndarray) -> Contours:
    dot = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    clean = cv2.morphologyEx(cv2.morphologyEx(mask, cv2.MORPH_OPEN, dot), cv2.MORPH_CLOSE, dot)
    contours, tree = cv2.findContours(clean, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    found = []
    for n, contour in enumerate(contours):
        if tree[0][n][3] >= 0:
            continue
        holes, hole = [], tree[0][n][2]
        while hole >= 0:
            if cv2.contourArea(contours[hole]) > GRID_PX_PER_MM**2:
                holes.append(contours[hole])
            hole = tree[0][hole][0]
        found.append((contour, sorted(holes, key=cv2.contourArea, reverse=True)))
    return found


def _without_shadow(contour: np.ndarray, bright: np.ndarray, coloured: np.ndarray) -> Contours:
    """The piece alone: what is nearly as dark as its middle, or coloured."""
    x, y, wide, high = cv2.boundingRect(contour)
    own = np.zeros((high, wide), np.uint8)
    cv2.drawContours(own, [contour - (x, y)], 0, 1, cv2.FILLED)
    here, tint = bright[y : y + high, x : x + wide], coloured[y : y + high, x : x + wide]
    dark = float(np.percentile(here[(own > 0) & ((here < DARKER) | tint)], 40))
    steep = _steepness(cv2.copyMakeBorder(here, 2, 2, 2, 2, cv2.BORDER_REPLICATE))
    moved = np.array([x - 2, y - 2], dtype=np.int32)
    best, most = [], 0.0
    for share in SHADOW_SHARES:
        mask = own & ((here < dark + share * (1 - dark)) | tint).astype(np.uint8)
        parts = _contours(cv2.copyMakeBorder(mask, 2, 2, 2, 2, cv2.BORDER_CONSTANT, value=0))
        if not parts:
            continue
        outer, holes = max(parts, key=lambda each: cv2.contourArea(each[0]))
        along = np.concatenate([steep[each[:, 0, 1], each[:, 0, 0]] for each in (outer, *holes)])
        if along.mean() > STEEP_BEFORE * most:
            best, most = [(outer + moved, [hole + moved for hole in holes])], float(along.mean())
    return best


def _steepness(bright: np.ndarray) -> np.ndarray:
    """How fast the light changes, up to half of the fastest: a sharp edge counts as one, how black it is does not."""
    smooth = cv2.GaussianBlur(bright.astype(np.float32), (0, 0), 1.0)
    across, down = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    steep = np.hypot(across, down)
    steep = cv2.dilate(steep, np.ones((3, 3), np.uint8))
    return np.asarray(np.minimum(steep, np.percentile(steep, 98) / 2))


@dataclass(frozen=True, slots=True)
class _Grid:
    left: float
    top: float
    wide: int
    high: int

    def straightened(self, colours: np.ndarray, camera: Camera) -> np.ndarray:
        return laid_flat(colours, camera, self.wide, self.high, self.mm)

    def mm(self, dots: Floats) -> Floats:
        return np.asarray((dots + 0.5) / GRID_PX_PER_MM + (self.left, self.top))


def _against_paper(straight: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each place over the paper's brightness there, and where its colour is not the paper's."""
    levels = (straight.astype(np.float32) / 255) ** 2.2
    paper = np.stack([_evened(levels[:, :, n]) for n in range(3)], axis=2)
    ratio = levels / np.maximum(paper, 1e-3)
    coloured = (ratio.max(axis=2) - ratio.min(axis=2)) / np.maximum(ratio.max(axis=2), 0.05)
    return ratio.mean(axis=2), coloured > MORE_COLOURED


LARGER_THAN_PIECES = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (31, 31))
"""What is dark over more than this, in dots of 2 mm, is a shadow on the paper: our choice."""

DEEPEST = 0.3
"""Of the paper's light that is left in such a shadow at least: darker, it is a piece. Our choice."""


def _evened(level: np.ndarray) -> np.ndarray:
    """The paper's brightness everywhere: a smooth surface of the third degree through what is bright, and over it the
    shadows that are larger than any piece, as a hand or the phone throws them."""
    small = cv2.resize(level, None, fx=1 / 16, fy=1 / 16, interpolation=cv2.INTER_AREA)
    high, wide = small.shape
    x, y = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, high))
    terms = np.stack([x**i * y**j for i in range(4) for j in range(4 - i)], axis=-1).reshape(-1, 10)
    values = small.ravel().astype(np.float64)
    paper = np.full(len(values), np.percentile(values, 90))
    for _ in range(12):
        near = (values > 0.88 * paper) & (values < 1.15 * paper)
        if near.sum() < 60:
            break
        paper = terms @ np.linalg.lstsq(terms[near], values[near], rcond=None)[0]
    whole = np.asarray(paper).reshape(high, wide).astype(np.float32)
    left = cv2.morphologyEx(small / np.maximum(whole, 1e-3), cv2.MORPH_CLOSE, LARGER_THAN_PIECES)
    whole *= cv2.GaussianBlur(np.where(left > DEEPEST, left, 1.0).astype(np.float32), (0, 0), 1.5)
    return np.asarray(cv2.resize(whole, (level.shape[1], level.shape[0]), interpolation=cv2.INTER_LINEAR))


@dataclass(frozen=True, slots=True)
class _Sight:
    light: Light
    camera: Camera
    blur_mm: float

    @property
    def step_mm(self) -> float:
        return max(0.02, min(0.05, self.blur_mm / 2.5))

    def profiles(self, points: Floats, normals: Floats, inside_mm: float, outside_mm: float) -> tuple[Floats, float]:
        """Light over the paper's own beside it, and where on each line the point itself lies."""
        half = (inside_mm + outside_mm) / 2
        middle = points + normals * (outside_mm - inside_mm) / 2
        read, step = self.light.across(self.camera, middle, normals, half, self.step_mm)
        return read / np.maximum(np.percentile(read, 97), 1e-3), (read.shape[1] - 1) / 2 - (
            outside_mm - inside_mm
        ) / 2 / step


def _seen(grid: _Grid, sight: _Sight, no_paper: np.ndarray, contour: np.ndarray, holes: list[np.ndarray]) -> SeenPiece:
    first = _smooth(grid.mm(contour.reshape(-1, 2).astype(float)), outward=True)
    x, y, wide, high = cv2.boundingRect(contour)
    cut_off = x < 2 or y < 2 or x + wide > grid.wide - 2 or y + high > grid.high - 2
    (_, _), sides, _ = cv2.minAreaRect(contour)
    filled = cv2.contourArea(contour) > FILLED * sides[0] * sides[1]
    if max(sides) > LONG * min(sides) and filled and not holes:
        edge, weak = _edge(sight, *first)
        return SeenPiece(edge, (), _sides(grid, sight, contour), _in_shade(grid, no_paper, *first, weak), cut_off)
    bores = [_smooth(grid.mm(hole.reshape(-1, 2).astype(float)), outward=False) for hole in holes]
    wall = min((float(cdist(first[0][::3], bore[0][::3]).min()) for bore in bores), default=2 * NEAR_MM)
    inside = min(NEAR_MM, WALL_SHARE * wall)
    inner = [_edge(sight, *bore, inside)[0] for bore in bores]
    edge, weak = _edge(sight, *first, inside)
    shade = _in_shade(grid, no_paper, *first, weak)
    return SeenPiece(edge, tuple(each for each in inner if len(each.points) > 20), None, shade, cut_off)


def _in_shade(grid: _Grid, no_paper: np.ndarray, points: Floats, normals: Floats, weak: np.ndarray) -> float:
    """Part of the outline that is not clear to see and outside of which there is no clean paper."""
    at = (points + normals * SHADE_MM - (grid.left, grid.top)) * GRID_PX_PER_MM
    column, row = np.clip(at.round().astype(int), 0, (grid.wide - 1, grid.high - 1)).T
    return round(float(((no_paper[row, column] > 0) & weak).mean()), 3)


def _smooth(points: Floats, *, outward: bool) -> tuple[Floats, Floats]:
    """A contour taken every 0.15 mm, smoothed over half a millimetre, and the way off the material at each point."""
    closed = np.vstack([points, points[:1]])
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(48, int(length[-1] / 0.15))
    at = np.linspace(0, length[-1], count, endpoint=False)
    even = np.column_stack([np.interp(at, length, closed[:, n]) for n in (0, 1)])
    bell = np.exp(-((np.arange(-4, 5) / 1.5) ** 2) / 2)
    bell /= bell.sum()
    around = np.vstack([even[-4:], even, even[:4]])
    smooth = np.column_stack([np.convolve(around[:, n], bell, mode="valid") for n in (0, 1)])
    ahead = np.roll(smooth, -2, axis=0) - np.roll(smooth, 2, axis=0)
    normals = np.column_stack([ahead[:, 1], -ahead[:, 0]]) / np.maximum(np.hypot(*ahead.T), 1e-9)[:, None]
    area = 0.5 * float((smooth[:, 0] * np.roll(smooth[:, 1], -1) - smooth[:, 1] * np.roll(smooth[:, 0], -1)).sum())
    return smooth, normals * (1 if (area > 0) == outward else -1)


def _outline(points: Floats, normals: Floats, soft: np.ndarray) -> Outline:
    def pairs(array: Floats) -> tuple[tuple[float, float], ...]:
        return tuple((round(float(x), 4), round(float(y), 4)) for x, y in array)

    return Outline(pairs(points), pairs(normals), tuple(soft.tolist()))


def _edge(sight: _Sight, points: Floats, normals: Floats, inside_mm: float = NEAR_MM) -> tuple[Outline, np.ndarray]:
    """The steepest rise near a first outline, or the piece's own edge before a shadow's, or after that of its bevel;
    and where it is weak."""
    read, centre = sight.profiles(points, normals, inside_mm, NEAR_MM)
    blur = sight.blur_mm / sight.step_mm
    at, steep = strongest(read, blur)
    first, last, own = rises(read, blur, np.maximum(RISE * steep, WEAKEST * np.median(steep)))
    wide = last - first
    two = wide > APART * blur
    if two.mean() < BEVELLED:
        at, steep = np.where(two, first, at), np.where(two, own, steep)
    else:
        at = np.where(two, np.where(wide < BEVEL * np.median(wide[two]), last, np.nan), at)
    off = (at - centre) * sight.step_mm
    good = np.isfinite(off) & (steep > WEAKEST * np.median(steep))
    weak = ~good | (steep < WEAK * np.median(steep))
    soft = _soft(read[good], at[good], steep[good], blur)
    return _outline(points[good] + normals[good] * off[good][:, None], normals[good], soft), weak


def _soft(read: Floats, at: Floats, steep: Floats, blur: float) -> np.ndarray:
    """Where the light rises over a wider way than along the sharpest quarter of the edge."""
    if not len(read):
        return np.zeros(0, dtype=bool)
    lines, last = np.arange(len(read)), read.shape[1] - 1
    inside, outside = (np.clip(np.round(at + way * RISE_BLURS * blur).astype(int), 0, last) for way in (-1, 1))
    wide = (read[lines, outside] - read[lines, inside]) / steep
    return np.asarray(wide > SOFTER * np.percentile(wide, 25))


def _sides(grid: _Grid, sight: _Sight, contour: np.ndarray) -> Sides:
    """Of a piece that lies along: its two sides sought across it, its ends along it."""
    corners = grid.mm(np.asarray(cv2.boxPoints(cv2.minAreaRect(contour)), dtype=np.float64))
    one, other = corners[1] - corners[0], corners[2] - corners[1]
    if np.hypot(*one) < np.hypot(*other):
        one, other = other, one
    length, wide = float(np.hypot(*one)), float(np.hypot(*other))
    along, across = one / length, other / wide
    middle = corners.mean(axis=0)
    step = 0.06
    at = np.arange(-length / 2 - 0.6, length / 2 + 0.6, step)
    line = middle + along * at[:, None]
    sides = []
    for way in (-across, across):
        normals = np.tile(way, (len(line), 1))
        read, centre = sight.profiles(line, normals, 0.0, wide / 2 + 1.0)
        off, _ = strongest(read, max(1.0, sight.blur_mm / sight.step_mm))
        sides.append((off - centre) * sight.step_mm)
    ends = _ends(sight, middle, along, across, length, wide)
    left, right = (tuple(None if not np.isfinite(each) else round(float(each), 4) for each in side) for side in sides)
    start = line[0]
    return Sides(
        (float(start[0]), float(start[1])),
        (float(along[0]), float(along[1])),
        step,
        left,
        right,
        (ends[0] - float(at[0]), ends[1] - float(at[0])),
    )


def _ends(
    sight: _Sight, middle: Floats, along: Floats, across: Floats, length: float, wide: float
) -> tuple[float, float]:
    """How far from the middle it begins and ends, by lines along it: the furthest of each end, but for a crumb."""
    aside = np.linspace(-0.45, 0.45, 19) * wide
    found = []
    for way in (-1.0, 1.0):
        start = middle + across * aside[:, None] + way * along * length / 2
        read, centre = sight.profiles(start, np.tile(way * along, (len(aside), 1)), 1.0, 1.0)
        at, _ = strongest(read, sight.blur_mm / sight.step_mm)
        off = (at - centre) * sight.step_mm
        found.append(way * (length / 2 + (float(np.nanpercentile(off, 90)) if np.isfinite(off).any() else 0.0)))
    return found[0], found[1]
