"""What tells two candidates apart: how far their limits lie from one another, and how well that can be measured."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from levelwind.core.fits.model import GAUGE_MM, Dimension, Floats, Measured, Next, Table

Indices = npt.NDArray[np.intp]

MICROMETER_MM = 0.005
"""mm; what a micrometer screw may be off (common practice, no source)."""

SURE_ENOUGH = 0.95
"""A leader this probable needs no further measurement: our choice."""

LEADER_SHARE, MOST_LEADERS = 0.02, 6
"""A candidate this probable is worth telling from the first, and no more than so many: our choice."""


def reach_mm(dimension: Dimension, gauge_mm: float = GAUGE_MM) -> float:
    """How well a dimension can be measured by caliper, mm."""
    return dimension.jaws * gauge_mm


def gap_mm(table: Table, first: int, second: int, row: int) -> float:
    """From the limits of one to those of the other, in the forms nearest to one another; below 0 where they overlap."""
    one, other = (np.flatnonzero(table.of == n) for n in (first, second))
    return float(_gaps(table, row, one, other).min())


def _gaps(table: Table, row: int, one: Indices, other: Indices) -> Floats:
    """Between the limits of each form of the one and each of the other, mm."""
    low, high = table.low[row], table.high[row]
    return np.asarray(np.maximum(low[other] - high[one, None], low[one, None] - high[other]))


def told_apart(table: Table, first: int, second: int, gauge_mm: float = GAUGE_MM) -> bool:
    """Whether a caliper always tells the two: some dimension's limits lie apart by more than twice its error.

    A pitch is measured over six threads.
    """
    return any(
        each.over * gap_mm(table, first, second, row) > 2 * reach_mm(each, gauge_mm)
        for row, each in enumerate(table.kind.dimensions)
    )


def look_alikes(table: Table) -> tuple[tuple[str, str], ...]:
    """Every pair that ``told_apart`` denies, in the table's order."""
    every = np.arange(len(table.forms))
    told = np.zeros((len(table.candidates),) * 2, dtype=bool)
    for row, each in enumerate(table.kind.dimensions):
        across = np.minimum.reduceat(_gaps(table, row, every, every), table.first, axis=0)
        told |= each.over * np.minimum.reduceat(across, table.first, axis=1) > 2 * reach_mm(each)
    names = [candidate.name for candidate in table.candidates]
    return tuple((names[one], names[other]) for one, other in np.argwhere(np.triu(~told, 1)))


def leaders(listed: Sequence[int], probability: Floats) -> list[int]:
    return [n for n in listed[:MOST_LEADERS] if probability[n] >= LEADER_SHARE]


def alike_to(table: Table, listed: Sequence[int], probability: Floats) -> tuple[str, ...]:
    """The leaders that a caliper does not tell from the first."""
    others = leaders(listed, probability)[1:]
    return tuple(table.candidates[n].name for n in others if not told_apart(table, listed[0], n))


def next_measurement(
    table: Table, measured: Measured, listed: Sequence[int], probability: Floats, gauge_mm: float | None
) -> Next | None:
    """The measurement that tells the most probable rivals from the first; None where one leads, or none tells."""
    rivals = leaders(listed, probability)[1:]
    if not rivals or probability[listed[0]] >= SURE_ENOUGH:
        return None
    ways = [way for row in range(len(table.kind.dimensions)) for way in _ways(table, row, measured, gauge_mm)]
    judged = [(way, _told(table, way, listed[0], rivals)) for way in ways]
    told = [(way, found) for way, found in judged if found]
    if not told:
        return None
    (row, over, _, finer), found = max(
        told, key=lambda each: (round(sum(probability[n] for n, _ in each[1]), 3), min(gap for _, gap in each[1]))
    )
    names = tuple(table.candidates[n].name for n in (listed[0], *(n for n, _ in found)))
    return Next(table.kind.dimensions[row], over, min(gap for _, gap in found), finer, names)


Way = tuple[int, int, float, bool]
"""Which dimension, over how many of them, how well it can be measured in mm, and whether again."""


def _ways(table: Table, row: int, measured: Measured, gauge_mm: float | None) -> list[Way]:
    dimension = table.kind.dimensions[row]
    caliper = reach_mm(dimension, gauge_mm or GAUGE_MM)
    before = measured.get(dimension.key)
    if before is None:
        return [(row, dimension.over, caliper, False)]
    if dimension.over > 1:
        return [(row, dimension.over, caliper, False)] if before.over < dimension.over else []
    return [(row, 1, MICROMETER_MM, True)] if dimension.jaws == 1 and dimension.own_mm < MICROMETER_MM * 2 else []


def _told(table: Table, way: Way, first: int, rivals: Sequence[int]) -> list[tuple[int, float]]:
    """Which rivals it tells from the first, each with half the gap between their limits: what a reading may be off."""
    row, over, reach, _ = way
    halves = [(n, over * gap_mm(table, first, n, row) / 2) for n in rivals]
    return [(n, half) for n, half in halves if half >= reach]
