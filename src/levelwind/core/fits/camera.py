"""Where a phone stood when it took a picture of the sheet, and how its lens bent it: from the marks alone.

A pinhole with two terms of radial distortion, square pixels, and its axis near the middle of the picture. What the
marks cannot tell (a sheet seen straight from above says nothing of the focal length) is held by what phones are like.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fits.model import Floats

FULL_FRAME_MM = 43.2666
"""mm; diagonal of the 36 by 24 mm picture that a phone states its focal length for."""

USUAL_FOCAL, USUAL_OFF = 0.60, 0.12
"""Focal length of a phone's main camera over the picture's diagonal, 26 mm of 43, and its spread as a share: from
memory."""

STATED_OFF = 0.04
"""Spread, as a share, of a focal length that the picture states in whole millimetres: our choice."""

AXIS_OFF = 0.006
"""Spread of the lens's axis about the middle of the picture, over its diagonal: from memory."""

STRETCH = 0.0015
"""Spread of how much longer a printer makes a millimetre down than across, as a share: our choice."""

BENDS = (0.10, 0.10)
"""Spread of the two terms of distortion, of a picture that the phone has mostly set right itself: our choice."""

CORNER_PX, EDGE_PX = 0.7, 0.35
"""px; how well a mark's corner, and a point on its edge, is seen, for weighing them against the spreads above."""

FURTHEST = 3.0
"""Spreads that a phone may lie from what is usual, at most: our choice."""

HUBER = 2.5
"""Residuals beyond this many times the usual one count less: a mark under a thumb. Our choice."""


@dataclass(frozen=True, slots=True)
class Camera:
    """``turn`` is a rotation vector, ``shift_mm`` where the sheet's corner lies from the lens; ``axis_px`` is from the
    middle of the picture, over its diagonal; ``log_focal`` the logarithm of the focal length over the diagonal; by
    ``stretch`` the sheet is printed longer down than across."""

    turn: tuple[float, float, float]
    shift_mm: tuple[float, float, float]
    log_focal: float
    axis: tuple[float, float]
    bends: tuple[float, float]
    stretch: float
    width_px: int
    height_px: int

    def pixels(self, points_mm: Floats) -> Floats:
        """Where points of the sheet (n by 2, mm) are seen (n by 2, px; the middle of the first pixel is 0, 0)."""
        return _pixels(self.vector, points_mm, (self.width_px, self.height_px))

    @property
    def vector(self) -> Floats:
        return np.array([*self.turn, *self.shift_mm, self.log_focal, *self.axis, *self.bends, self.stretch])

    @property
    def eye_mm(self) -> tuple[float, float, float]:
        """Where the lens stood: across, down, and how high over the paper."""
        x, y, high = _eye(self.vector)
        return float(x), float(y), float(high)

    @property
    def tilt_deg(self) -> float:
        """Between the lens's axis and straight down."""
        return float(np.degrees(np.arccos(min(1.0, _rotation(np.array(self.turn))[2, 2]))))

    def px_per_mm(self, points_mm: Floats) -> Floats:
        """The coarser of the two directions at each point."""
        beside = [self.pixels(points_mm + step) - self.pixels(points_mm) for step in np.eye(2)]
        return np.asarray(np.minimum(*(np.hypot(*each.T) for each in beside)))


@dataclass(frozen=True, slots=True)
class Stood:
    """A camera, how far off its fit the marks are seen (mm on the paper, standard deviation), and how uncertain the eye
    is: standard deviations across, down and up, mm."""

    camera: Camera
    off_mm: float
    eye_sd_mm: tuple[float, float, float]


def from_corners(
    points_mm: Floats, seen_px: Floats, size_px: tuple[int, int], stated_focal_mm: float | None = None
) -> Stood:
    """The camera from points of the sheet (n by 2) and where they are seen (n by 2). Raises NotDeterminedError."""
    start = _start(points_mm, seen_px, size_px, stated_focal_mm)
    across, down = np.tile([1.0, 0.0], (len(seen_px), 1)), np.tile([0.0, 1.0], (len(seen_px), 1))
    return _fit(
        start,
        np.vstack([points_mm, points_mm]),
        np.vstack([seen_px, seen_px]),
        np.vstack([across, down]),
        size_px,
        CORNER_PX,
        stated_focal_mm,
    )


def from_edges(
    near: Camera, points_mm: Floats, seen_px: Floats, along: Floats, stated_focal_mm: float | None = None
) -> Stood:
    """The camera again, from points on edges: each is seen at ``seen_px`` in the direction ``along`` (unit, px)."""
    size = (near.width_px, near.height_px)
    return _fit(near.vector, points_mm, seen_px, along, size, EDGE_PX, stated_focal_mm)


def _rotation(turn: Floats) -> Floats:
    """Rodrigues' formula."""
    angle = float(np.linalg.norm(turn))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = turn / angle
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross)


def _turn(rotation: Floats) -> Floats:
    angle = np.arccos(np.clip((np.trace(rotation) - 1) / 2, -1, 1))
    axis = np.array([rotation[2, 1] - rotation[1, 2], rotation[0, 2] - rotation[2, 0], rotation[1, 0] - rotation[0, 1]])
    return np.asarray(axis / 2 if angle < 1e-6 else axis * angle / (2 * np.sin(angle)))


def _pixels(vector: Floats, points_mm: Floats, size_px: tuple[int, int]) -> Floats:
    rotation = _rotation(vector[:3])
    there = points_mm * [1, 1 + vector[11]] @ rotation[:, :2].T + vector[3:6]
    flat = there[:, :2] / there[:, 2:]
    square = (flat**2).sum(axis=1, keepdims=True)
    bent = flat * (1 + vector[9] * square + vector[10] * square**2)
    diagonal = float(np.hypot(*size_px))
    middle = (np.array(size_px) - 1) / 2 + vector[7:9] * diagonal
    return np.asarray(bent * np.exp(vector[6]) * diagonal + middle)


def _focal(stated_focal_mm: float | None) -> tuple[float, float]:
    """Logarithm of the focal length over the diagonal, and its spread."""
    if stated_focal_mm is None:
        return float(np.log(USUAL_FOCAL)), USUAL_OFF
    return float(np.log(stated_focal_mm / FULL_FRAME_MM)), STATED_OFF


def _start(points_mm: Floats, seen_px: Floats, size_px: tuple[int, int], stated: float | None) -> Floats:
    """From the plane-to-plane map of the marks, with the focal length that is usual."""
    log_focal, _ = _focal(stated)
    scale = float(np.hypot(*size_px)) * np.exp(log_focal)
    flat = (seen_px - (np.array(size_px) - 1) / 2) / scale
    about, spread = points_mm.mean(axis=0), points_mm.std()
    plane = np.column_stack([(points_mm - about) / spread, np.ones(len(points_mm))])
    rows = np.zeros((2 * len(plane), 9))
    rows[0::2, 0:3], rows[0::2, 6:9] = plane, -flat[:, :1] * plane
    rows[1::2, 3:6], rows[1::2, 6:9] = plane, -flat[:, 1:] * plane
    plane_map = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    plane_map = plane_map @ np.array(
        [[1 / spread, 0, -about[0] / spread], [0, 1 / spread, -about[1] / spread], [0, 0, 1]]
    )
    plane_map /= np.sqrt(np.linalg.norm(plane_map[:, 0]) * np.linalg.norm(plane_map[:, 1]))
    plane_map *= np.sign((plane_map @ [*about, 1.0])[2])
    first, second, shift = plane_map.T
    u, _, v = np.linalg.svd(np.column_stack([first, second, np.cross(first, second)]))
    rotation = u @ np.diag([1, 1, np.linalg.det(u @ v)]) @ v
    return np.concatenate([_turn(rotation), shift, [log_focal, 0, 0, 0, 0, 0]])


def _fit(
    start: Floats,
    points_mm: Floats,
    seen_px: Floats,
    along: Floats,
    size_px: tuple[int, int],
    noise_px: float,
    stated: float | None,
) -> Stood:
    """Least squares in which far-off points count less; what phones are like stands as six readings more."""
    usual, off = _focal(stated)
    held = np.array([usual, 0.0, 0.0, 0.0, 0.0, 0.0])
    spread = np.array([off, AXIS_OFF, AXIS_OFF, *BENDS, STRETCH])

    def residuals(vector: Floats) -> Floats:
        seen = ((_pixels(vector, points_mm, size_px) - seen_px) * along).sum(axis=1) / noise_px
        return np.concatenate([seen, (vector[6:] - held) / spread])

    bounds = np.full((2, len(start)), [[-np.inf], [np.inf]])
    bounds[:, 6:] = held - FURTHEST * spread, held + FURTHEST * spread
    found = start
    for loss in ("linear", "huber"):
        fitted = least_squares(residuals, found, jac="3-point", bounds=bounds, x_scale="jac", loss=loss, f_scale=HUBER)
        found = fitted.x
    if not (fitted.success and np.all(np.isfinite(found))):
        raise NotDeterminedError("The marks on the picture do not lie as on the sheet: is it flat, and printed whole?")
    return _stood(found, residuals(found)[: -len(held)] * noise_px, fitted.jac.T @ fitted.jac, points_mm, size_px)


def _stood(vector: Floats, off_px: Floats, wanted: Floats, points_mm: Floats, size_px: tuple[int, int]) -> Stood:
    plain = [float(each) for each in vector]
    camera = Camera(
        (plain[0], plain[1], plain[2]),
        (plain[3], plain[4], plain[5]),
        plain[6],
        (plain[7], plain[8]),
        (plain[9], plain[10]),
        plain[11],
        *size_px,
    )
    off_mm = 1.4826 * float(np.median(np.abs(off_px / camera.px_per_mm(points_mm))))
    covariance = np.linalg.inv(wanted)
    slopes = np.zeros((3, 12))
    for n, step in enumerate([1e-6] * 3 + [1e-4] * 3):
        slopes[:, n] = (_eye(vector + step * np.eye(12)[n]) - _eye(vector)) / step
    sd = np.sqrt(np.maximum(np.diag(slopes @ covariance @ slopes.T), 0.0))
    return Stood(camera, off_mm, (float(sd[0]), float(sd[1]), float(sd[2])))


def _eye(vector: Floats) -> Floats:
    x, y, z = -_rotation(vector[:3]).T @ vector[3:6]
    return np.array([x, y / (1 + vector[11]), -z])
