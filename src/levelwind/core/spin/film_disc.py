"""Where in a steadied film something turns: an ellipse round the part of the picture that keeps changing."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin.film_steady import Frames, Picture, Steady, motion_map, usual_level

FloatArray = NDArray[np.float64]

PAIRS = 120
RISE = 0.3
"""What part of the way from the still surroundings to the liveliest points counts as turning."""
LEAST_PIXELS = 60


@dataclass(frozen=True, slots=True)
class Disc:
    """An ellipse in pixels of the still scene: centre, half axes, lean of the long one in radians."""

    x: float
    y: float
    long: float
    short: float
    lean: float
    outside: float
    """How much of what turns lies along the picture's rim, in parts of the ellipse's edge: it goes on outside."""

    def points(
        self, height: int, width: int, reach: float = 1.0
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Rows, columns, angles in turns and distances from the centre in radii, of the pixels within ``reach`` radii.

        Angles are those on the disc itself, as if seen square on.
        """
        rows, columns = (a.ravel().astype(np.float64) for a in np.mgrid[0:height, 0:width])
        c, s = np.cos(self.lean), np.sin(self.lean)
        u = (c * (columns - self.x) + s * (rows - self.y)) / self.long
        v = (c * (rows - self.y) - s * (columns - self.x)) / self.short
        away = np.hypot(u, v)
        inside = away <= reach
        turn = np.arctan2(v, u)[inside] / (2 * np.pi) + self.lean / (2 * np.pi)
        return rows[inside], columns[inside], turn, away[inside]


def find_disc(frames: Frames, held: Steady) -> Disc:
    """The ellipse with the moments of the liveliest region.

    Raises NotDeterminedError where nothing in the picture keeps changing.
    """
    level = motion_map(frames, held, min(PAIRS, len(frames) - 1))
    usual, spread = usual_level(level)
    top = float(np.quantile(level, 0.985))
    if top < usual + max(4 * spread, 0.35):
        raise NotDeterminedError(
            "nothing turns in this film, or the spool fills the whole picture: film it whole, with its surroundings"
        )
    region = _largest(level > usual + max(RISE * (top - usual), 4 * spread))
    if region.sum() < LEAST_PIXELS:
        raise NotDeterminedError("nothing in this film is large enough to be a turning spool: film it from nearer")
    return _ellipse(region, (level - usual) / (top - usual))


def _largest(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    closed = ndimage.binary_closing(np.pad(mask, 8), iterations=6)[8:-8, 8:-8]
    labels, count = ndimage.label(closed)
    if count == 0:
        return mask
    sizes = ndimage.sum_labels(closed, labels, np.arange(1, count + 1))
    solid = ndimage.binary_fill_holes(labels == 1 + int(np.argmax(sizes)))
    # streaks that hang on the disc, such as the edge of a thumb, are thinner than it
    opened = ndimage.binary_opening(solid, iterations=max(1, int(np.sqrt(solid.sum()) / 12)))
    return np.asarray(opened if opened.any() else solid)


def _ellipse(region: NDArray[np.bool_], liveliness: Picture) -> Disc:
    """Centre and shape by the second moments of how lively it is, size by the region's area.

    A mark sweeps a ring; its moments have the ring's centre, whatever hangs on its edge.
    """
    rows, columns = np.nonzero(region)
    weight = np.clip(liveliness[region], 0.0, 1.0) ** 2
    x, y = float(np.average(columns, weights=weight)), float(np.average(rows, weights=weight))
    spread = np.cov(np.stack([columns, rows]), aweights=weight)
    values, ways = np.linalg.eigh(spread)
    ratio = float(np.sqrt(max(values[0], 1e-6) / max(values[1], 1e-6)))
    long = float(np.sqrt(region.sum() / (np.pi * ratio)))
    short = long * ratio
    lean = float(np.arctan2(ways[1, 1], ways[0, 1]))
    lean = (lean + np.pi / 2) % np.pi - np.pi / 2
    rim = sum(int(side.sum()) for side in (region[1], region[-2], region[:, 1], region[:, -2]))
    outside = rim / (np.pi * (long + short))
    return Disc(x, y, long, short, lean, outside)
