"""A sheet with a washer on it, as its picture would be read."""

import numpy as np

from levelwind.core.fits.outlines import Eye, Outline, SeenPiece
from levelwind.core.fits.seen import PaperSeen, SheetSeen

EYE = Eye(80.0, 120.0, 300.0, (1.0, 1.0, 4.0))


def circle(x: float, y: float, radius: float, sign: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    ray = np.column_stack([np.cos(turn), np.sin(turn)])
    return np.array([x, y]) + radius * ray, sign * ray


def outline(points: np.ndarray, normals: np.ndarray) -> Outline:
    return Outline(tuple(map(tuple, points.tolist())), tuple(map(tuple, normals.tolist())))


def washer(ears: int = 0) -> SeenPiece:
    points, normals = circle(100, 150, 14.0)
    turn = np.arctan2(points[:, 1] - 150, points[:, 0] - 100)
    for n in range(ears):
        own = np.abs((turn - n * 2 * np.pi / ears + np.pi) % (2 * np.pi) - np.pi) < 0.14
        points[own] += 2.0 * normals[own]
    return SeenPiece(outline(points, normals), (outline(*circle(100, 150, 5.0, -1.0)),))


def sheet_seen(*pieces: SeenPiece, printed: tuple[float | None, float | None] = (210.0, 297.0)) -> SheetSeen:
    return SheetSeen("a4", EYE, 8.0, 0.1, 0.02, 10.0, PaperSeen(*printed), pieces)
