"""One ring pressed on another: at what radius the friction acts, and what pressure it sees.

Two assumptions bound what a real ring does. A new, flat pair presses evenly (uniform pressure); a run-in pair has worn
until pressure times radius is even (uniform wear). Uniform wear never gives more torque than uniform pressure.

Source: R. S. Khurmi and J. K. Gupta, Theory of Machines, sections 10.32 to 10.36; J. E. Shigley, Mechanical
Engineering Design, section 16-5.
"""

from enum import StrEnum

import numpy as np
import numpy.typing as npt

from levelwind.core.errors import InputError

Floats = npt.NDArray[np.float64]
Numbers = float | Floats
"""A number or an array of them, in SI; arrays broadcast."""


class Assumption(StrEnum):
    """How the pressure lies on the ring."""

    PRESSURE = "uniform pressure"
    WEAR = "uniform wear"


def friction_radius_m(inner_radius_m: Numbers, outer_radius_m: Numbers, assumption: Assumption) -> Floats:
    """Radius in m at which friction acts, R = T / (mu W).

    Uniform pressure: R = (2/3) (ro^3 - ri^3) / (ro^2 - ri^2), written so that ri = ro does no harm.
    Uniform wear: R = (ro + ri) / 2. Valid for flat rings, 0 <= ri <= ro, 0 < ro.

    >>> friction_radius_m(0.150, 0.300, Assumption.PRESSURE)
    np.float64(0.2333)
    >>> friction_radius_m(0.150, 0.300, Assumption.WEAR)
    np.float64(0.225)
    """
    inner, outer = _ring(inner_radius_m, outer_radius_m)
    if assumption is Assumption.WEAR:
        return np.asarray((outer + inner) / 2)[()]
    return np.asarray(2 / 3 * (outer + inner - outer * inner / (outer + inner)))[()]


def face_torque_Nm(
    mu: Numbers,
    force_N: Numbers,
    inner_radius_m: Numbers,
    outer_radius_m: Numbers,
    assumption: Assumption,
    cone_half_angle_rad: float = np.pi / 2,
) -> Floats:
    """Torque in N m one pair of faces carries before it slips: T = mu W R / sin(alpha).

    ``cone_half_angle_rad`` is pi/2 for flat washers, less for a conical drag.

    >>> face_torque_Nm(0.2, 300.0, 0.004, 0.010, Assumption.WEAR)
    np.float64(0.42)
    """
    radius = friction_radius_m(inner_radius_m, outer_radius_m, assumption)
    return np.asarray(np.multiply(mu, force_N) * radius / np.sin(cone_half_angle_rad))[()]


def force_at_pressure_N(
    pressure_Pa: Numbers, inner_radius_m: Numbers, outer_radius_m: Numbers, assumption: Assumption
) -> Floats:
    """Clamp force in N at which the greatest pressure on the ring is ``pressure_Pa``.

    Uniform pressure: W = p pi (ro^2 - ri^2). Uniform wear: W = 2 pi p ri (ro - ri), greatest at the inner edge.

    >>> force_at_pressure_N(254647.9, 0.050, 0.100, Assumption.WEAR)
    np.float64(4000.0)
    """
    inner, outer = _ring(inner_radius_m, outer_radius_m)
    area = np.pi * (outer + inner) if assumption is Assumption.PRESSURE else 2 * np.pi * inner
    return np.asarray(pressure_Pa * area * (outer - inner))[()]


def pressures_Pa(force_N: float, inner_radius_m: float, outer_radius_m: float) -> tuple[float, float, float]:
    """Least, mean and greatest pressure in Pa on a run-in ring (uniform wear, p r = W / (2 pi (ro - ri))).

    >>> [round(p) for p in pressures_Pa(4000.0, 0.050, 0.100)]
    [127324, 169765, 254648]
    """
    inner, outer = (float(r) for r in _ring(inner_radius_m, outer_radius_m))
    if inner <= 0 or inner == outer:
        raise InputError("inner radius", f"{1000 * inner:g} mm", f"over 0 and under {1000 * outer:g} mm")
    pressure_times_radius = force_N / (2 * np.pi * (outer - inner))
    mean = force_N / (np.pi * (outer**2 - inner**2))
    return pressure_times_radius / outer, mean, pressure_times_radius / inner


def _ring(inner_radius_m: Numbers, outer_radius_m: Numbers) -> tuple[Floats, Floats]:
    inner, outer = np.asarray(inner_radius_m, float), np.asarray(outer_radius_m, float)
    if not (np.all(inner >= 0) and np.all(outer > 0) and np.all(inner <= outer)):
        raise InputError("inner radius", inner_radius_m, "from 0 to no more than the outer radius, both in m")
    return inner, outer
