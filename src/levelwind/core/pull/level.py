"""The running level and what it loses, once the start-up has died away."""

from dataclasses import dataclass

import numpy as np

from levelwind.core.fitting import FloatArray, LinearFit, fit_linear

STARTS = (0.5, 1.5)
"""Other windows that the level is taken over begin after so many times what is left out. Our choice."""
ENDS = 0.125
"""Part of the window that another one leaves out at its end. Our choice: what a hand spoils in letting go."""
BENT_READINGS = 12
"""Readings from which the fade may be bent. Our choice: four for each of its three terms."""


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """What the drag runs at half way through its slip, and how it fades, from where the start-up has died away."""

    half_way_N: float
    error_N: float
    """Standard error: by noise, and by how far it moves with the window and with a straight fade for a bent one."""
    straight: LinearFit
    """Level half way through the whole slip and slope over the whole of it."""
    slope_moves_N: float
    """How far that slope moves with the window."""


def find_level(
    part: FloatArray, net_N: FloatArray, calm: int, lag: int, *, may_bend: bool = True, wave_error_N: float = 0.0
) -> Level:
    """``part`` of the slip at each steady reading, −1/2 to 1/2; ``net_N`` less the wave; from the reading ``calm`` on.

    ``lag`` is up to how many readings apart the unevenness is correlated, ``wave_error_N`` the standard error of the
    level by taking the wave off.
    """
    count = len(net_N)
    most = 2 if count - calm >= BENT_READINGS else 1
    order = most if may_bend else 1
    starts = [min(int(times * calm), count - order - 2) for times in STARTS]
    shorter = count - int(ENDS * (count - calm))

    def over(first: int, last: int, bends: int) -> LinearFit:
        columns = np.vander(part[first:last], bends + 1, increasing=True)
        return fit_linear(columns, net_N[first:last], lag=min(lag, last - first))

    straight, bent = over(calm, count, 1), over(calm, count, most)
    level = bent if may_bend else straight
    others = [*(over(first, count, order) for first in starts), over(calm, shorter, order), straight, bent]
    moves = max(abs(float(other.values[0] - level.values[0])) for other in others)
    slopes = [abs(float((over(first, count, 1).values - straight.values)[1])) for first in starts]
    error = float(np.linalg.norm([level.error(np.eye(order + 1)[0]), moves, wave_error_N]))
    return Level(float(level.values[0]), error, straight, max(slopes))
