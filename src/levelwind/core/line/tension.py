"""Tension in the line from torque at the spool, and what guides add to it."""

from collections.abc import Sequence

import numpy as np

from levelwind.core.errors import InputError
from levelwind.core.line.radius import Floats, Numbers
from levelwind.core.writing import written

MOST_BITE = 20.0
"""Friction times wrap beyond which nothing moves, for the line would part first: our choice."""


def tension_N(torque_Nm: Numbers, radius_m: Numbers, guides: Numbers = 1.0) -> Floats:
    """Tension in N beyond the guides when the spool turns against ``torque_Nm``: T / r times what the guides add.

    >>> tension_N(0.90, 0.020)
    np.float64(45.0)
    """
    radius = np.asarray(radius_m, float)
    if np.any(radius <= 0):
        raise InputError("radius of the line on the spool", radius_m, "over 0")
    return np.asarray(np.asarray(torque_Nm) / radius * guides)[()]


def spool_torque_Nm(tension_N: Numbers, radius_m: Numbers, guides: Numbers = 1.0) -> Floats:
    """Torque in N m at the spool behind a tension read beyond the guides: P r over what the guides add.

    >>> spool_torque_Nm(45.0, 0.020)
    np.float64(0.9)
    """
    return np.asarray(np.asarray(tension_N) * radius_m / guides)[()]


def capstan(mu: Numbers, wrap_rad: Numbers) -> Floats:
    """How many times greater the tension is past a fixed guide or a stuck roller: exp(mu theta).

    Source: Euler and Eytelwein; A. K. Tayal, Engineering Mechanics, example 7-4.

    >>> capstan(0.2, np.pi / 3)
    np.float64(1.232987)
    """
    bite = np.multiply(mu, wrap_rad)
    if not (np.all(np.asarray(mu) >= 0) and np.all(np.asarray(wrap_rad) >= 0) and np.all(bite <= MOST_BITE)):
        raise InputError(
            "friction and wrap of a guide", (mu, wrap_rad), f"0 or more, their product up to {written(MOST_BITE)}"
        )
    return np.exp(bite)


def guides_factor(guides: Sequence[tuple[float, float]]) -> float:
    """Product over guides of (coefficient, wrap in rad); a roller that turns has a small coefficient.

    >>> guides_factor([(0.1, 0.5), (0.2, 0.25)])
    1.105
    """
    return float(np.prod([capstan(mu, wrap) for mu, wrap in guides], initial=1.0))


def retrieve_per_turn_m(radius_m: Numbers, gear_ratio: float) -> Floats:
    """Line in m that one turn of the handle takes in: 2 pi r i.

    >>> retrieve_per_turn_m(0.020, 5.0)
    np.float64(0.628)
    """
    if not gear_ratio > 0:
        raise InputError("gear ratio", gear_ratio, "over 0")
    return np.asarray(2 * np.pi * np.asarray(radius_m) * gear_ratio)[()]
