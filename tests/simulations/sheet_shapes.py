"""Pieces that lie on a drawn measuring sheet: what is within each, and the sizes that are to be found."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

Shape = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""Whether points, in mm from the middle of the piece, lie within it."""


@dataclass(frozen=True)
class Piece:
    """A solid of one height; ``truth`` is what is to be found, by the names of its sizes."""

    name: str
    x_mm: float
    y_mm: float
    turn_deg: float
    height_mm: float
    reach_mm: float
    within: Shape
    truth: dict[str, float]
    colour: tuple[float, float, float]
    lying: float = 0.0
    """Diameter of a round bar that lies along: it is drawn by its own law."""
    bar: Callable[[np.ndarray], np.ndarray] | None = None
    """Radius of a lying bar by the place along it, 0 beyond its ends."""


STEEL, BRASS, CARBON, RUBBER = (0.35, 0.36, 0.38), (0.45, 0.33, 0.12), (0.06, 0.06, 0.06), (0.04, 0.04, 0.05)


def ring(
    x: float, y: float, outer: float, inner: float, height: float, colour: Any = STEEL, name: str = "washer"
) -> Piece:
    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        square = a**2 + b**2
        return (square < outer**2 / 4) & (square >= inner**2 / 4)

    truth = {"outer diameter": outer, "inner diameter": inner} if inner else {"outer diameter": outer}
    return Piece(name, x, y, 0.0, height, outer / 2, within, truth, colour)


def eared(
    x: float, y: float, turn: float, outer: float, inner: float, ears: int, across: float, wide: float, height: float
) -> Piece:
    """A washer with ears outside."""

    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        radius, angle = np.hypot(a, b), np.arctan2(b, a)
        step = 2 * np.pi / ears
        beside = (angle + step / 2) % step - step / 2
        ear = (radius < across / 2) & (np.abs(radius * np.sin(beside)) < wide / 2) & (np.cos(beside) > 0)
        return ((radius < outer / 2) | ear) & (radius >= inner / 2)

    truth = {"outer diameter": outer, "inner diameter": inner, "ears": ears, "across the ears": across}
    return Piece("eared washer", x, y, turn, height, across / 2, within, truth, STEEL)


def keyed(x: float, y: float, turn: float, outer: float, inner: float, flats: float, height: float) -> Piece:
    """A washer whose bore has two flats."""

    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        radius = np.hypot(a, b)
        return (radius < outer / 2) & ~((radius < inner / 2) & (np.abs(b) < flats / 2))

    truth = {"outer diameter": outer, "inner diameter": inner, "across the flats inside": flats}
    return Piece("keyed washer", x, y, turn, height, outer / 2, within, truth, STEEL)


def hexagon(x: float, y: float, turn: float, flats: float, bore: float, height: float) -> Piece:
    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        sides = [np.abs(a * np.cos(t) + b * np.sin(t)) < flats / 2 for t in (0, np.pi / 3, 2 * np.pi / 3)]
        return sides[0] & sides[1] & sides[2] & (np.hypot(a, b) >= bore / 2)

    truth = {"width across flats": flats, "inner diameter": bore}
    return Piece("nut", x, y, turn, height, flats * 0.6, within, truth, BRASS)


def gear(x: float, y: float, turn: float, teeth: int, module: float, bore: float, height: float) -> Piece:
    """Straight-sided teeth, a module above the pitch circle and 1.25 below."""
    pitch = teeth * module / 2
    tip, root = pitch + module, pitch - 1.25 * module

    def within(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        radius, angle = np.hypot(a, b), np.arctan2(b, a)
        step = 2 * np.pi / teeth
        beside = np.abs((angle + step / 2) % step - step / 2)
        half = step / 4 - (radius - pitch) * np.tan(np.radians(20)) / pitch
        return ((radius < root) | ((radius < tip) & (beside < half))) & (radius >= bore / 2)

    truth = {"tooth count": teeth, "outer diameter": 2 * tip, "inner diameter": bore}
    return Piece("gear", x, y, turn, height, tip, within, truth, BRASS)


def screw(x: float, y: float, turn: float, diameter: float, pitch: float, length: float) -> Piece:
    """A threaded pin lying along; its thread is drawn as rings, of the same outline as a thread from the side."""
    depth = 0.61343 * pitch

    def bar(a: np.ndarray) -> np.ndarray:
        phase = np.abs((a / pitch) % 1 - 0.5) * 2
        radius = diameter / 2 - depth * np.clip((phase - 0.125) / 0.75, 0, 1)
        return np.where(np.abs(a) < length / 2, radius, 0.0)

    truth = {"thread diameter": diameter, "thread pitch": pitch, "length": length}
    return Piece(
        "screw", x, y, turn, diameter, length / 2 + 1, lambda a, b: a < -1e9, truth, STEEL, lying=diameter, bar=bar
    )


def slots(paper: str, rng: np.random.Generator) -> list[tuple[float, float]]:
    """Places for pieces, some 44 mm apart, within the room of either paper."""
    down = (50, 94, 138, 182, 222) if paper == "a4" else (50, 94, 138, 182)
    every = [(x, y) for x in (64, 110, 156) for y in down]
    return [
        (x + rng.uniform(-2, 2), y + rng.uniform(-2, 2)) for x, y in (every[n] for n in rng.permutation(len(every)))
    ]


def any_pieces(paper: str, rng: np.random.Generator, count: int) -> list[Piece]:
    made: list[Piece] = []
    for n, (x, y) in enumerate(slots(paper, rng)[:count]):
        turn, height = rng.uniform(0, 360), float(rng.choice([0.5, 0.8, 1.0, 1.5, 2.0, 3.0]))
        outer = rng.uniform(7, 33)
        inner = outer * rng.uniform(0.25, 0.7)
        kind = n % 9
        if kind in (0, 1, 2):
            made.append(ring(x, y, outer, inner, height, (STEEL, BRASS, CARBON)[kind]))
        elif kind == 3:
            bearing = (outer, inner) if outer > 10 else (10.0, 3.0)
            made.append(ring(x, y, *bearing, rng.uniform(2.5, 7), STEEL, "bearing"))
        elif kind == 4:
            outer = rng.uniform(18, 30)
            ears = int(rng.integers(2, 6))
            made.append(
                eared(x, y, turn, outer, outer * 0.45, ears, outer + rng.uniform(2.5, 6), rng.uniform(3, 5), height)
            )
        elif kind == 5:
            outer = rng.uniform(16, 32)
            made.append(keyed(x, y, turn, outer, outer * 0.42, outer * 0.42 * rng.uniform(0.7, 0.86), height))
        elif kind == 6:
            flats = float(rng.choice([5.5, 7.0, 8.0, 10.0, 13.0]))
            made.append(hexagon(x, y, turn, flats, flats * 0.5, flats * 0.45))
        elif kind == 7:
            teeth = int(rng.integers(24, 48))
            made.append(gear(x, y, turn, teeth, rng.uniform(0.6, 0.8), rng.uniform(5, 10), rng.uniform(3, 6)))
        else:
            diameter, pitch = [(3.0, 0.5), (4.0, 0.7), (2.84, 0.635), (3.5, 0.6), (5.0, 0.8)][int(rng.integers(0, 5))]
            made.append(screw(x, y, turn, diameter, pitch, rng.uniform(9, 22)))
    return made
