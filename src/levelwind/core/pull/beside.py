"""The wave that a drag has beside its sticking.

A cycle of sticking is a climb at the line's rate and a fall. Laid over one another by the points at which tension
turns, and each given its own length, the cycles leave behind what is not theirs: there the wave is looked for as a
narrow line. Where none stands out, it is looked for in the peaks and troughs themselves: the spool lets go, and catches
again, where friction is that high. They say nothing of a wave that comes round as often as it sticks, or oftener.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from levelwind.core.fitting import FloatArray, fit_linear
from levelwind.core.pull.turns import (
    FEWEST_TURNS,
    READINGS_AN_ORDER,
    SHAPE_POINTS,
    SMALLEST_SHARE,
    Turning,
    fit_line_turning,
    once_round,
)

FEWEST_FALLS = 3
"""Falls of tension from which their cycles show a shape. Our choice."""
CYCLE_ORDERS = 4
"""Orders of a cycle's shape at the most. Our choice: a climb and a fall, each a little bent."""
OVERTONE = 0.08
"""How near, in rates of the cycles, a wave may come to one of them or to a multiple. Our choice: what a count of turns
and one of falls may differ by."""
STANDS_OUT = (14.0, 60.0)
"""As for a line in a drag that does not stick. Set on simulated logs: sticking alone hardly reaches it."""
BY_CHANCE = 3e-4
"""Chance that peaks and troughs of no wave show one as clear at any of the rates looked at. Our choice, kept on
simulated logs."""
RATES_A_TURN, LOOKS_A_TURN = 7, 1.5
"""Rates looked at, and those among them that tell of something new, over a turn more in all. Our choice."""
SLOWER = 0.9
"""Fastest rate looked for in peaks and troughs, over that of the cycles. Our choice: at their own all are alike."""
UNSURE = 0.12
"""Part of the wave's height by which its size is unsure beside noise: the spool stands still for most of a cycle, and
shows the wave only where it slips. Set on simulated logs."""
HIGHER = np.pi**2 / 8 - 1
"""Part of its height by which a wave may be higher than its first order, the only one seen here: that of a triangle,
the first term of whose Fourier series is 8/π² of it (any table of such series)."""


def find_beside(
    time_s: FloatArray, net_N: FloatArray, falls: Sequence[tuple[int, int]]
) -> tuple[Turning | None, float]:
    """The wave, None where none stands out, and for how many seconds it was followed.

    ``falls`` are the samples from and to which tension fell.
    """
    if len(falls) < FEWEST_FALLS:
        return None, 0.0
    turned = np.array(falls).ravel()
    wave = _by_line(time_s, net_N, turned) or _by_points(time_s[turned], net_N[turned])
    if wave is None:
        return None, 0.0
    return replace(wave, unsure=UNSURE, higher=HIGHER), float(time_s[turned[-1]] - time_s[turned[0]])


def _by_line(time_s: FloatArray, net_N: FloatArray, turned: np.ndarray) -> Turning | None:
    """In what the cycles leave behind; ``turned`` are the samples of peak, trough, peak and so on."""
    within = slice(turned[0], turned[-1] + 1)
    time, net = time_s[within], net_N[within]
    columns = _cycles(time, turned - turned[0])
    if len(time) <= 2 * columns.shape[1]:
        return None
    left = net - columns @ np.linalg.lstsq(columns, net, rcond=None)[0]
    wave = fit_line_turning(time, left + float(np.mean(net)), 1, asked=STANDS_OUT, most_orders=1)
    return None if wave is None or _of_the_cycles(wave.turns / (len(turned) / 2)) else wave


def _by_points(at_s: FloatArray, net_N: FloatArray) -> Turning | None:
    """In peaks and troughs, one after another: each with a level of its own, the higher the longer the climb was.

    How seldom chance does as well is exact for one rate: the share of the squares left, to half the spare points, as of
    an F of two and those (tables of that law).
    """
    seconds, count = float(at_s[-1] - at_s[0]), len(at_s)
    part, peak = (at_s - at_s[0]) / seconds - 0.5, np.arange(count) % 2 == 0
    climbs = np.diff(at_s)[1::2]
    climb = np.repeat(np.concatenate([[climbs.mean()], climbs]), 2) - climbs.mean()
    plain = np.column_stack([np.ones(count), part, part**2, peak - 0.5, climb * peak, climb * ~peak])
    most, spare = SLOWER * (count / 2 - 1), count - plain.shape[1] - 3
    if spare < 1 or most <= FEWEST_TURNS:
        return None
    axes = np.linalg.qr(plain)[0]
    left = net_N - axes @ (axes.T @ net_N)
    turns = np.arange(FEWEST_TURNS, most, 1 / RATES_A_TURN)
    explained = []
    for each in turns:
        round_ = once_round(each * part, np.array([1]))
        round_ -= axes @ (axes.T @ round_)
        explained.append(float(left @ round_ @ np.linalg.lstsq(round_, left, rcond=None)[0]))
    best = int(np.argmax(explained))
    looks = max(LOOKS_A_TURN * float(turns[-1] - turns[0]), 1.0)
    if looks * max(1 - explained[best] / float(left @ left), 0.0) ** (spare / 2) > BY_CHANCE:
        return None
    columns = np.column_stack([plain[:, :2], once_round(turns[best] * part, np.array([1])), plain[:, 2:]])
    shape = once_round(np.linspace(0, 1, SHAPE_POINTS, endpoint=False), np.array([1]))
    wave = Turning(fit_linear(columns, net_N, lag=1), shape, float(turns[best]), left)
    return wave if wave.half_span()[0] > SMALLEST_SHARE * float(np.mean(net_N)) else None


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
