"""Where in a steadied film something turns: an ellipse round the part of the picture that keeps changing."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import ndimage

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin.film_steady import Frames, Picture, Steady, motion_map, usual_level

FloatArray = NDArray[np.float64]

PAIRS = 120
RISE = 0.3
"""What part of the way from the still surroundings to the liveliest points counts as turning."""
HIGH = 0.6
"""The same where that part is not round: evening out the rows leaves a livelier band between two spools in one row."""
LEAST_PIXELS = 60
TAP_REACH = 1.15
"""Radii; a finger is not finer than this."""
FAINT = 0.12
"""What part of the way counts as turning under a finger: the rest of the picture may be livelier."""
RIVAL = 0.25
"""Of the area of the spool measured; from here on another round part that turns is a spool too."""
ROUND = 0.45
FULL = 0.88


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
    rivals: int = 0
    """How many other round parts of the picture turn as well."""

    def points(
        self, height: int, width: int, reach: float = 1.0
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Rows, columns, angles in turns and distances from the centre in radii, of the pixels within ``reach`` radii.

        Angles are those on the disc itself, as if seen square on.
        """
        rows, columns = (a.ravel().astype(np.float64) for a in np.mgrid[0:height, 0:width])
        u, v = self._square_on(columns, rows)
        away = np.hypot(u, v)
        inside = away <= reach
        turn = np.arctan2(v, u)[inside] / (2 * np.pi) + self.lean / (2 * np.pi)
        return rows[inside], columns[inside], turn, away[inside]

    def away(self, x: ArrayLike, y: ArrayLike) -> FloatArray:
        """How far points lie from the centre, in radii as if seen square on."""
        return np.hypot(*self._square_on(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)))

    def _square_on(self, columns: FloatArray, rows: FloatArray) -> tuple[FloatArray, FloatArray]:
        c, s = np.cos(self.lean), np.sin(self.lean)
        u = (c * (columns - self.x) + s * (rows - self.y)) / self.long
        v = (c * (rows - self.y) - s * (columns - self.x)) / self.short
        return u, v


def find_disc(frames: Frames, held: Steady, at: tuple[float, float] | None = None) -> Disc:
    """The ellipse with the moments of the liveliest region, or of the one about ``at`` (column, row).

    Raises NotDeterminedError where nothing in the picture keeps changing, or nothing does about ``at``.
    """
    level = motion_map(frames, held, min(PAIRS, len(frames) - 1))
    usual, spread = usual_level(level)
    top = float(np.quantile(level, 0.985))
    if top < usual + max(4 * spread, 0.35):
        raise NotDeterminedError(
            "nothing turns in this film, or the spool fills the whole picture: film it whole, with its surroundings"
        )
    liveliness = (level - usual) / (top - usual)
    least = 4 * spread / (top - usual)
    discs = _discs(liveliness, max(RISE, least))
    if discs and discs[0].disc.short < ROUND * discs[0].disc.long:
        discs = _discs(liveliness, max(HIGH, least)) or discs
    if at is not None:
        discs = _about(at, discs) or _about(at, _discs(liveliness, max(FAINT, least)))
        if not discs:
            raise NotDeterminedError("nothing turns where the mark was pointed out")
    if not discs:
        raise NotDeterminedError("nothing in this film is large enough to be a turning spool: film it from nearer")
    chosen, *others = discs
    return replace(chosen.disc, rivals=sum(other.rivals(chosen) for other in others) if at is None else 0)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """A region that keeps changing, with its ellipse."""

    disc: Disc
    region: NDArray[np.bool_]

    def rivals(self, chosen: "_Found") -> bool:
        """Whether it is another spool: large, round and full, as a hand or a swinging line is not."""
        rows, columns = np.nonzero(self.region)
        inside = np.mean(self.disc.away(columns, rows) <= 1.05)
        large = self.region.sum() >= RIVAL * chosen.region.sum()
        return bool(large and inside >= FULL and self.disc.short >= ROUND * self.disc.long)


def _discs(liveliness: Picture, least: float) -> list[_Found]:
    """Every region livelier than ``least`` that is large enough, the largest first."""
    regions = [region for region in _regions(liveliness > least) if region.sum() >= LEAST_PIXELS]
    return [_Found(_ellipse(region, liveliness), region) for region in regions]


def _about(at: tuple[float, float], discs: list[_Found]) -> list[_Found]:
    """Those whose face holds the point, the one most squarely about it first."""
    return sorted((d for d in discs if d.disc.away(*at) <= TAP_REACH), key=lambda d: float(d.disc.away(*at)))


def _regions(mask: NDArray[np.bool_]) -> list[NDArray[np.bool_]]:
    closed = ndimage.binary_closing(np.pad(mask, 8), iterations=6)[8:-8, 8:-8]
    labels, count = ndimage.label(closed)
    sizes = ndimage.sum_labels(closed, labels, np.arange(1, count + 1))
    order = [i for i in np.argsort(-sizes) if sizes[i] >= LEAST_PIXELS]
    return [_trimmed(ndimage.binary_fill_holes(labels == 1 + i)) for i in order]


def _trimmed(solid: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Without streaks that hang on the disc, such as the edge of a thumb: they are thinner than it."""
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
