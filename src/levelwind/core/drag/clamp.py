"""Clamp force from a star, knob or nut turned on a thread.

Source: J. E. Shigley, Mechanical Engineering Design, section 8-2 (power screws).
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from levelwind.core.drag.draws import Generator, interval, sampled
from levelwind.core.drag.rings import Floats, Numbers
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.writing import written

ISO_HALF_ANGLE_DEG = 30.0
"""Half of the thread angle of ISO metric and Unified threads; BA 23.75, Whitworth 27.5, Acme 14.5, square 0."""

THREAD_FRICTION = Quantity(0.14, 0.08, 0.20)
"""Friction of greased to barely greased steel threads and of the collar that turns on them: handbook range, from
memory. Stands where nothing is said of a thread."""

HAND_SPREAD = 0.3
"""How far a hand torque given as one number may be off, as a share: our choice."""


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread under a turned part. ``collar_radius_m`` is where the turned part rubs on what it presses."""

    pitch_radius_m: float
    lead_m: float
    half_angle_deg: float = ISO_HALF_ANGLE_DEG
    collar_radius_m: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.pitch_radius_m <= 0.1:
            raise InputError(
                "pitch diameter of the thread", f"{written(2000 * self.pitch_radius_m)} mm", "over 0 and up to 200 mm"
            )
        if not 0 < self.lead_m < 2 * np.pi * self.pitch_radius_m:
            raise InputError(
                "lead of the thread", f"{written(1000 * self.lead_m)} mm", "over 0 and less than its circumference"
            )
        if not 0 <= self.half_angle_deg <= 45:
            raise InputError(
                "half angle of the thread", f"{written(self.half_angle_deg)} degrees", "from 0 to 45 degrees"
            )
        if not 0 <= self.collar_radius_m <= 0.2:
            raise InputError("collar diameter", f"{written(2000 * self.collar_radius_m)} mm", "from 0 to 400 mm")


def pitch_radius_m(major_diameter_m: float, pitch_m: float) -> float:
    """Pitch radius of a 60 degree thread: d2 = d - (3 sqrt 3 / 8) P. Source: ISO 724.

    >>> 2000 * pitch_radius_m(6e-3, 1e-3)
    5.350
    """
    return (major_diameter_m - 3 * sqrt(3) / 8 * pitch_m) / 2


def tightening_Nm_per_N(thread: Thread, mu: Numbers, collar_mu: Numbers = 0.0) -> Floats:
    """Torque in N m that raises the clamp force, for each newton of it.

    T / F = (dm / 2) (l + pi mu dm / cos a) / (pi dm - mu l / cos a) + mu_c d_c / 2, any shape of mu.

    >>> tightening_Nm_per_N(Thread(0.015, 0.008, 0.0, 0.020), 0.08, 0.08) * 6400
    np.float64(26.18)
    """
    slope, rub = _slope_and_rub(thread, mu)
    if np.any(rub * slope >= 1):
        raise InputError("friction of the thread", mu, "less than would lock this lead against turning")
    return np.asarray(thread.pitch_radius_m * (slope + rub) / (1 - rub * slope) + _collar(thread, collar_mu))[()]


def force_from_torque_N(thread: Thread, torque_Nm: Numbers, mu: Numbers, collar_mu: Numbers = 0.0) -> Floats:
    """Clamp force in N that a hand torque reaches.

    >>> force_from_torque_N(Thread(0.012, 0.008, 0.0, 0.031), 54.0, 0.12, 0.15)
    np.float64(7299.0)
    """
    if np.any(np.asarray(torque_Nm) < 0):
        raise InputError("torque on the star", torque_Nm, "0 N m or more")
    return np.asarray(torque_Nm / tightening_Nm_per_N(thread, mu, collar_mu))[()]


def clamp_from_torque(
    thread: Thread, torque_Nm: Quantity, mu: Quantity, collar_mu: Quantity, rng: Generator, draws: int = 4000
) -> Quantity:
    """Clamp force in N from an uncertain hand torque and uncertain friction, 90 % interval.

    >>> known = Quantity.exact
    >>> star = Thread(0.012, 0.008, 0.0, 0.031)
    >>> clamp_from_torque(star, known(54.0), known(0.12), known(0.15), np.random.default_rng(1)).value
    7299.0
    """
    middle = force_from_torque_N(thread, torque_Nm.value, mu.value, collar_mu.value)
    hand, flank, collar = (sampled(q, rng.standard_normal(draws)) for q in (torque_Nm, mu, collar_mu))
    return interval(float(middle), force_from_torque_N(thread, hand, flank, collar))


def by_hand(torque_Nm: float) -> Quantity:
    """A hand torque given as one number, with what a hand may be off.

    >>> by_hand(1.0)
    Quantity(value=1.0, low=0.7, high=1.3)
    """
    return Quantity(torque_Nm, torque_Nm * (1 - HAND_SPREAD), torque_Nm * (1 + HAND_SPREAD))


def _slope_and_rub(thread: Thread, mu: Numbers) -> tuple[Floats, Floats]:
    """Tangent of the lead angle, and friction on the sloped flank."""
    if np.any(np.asarray(mu) < 0):
        raise InputError("friction of the thread", mu, "0 or more")
    slope = thread.lead_m / (2 * np.pi * thread.pitch_radius_m)
    return np.asarray(slope), np.asarray(mu) / np.cos(np.radians(thread.half_angle_deg))


def _collar(thread: Thread, collar_mu: Numbers) -> Floats:
    return np.asarray(collar_mu) * thread.collar_radius_m
