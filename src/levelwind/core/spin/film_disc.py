"""Where in a steadied film something turns: an ellipse round the part of the picture that keeps changing.

How much a point changes from frame to frame is put on a scale on which the resting surroundings are 0 and the points
that change most are 1. Below this is called how lively a point is.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import ndimage

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import FloatArray
from levelwind.core.spin.film_steady import Frames, Picture, Steady, motion_map, resting_level

FRAME_PAIRS = 120
"""Pairs of frames that show what turns. Our choice: a mark then sweeps its whole ring."""
TURNS_ABOVE = 0.45
"""Liveliness from which a point counts as turning. Our choice, judged on made films: less takes in the spool's shadow,
more loses the part of the face that the mark does not reach."""
TURNS_ABOVE_APART = 0.6
"""The same where what is found is not round: two spools side by side share their rows' gains, which leaves a livelier
band between them that joins the two. Our choice, judged on made films."""
TURNS_ABOVE_POINTED = 0.12
"""The same under a finger that points at the spool: another part of the picture may be livelier. Our choice, judged on
made films."""
TOP_QUANTILE = 0.985
"""Of the motion map: its liveliest points, without the few that only noise made so. Our choice."""
SURELY_TURNS, SURELY_TURNS_GREY = 4.0, 0.35
"""Deviations of the resting part, and grey levels, that the liveliest points must lie above it for anything to turn at
all. Our choice, judged on made films of still scenes with noise."""
DISC_PIXELS = 60
"""Pixels; a smaller region is no spool that could be measured: a radius of four pixels. Our choice."""
FINGER_REACH = 1.15
"""Radii from the centre within which a finger is taken to mean the disc. Our choice: a finger is no finer."""
RIVAL_AREA = 0.25
"""Of the area of the spool measured; another round part that turns is a spool too from this area on. Our choice."""
RIVAL_REACH, RIVAL_INSIDE = 1.05, 0.88
"""Radii, and the part of a region that must lie within so many of its own ellipse for it to be a disc: a hand or a
swinging line fills its ellipse badly. Our choice, judged on made films."""
ROUND = 0.45
"""Short axis over long one from which a region may be one disc, seen aslant by up to 63 degrees. Our choice: two spools
side by side come to less."""
_PADDING, _CLOSING = 8, 6
"""Pixels; gaps in a region up to twice the second are closed, such as the unmarked middle of a ring; the first keeps
that away from the picture's rim. Our choice."""
_STREAKS = 12
"""Streaks thinner than about a sixth of a region's width are trimmed off: its root area over this is opened away. Our
choice."""


@dataclass(frozen=True, slots=True)
class Disc:
    """An ellipse in pixels of the still scene: centre, half axes, lean of the long one against the rows in radians."""

    x: float
    y: float
    long: float
    short: float
    lean: float
    outside: float
    """Length of the picture's rim along which something turns, over the ellipse's edge: the disc goes on outside."""
    rivals: int = 0
    """How many other round parts of the picture turn as well."""
    grey_levels: float = 255.0
    """By how many of 255 what turns changes the picture where it does so most, root mean square."""

    def points(
        self, height: int, width: int, reach: float = 1.0
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Rows, columns, angles in turns and distances from the centre in radii, of the pixels within ``reach`` radii.

        Angles are those on the disc itself, as if it were seen square on.
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


def find_disc(frames: Frames, held: Steady, at: tuple[float, float] | None = None, *, since: float = 0.0) -> Disc:
    """The ellipse with the moments of the largest lively region, or of the one about ``at`` (column, row).

    ``since``: only what changes after this part of the film counts.
    Raises NotDeterminedError where nothing in the picture keeps changing, or nothing does about ``at``.
    """
    level = motion_map(frames, held, FRAME_PAIRS, since)
    resting, spread = resting_level(level)
    top = float(np.quantile(level, TOP_QUANTILE))
    if top < resting + max(SURELY_TURNS * spread, SURELY_TURNS_GREY):
        raise NotDeterminedError(
            "nothing turns in this film, or the spool fills the whole picture: film it whole, with its surroundings"
        )
    liveliness = (level - resting) / (top - resting)
    least = SURELY_TURNS * spread / (top - resting)
    discs = _discs(liveliness, max(TURNS_ABOVE, least))
    if discs and discs[0].disc.short < ROUND * discs[0].disc.long:
        discs = _discs(liveliness, max(TURNS_ABOVE_APART, least)) or discs
    if at is not None:
        discs = _about(at, discs) or _about(at, _discs(liveliness, max(TURNS_ABOVE_POINTED, least)))
        if not discs:
            raise NotDeterminedError("nothing turns where the mark was pointed out")
    if not discs:
        raise NotDeterminedError("nothing in this film is large enough to be a turning spool: film it from nearer")
    chosen, *others = discs
    rivals = sum(other.is_rival_of(chosen) for other in others) if at is None else 0
    return replace(chosen.disc, rivals=rivals, grey_levels=top - resting)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """A region that keeps changing, with its ellipse."""

    disc: Disc
    region: NDArray[np.bool_]

    def is_rival_of(self, chosen: "_Found") -> bool:
        """Whether it is another spool: large, round and filled, as a hand or a swinging line is not."""
        rows, columns = np.nonzero(self.region)
        inside = np.mean(self.disc.away(columns, rows) <= RIVAL_REACH)
        large = self.region.sum() >= RIVAL_AREA * chosen.region.sum()
        return bool(large and inside >= RIVAL_INSIDE and self.disc.short >= ROUND * self.disc.long)


def _discs(liveliness: Picture, least: float) -> list[_Found]:
    """Every region livelier than ``least`` that is large enough, the largest first."""
    regions = [region for region in _regions(liveliness > least) if region.sum() >= DISC_PIXELS]
    return [_Found(_ellipse(region, liveliness), region) for region in regions]


def _about(at: tuple[float, float], discs: list[_Found]) -> list[_Found]:
    """Those that hold the point, the one with its centre nearest to it first."""
    return sorted((d for d in discs if d.disc.away(*at) <= FINGER_REACH), key=lambda d: float(d.disc.away(*at)))


def _regions(mask: NDArray[np.bool_]) -> list[NDArray[np.bool_]]:
    """Connected regions of at least ``DISC_PIXELS``, gaps and holes filled, the largest first."""
    inner = slice(_PADDING, -_PADDING)
    closed = ndimage.binary_closing(np.pad(mask, _PADDING), iterations=_CLOSING)[inner, inner]
    labels, count = ndimage.label(closed)
    sizes = ndimage.sum_labels(closed, labels, np.arange(1, count + 1))
    order = [i for i in np.argsort(-sizes) if sizes[i] >= DISC_PIXELS]
    return [_trimmed(ndimage.binary_fill_holes(labels == 1 + i)) for i in order]


def _trimmed(solid: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Without streaks that hang on the disc, such as the edge of a thumb."""
    opened = ndimage.binary_opening(solid, iterations=max(1, int(np.sqrt(solid.sum()) / _STREAKS)))
    return np.asarray(opened if opened.any() else solid)


def _ellipse(region: NDArray[np.bool_], liveliness: Picture) -> Disc:
    """Centre and shape by the moments of how lively the region is, size by its area.

    A mark sweeps a ring, and a ring's moments have the disc's own centre. Squared liveliness keeps what hangs on the
    edge, such as a shadow, from moving it.
    """
    rows, columns = np.nonzero(region)
    weight = np.clip(liveliness[region], 0.0, 1.0) ** 2
    x, y = float(np.average(columns, weights=weight)), float(np.average(rows, weights=weight))
    spread = np.cov(np.stack([columns, rows]), aweights=weight)
    values, axes = np.linalg.eigh(spread)
    ratio = float(np.sqrt(max(values[0], 1e-6) / max(values[1], 1e-6)))
    long = float(np.sqrt(region.sum() / (np.pi * ratio)))
    short = long * ratio
    lean = float(np.arctan2(axes[1, 1], axes[0, 1]))
    lean = (lean + np.pi / 2) % np.pi - np.pi / 2
    rim = sum(int(side.sum()) for side in (region[1], region[-2], region[:, 1], region[:, -2]))
    outside = rim / (np.pi * (long + short))
    return Disc(x, y, long, short, lean, outside)
