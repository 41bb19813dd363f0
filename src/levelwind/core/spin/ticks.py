"""How many ticks make a turn, and whether the round that was followed is a tick, some ticks, or a turn."""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

MOST_MARKS = 6
STANDS_OUT = 1.8
"""How many times stronger the multiples of the tick's rate are than what lies between them."""
LOW = 3
BESIDE = 12.0
SURE = 40.0
"""Power, in noise's own, from which a line between the ticks is no chance."""


def ticks_a_round(power: FloatArray) -> int:
    """How many ticks the followed round holds, from the power at each of its multiples in noise's own.

    With p ticks a round only every p-th multiple is strong; the weaker ones between tell that the ticks are not alike.
    Only the first few count: ticks set a little unevenly fall out of step at the high ones.

    >>> ticks_a_round(np.array([1.0, 90.0, 2.0, 80.0, 0.5, 70.0, 1.0, 60.0]))
    2
    """
    best, found = STANDS_OUT, 1
    h = np.arange(1, len(power) + 1)
    for count in range(2, MOST_MARKS + 1):
        low = h <= LOW * count
        on, off = power[low & (h % count == 0)], power[low & (h % count != 0)]
        if len(on) < 1 or on.mean() < SURE:
            continue
        stands = float(on.mean() / max(off.mean(), 1.0))
        if stands > best:
            best, found = 1.3 * stands, count
    return found


def ticks_differ(power: FloatArray, held: int) -> bool:
    """Whether the ticks of a round of ``held`` are unlike one another, so that the round is a turn and no accident.

    >>> ticks_differ(np.array([1.0, 90.0, 2.0, 80.0]), 2), ticks_differ(np.array([60.0, 900.0, 50.0, 800.0]), 2)
    (False, True)
    """
    h = np.arange(1, len(power) + 1)
    return bool(power[h % held != 0].mean() > SURE)


def ticks_a_turn(envelope: FloatArray, ticks: FloatArray, *, least: float = 0.05) -> int | None:
    """How many ticks come round again alike, from an envelope and the tick phase at each sample (order spectrum).

    Unlike ticks give lines at k/q of the tick's rate, with q the ticks a turn; each q is asked whether its own lines
    reach ``least`` of the ticks' own. None where none does: then all are alike and nobody can tell.
    """
    whole = float(np.mean([_line(envelope, ticks, order) for order in (1.0, 2.0)]))
    found = None
    for count in range(2, MOST_MARKS + 1):
        if found and count % found:
            continue
        own = [order for order in np.arange(1, 2 * count) / count if _first_at(order) == count]
        power = float(np.mean([_line(envelope, ticks, order) for order in own]))
        if power > max(SURE, least * whole) and power > BESIDE * _beside(envelope, ticks, own):
            found = count
    return found


def _first_at(order: float) -> int:
    """The smallest number of ticks a turn that has a line at this part of the tick's rate."""
    return next(q for q in range(1, MOST_MARKS + 1) if abs(order * q - round(order * q)) < 1e-6)


def _line(envelope: FloatArray, ticks: FloatArray, order: float) -> float:
    # sums, not products of vectors: on those a library may wait for threads longer than the sum takes
    angle = order * ticks
    # the part of a turn is kept to 1e-7: enough for a line, and four times quicker than all of it
    part = (2 * np.pi * (angle - np.floor(angle))).astype(np.float32)
    across, along = (float(np.sum(envelope * way)) for way in (np.cos(part), np.sin(part)))
    return (across**2 + along**2) / max(float(np.sum(envelope**2)), 1e-12)


def _beside(envelope: FloatArray, ticks: FloatArray, orders: list[float]) -> float:
    """What stands a little beside the lines: the ground they must rise from."""
    return max(
        float(np.median([_line(envelope, ticks, o + d) for o in orders for d in (-0.037, -0.023, 0.023, 0.037)])), 1.0
    )
