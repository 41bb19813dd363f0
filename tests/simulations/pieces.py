"""Pieces drawn by a law of their own, and what a hand with a caliper reads off them.

It shares the tables and roughly how common each size is with the program, and nothing of its law of errors: sizes lean
to one end of their limits or lie a little outside, wear tapers along the piece, a caliper has a bias of its own beside
errors that are even, heavy-tailed or normal, pitches are read off the leaf that looks nearest, and a piece of no
standard borrows its sizes from several.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from levelwind.core.fits.model import Dimension, Measurement, Table

Generator = np.random.Generator

NO_STANDARD = 0.04
"""Of the pieces drawn. How often that is on real reels nobody has counted."""
POPULARITY = 0.3
"""By how much, in logarithms, sizes are more or less common than the program thinks."""
METRIC_LEAVES = [0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6, 0.7, 0.75, 0.8, 0.9, 1.0, 1.25, 1.5, 1.75, 2.0]
INCH_LEAVES = [25.4 / tpi for tpi in (80, 72, 64, 60, 56, 48, 44, 40, 36, 32, 30, 28, 27, 26, 24, 22, 20, 18, 16)]
ASSOCIATION_LEAVES = [round(0.9**n, 2) for n in range(17)]
LEAVES = (METRIC_LEAVES, INCH_LEAVES, METRIC_LEAVES + INCH_LEAVES + ASSOCIATION_LEAVES)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A piece and what was read off it; ``name`` is None for one of no standard."""

    name: str | None
    measured: dict[str, Measurement]
    worn: bool


def draw(table: Table, rng: Generator) -> Drawn:
    kind = table.kind
    sizes, name = _of_no_standard(table, rng) if rng.random() < NO_STANDARD else _of_the_table(table, rng)
    worn = rng.random() < 0.3
    said = worn and rng.random() < 0.4
    if worn:
        sizes = [size + _wear(each, rng) for size, each in zip(sizes, kind.dimensions, strict=True)]
    read = _caliper(rng)
    readings = {each.key: _reading(each, size, read, rng) for each, size in zip(kind.dimensions, sizes, strict=True)}
    left_out = [key for key in readings if rng.random() < 0.2]
    kept = {key: each for key, each in readings.items() if key not in left_out} or readings
    return Drawn(name, kept, bool(said))


def _of_the_table(table: Table, rng: Generator) -> tuple[list[float], str]:
    weights = table.common * np.exp(POPULARITY * rng.standard_normal(len(table.common)))
    number = int(rng.choice(len(weights), p=weights / weights.sum()))
    own = np.flatnonzero(table.of == number)
    column = int(rng.choice(own, p=table.share[own] / table.share[own].sum()))
    lean = rng.choice([(2.0, 2.0), (2.0, 4.0), (4.0, 2.0), (1.0, 1.0)])
    within = rng.beta(*lean, len(table.low)) + (rng.random() < 0.03) * rng.uniform(-0.25, 0.25)
    return list(table.low[:, column] + within * (table.high - table.low)[:, column]), table.candidates[number].name


def _of_no_standard(table: Table, rng: Generator) -> tuple[list[float], None]:
    """Each dimension near that of another row, off by enough to be its own."""
    columns = rng.integers(0, table.low.shape[1], len(table.low))
    near = [float(table.high[row, column]) for row, column in enumerate(columns)]
    off = rng.choice([-1, 1], len(near)) * rng.uniform(0.0, 0.15, len(near))
    return sorted_as(table, [size * float(np.exp(each)) for size, each in zip(near, off, strict=True)]), None


def sorted_as(table: Table, sizes: list[float]) -> list[float]:
    """What must be smaller is made smaller, and all keep within what can be typed."""
    keys = [each.key for each in table.kind.dimensions]
    for smaller, larger in table.kind.orders:
        less, more = keys.index(smaller), keys.index(larger)
        sizes[less] = min(sizes[less], 0.9 * sizes[more])
    return [
        min(max(size, 1.1 * d.least_mm), 0.9 * d.most_mm) for size, d in zip(sizes, table.kind.dimensions, strict=True)
    ]


def _wear(dimension: Dimension, rng: Generator) -> float:
    """Rises along the piece; the jaws take it somewhere on the way."""
    deepest = abs(dimension.wear_mm) * 1.6 * rng.weibull(1.5)
    return float(np.sign(dimension.wear_mm) * deepest * rng.uniform(0.3, 1.0))


Reader = Callable[[float, bool], float]


def _caliper(rng: Generator) -> Reader:
    """One caliper and hand: its own bias, its law of errors, its step."""
    bias = rng.uniform(-0.012, 0.012)
    law = rng.integers(0, 3)
    step = float(rng.choice([0.01, 0.0127, 0.02]))

    def read(size: float, inner: bool) -> float:
        error = (rng.uniform(-0.02, 0.02), 0.006 * rng.standard_t(3), rng.normal(0, 0.01))[law]
        seen = size + bias + error * (2 if inner else 1) - (rng.uniform(0, 0.02) if inner else 0.0)
        return float(step * round(seen / step))

    return read


def _reading(dimension: Dimension, size: float, read: Reader, rng: Generator) -> Measurement:
    if dimension.over > 1:
        return _pitch(size, read, rng)
    soft = rng.normal(0, 0.6 * dimension.own_mm + 0.6 * dimension.own_share * size) if dimension.own_mm > 0.02 else 0.0
    return Measurement(max(read(size + soft, dimension.jaws > 1), 0.01), 0.01)


def _pitch(size: float, read: Reader, rng: Generator) -> Measurement:
    """By leaf gauge, or by caliper from crest to crest over some threads."""
    if rng.random() < 0.5:
        leaves = np.array(LEAVES[int(rng.integers(0, len(LEAVES)))])
        looks = size * (1 + 0.012 * rng.standard_t(4))
        return Measurement(float(leaves[np.argmin(np.abs(np.log(leaves / looks)))]))
    count = int(rng.choice([1, 4, 6, 8]))
    over = read(count * size + rng.normal(0, 0.01), False)
    return Measurement(max(over / count, 0.17), 0.01, over=count if count > 1 else 0)
