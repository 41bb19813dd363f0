"""Friction of a ball bearing, as what a spin's dry term takes.

U. C. Jindal, Machine Design, example 18-1, p. 507: M = mu P r with mu = 0.0011, P = 16 kN on a shaft of 40 mm
gives 0.352 N m, and 53.08 W at 1440 rpm. A moment M brakes an inertia J by dry = M / (2 pi J) rev/s2, and takes
2 pi M n watts.
"""

from math import pi, tau

import numpy as np
import pytest

from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between

MOMENT_NM = 0.0011 * 16_000 * 0.040 / 2
SPEED_REV_S = 1440 / 60


@pytest.mark.parametrize("inertia_kg_m2", [0.02, 0.5, 30.0])
def test_power_lost_by_a_law_of_that_moment(inertia_kg_m2: float) -> None:
    """Kinetic energy lost in the first thousandth of the run, over its time: 53.08 W, printed to 0.01."""
    law = Law(MOMENT_NM / (tau * inertia_kg_m2), 0.0, 0.0)
    seconds = float(time_between(law, SPEED_REV_S, 0.0)) / 1000
    first, then = SPEED_REV_S, float(speed_after(law, SPEED_REV_S, seconds))
    middle = (first + then) / 2 / SPEED_REV_S
    watts = 0.5 * inertia_kg_m2 * tau**2 * (first**2 - then**2) / seconds / middle
    assert watts == pytest.approx(53.08, abs=0.01)


def test_all_of_the_loss_is_dry_and_the_stop_is_the_moments() -> None:
    """J 2 pi n / M seconds (angular momentum over moment)."""
    law = Law(MOMENT_NM / (tau * 0.5), 0.0, 0.0)
    assert float(time_between(law, SPEED_REV_S, 0.0)) == pytest.approx(
        0.5 * 2 * pi * SPEED_REV_S / MOMENT_NM, rel=1e-12
    )
    assert energy_shares(law, SPEED_REV_S, 0.0) == pytest.approx(np.array([1.0, 0.0, 0.0]))


def test_a_bearings_viscous_moment_slows_as_its_formula_says() -> None:
    """M0 = 1e-7 f0 (nu n)^(2/3) d^3 N mm (A. Palmgren, by way of bearing handbooks; from memory), n in turns a minute.

    With nothing else, dn/dt = -k n^(2/3), so that n^(1/3) falls evenly: t = 3 (n0^(1/3) - n1^(1/3)) / k.
    """
    f0, nu_mm2_s, mean_mm, inertia_kg_m2, first, last = 1.5, 30.0, 7.0, 4e-6, 20.0, 4.0
    moment_Nm = 1e-7 * f0 * (nu_mm2_s * 60 * first) ** (2 / 3) * mean_mm**3 * 1e-3
    assert nu_mm2_s * 60 * last > 2000  # below, the moment is given as even
    lost = moment_Nm / (tau * inertia_kg_m2)
    law = Law(0.0, lost / first, 0.0, power=2 / 3, reference_rev_s=first)
    seconds = 3 * (first ** (1 / 3) - last ** (1 / 3)) / (lost / first ** (2 / 3))
    assert float(time_between(law, first, last)) == pytest.approx(seconds, rel=1e-9)
    assert float(speed_after(law, first, seconds)) == pytest.approx(last, rel=1e-4)


def test_the_two_forms_of_the_viscous_moment_meet() -> None:
    """Even, 160e-7 f0 d^3, below nu n = 2000, where the other is 2000^(2/3) times 1e-7 f0 d^3: from memory."""
    even, rising = 160, 2000 ** (2 / 3)
    assert rising == pytest.approx(even, rel=0.01)
