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


def _ring(inner_radius_m: Numbers, outer_radius_m: Numbers) -> tuple[Floats, Floats]:
    inner, outer = np.asarray(inner_radius_m, float), np.asarray(outer_radius_m, float)
    if not (np.all(inner >= 0) and np.all(outer > 0) and np.all(inner <= outer)):
        raise InputError("inner radius", inner_radius_m, "from 0 to no more than the outer radius, both in m")
    return inner, outer
