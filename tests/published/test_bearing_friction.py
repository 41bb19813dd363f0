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
