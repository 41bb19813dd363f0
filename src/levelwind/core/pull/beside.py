"""The wave that a drag has beside its sticking.

A cycle of sticking is a climb at the line's rate and a fall. Laid over one another by the points at which tension
turns, and each given its own length, the cycles leave behind what is not theirs: there the wave is looked for as a
narrow line.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from levelwind.core.fitting import FloatArray
from levelwind.core.pull.turns import READINGS_AN_ORDER, Turning, fit_line_turning, once_round

FEWEST_FALLS = 3
"""Falls of tension from which their cycles show a shape. Our choice."""
CYCLE_ORDERS = 4
"""Orders of a cycle's shape at the most. Our choice: a climb and a fall, each a little bent."""
OVERTONE = 0.08
"""How near, in rates of the cycles, a wave may come to one of them or to a multiple. Our choice: what a count of turns
and one of falls may differ by."""
STANDS_OUT = (14.0, 60.0)
"""As for a line in a drag that does not stick. Set on simulated logs: sticking alone hardly reaches it."""
UNSURE = 0.12
"""Part of the wave's height by which its size is unsure beside noise: the spool stands still for most of a cycle, and
shows the wave only where it slips. Set on simulated logs."""


def find_beside(
    time_s: FloatArray, net_N: FloatArray, falls: Sequence[tuple[int, int]]
) -> tuple[Turning | None, float]:
    """The wave, None where none stands out, and for how many seconds it was followed.

    ``falls`` are the samples from and to which tension fell.
    """
    if len(falls) < FEWEST_FALLS:
        return None, 0.0
    turned = np.array(falls).ravel()
    within = slice(turned[0], turned[-1] + 1)
    time, net = time_s[within], net_N[within]
    columns = _cycles(time, turned - turned[0])
    if len(time) <= 2 * columns.shape[1]:
        return None, 0.0
    left = net - columns @ np.linalg.lstsq(columns, net, rcond=None)[0]
    wave = fit_line_turning(time, left + float(np.mean(net)), 1, asked=STANDS_OUT, most_orders=1)
    if wave is None or _of_the_cycles(wave.turns / (len(turned) / 2)):
        return None, 0.0
    return replace(wave, unsure=UNSURE), float(np.ptp(time))


def _of_the_cycles(rate: float) -> bool:
    """Whether a wave of so many times their ``rate`` is what is left of the cycles themselves."""
    return round(rate) >= 1 and abs(rate - round(rate)) < OVERTONE


def _cycles(time_s: FloatArray, turned: np.ndarray) -> FloatArray:
    """Columns of a level, its drift, the cycle's shape, and a triangle as high as its climb is long.

    ``turned`` are the samples of peak, trough, peak and so on.
    """
    at = np.arange(len(time_s))
    part = at / len(time_s) - 0.5
    climbs = np.diff(time_s[turned])[1::2]
    heights = np.zeros(len(turned))
    heights[2::2], heights[0] = climbs, float(np.mean(climbs))
    orders = np.arange(1, 1 + int(np.clip(2 * len(at) / len(turned) / READINGS_AN_ORDER, 1, CYCLE_ORDERS)))
    shape = once_round(np.interp(at, turned, np.arange(len(turned)) / 2), orders)
    return np.column_stack([np.ones_like(part), part, part**2, shape, np.interp(at, turned, heights)])
