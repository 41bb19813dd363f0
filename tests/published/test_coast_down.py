"""A body running down under constant, viscous and quadratic resistance.

Christensen, Physics 121, Brigham Young University, angular kinematics: 900 rpm slowing by 5 rpm a second. The
five closed forms are derived in docs/physics/spin.md; every expected number is checked here against scipy's solver
of differential equations as well. The table prints b of its last case as 0.0282843, which is the root of 8e-4 rounded.
"""

from math import tau

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after

# a, b, c in rad/s², 1/s, 1/rad; speed after 20 s, seconds to rest, turns to rest from 300 rad/s
CASES = {
    "a + bw": (2, 0.05, 0, 85.07901, 42.801323, 682.447972),
    "a + cw2": (2, 0, 0.0001, 160.156753, 79.923266, 1356.595428),
    "full, D > 0": (2, 0.01, 0.0001, 132.991069, 64.107467, 1038.355079),
    "full, D < 0": (2, 0.05, 0.0001, 58.816494, 37.693005, 541.364827),
    "full, D = 0": (2, 8e-4**0.5, 0.0001, 93.022739, 48.056586, 729.937632),
}


def test_constant_torque() -> None:
    """180 s, 1350 turns, 458 rpm after 1000 turns."""
    law, start = Law(5 / 60, 0.0, 0.0), 900 / 60
    assert float(time_between(law, start, 0.0)) == pytest.approx(180, abs=1e-9)
    assert float(turns_after(law, start, time_between(law, start, 0.0))) == pytest.approx(1350, abs=1e-8)
    times = np.linspace(0, 180, 180_001)
    after = times[np.searchsorted(turns_after(law, start, times), 1000)]
    assert float(speed_after(law, start, after)) * 60 == pytest.approx(458, abs=0.5)


@pytest.mark.parametrize("name", CASES)
def test_closed_forms(name: str) -> None:
    """Closed forms with one, two and all three terms, within half a unit of the last figure written here."""
    a, b, c, speed, stop, turns = CASES[name]
    law, start = Law(a / tau, b, c * tau), 300 / tau
    assert float(speed_after(law, start, 20.0)) * tau == pytest.approx(speed, abs=1e-5)
    assert float(time_between(law, start, 0.0)) == pytest.approx(stop, abs=1e-6)
    assert float(turns_after(law, start, time_between(law, start, 0.0))) == pytest.approx(turns, abs=1e-5)
    assert float(speed_after(law, start, stop)) * tau == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    "law", [Law(0.5, 0.05, 0.002, 0.6, 0.4), Law(0.3, 0.2, 0.004, 1.5, 3.0), Law(0.2, 0.0, 0.01, 0.3, 0.4)]
)
def test_friction_that_rises_against_a_solver(law: Law) -> None:
    """scipy solve_ivp (DOP853, 1e-12). Cubics between 101 speeds: turns and speeds to 1e-5."""
    stop = float(time_between(law, 40.0, 0.0))
    t = np.linspace(0.0, 0.98 * stop, 60)
    solved = solve_ivp(lambda _, y: [-law.loss(y[0]), y[0]], (0, t[-1]), [40, 0], t_eval=t, rtol=1e-12, method="DOP853")
    assert speed_after(law, 40.0, t) == pytest.approx(solved.y[0], rel=1e-5)
    assert turns_after(law, 40.0, t) == pytest.approx(solved.y[1], abs=1e-5)
    slowed = float(solved.y[0, 30])
    assert float(time_between(law, 40.0, slowed)) == pytest.approx(t[30], rel=1e-6)


@pytest.mark.parametrize("name", CASES)
def test_against_a_solver(name: str) -> None:
    """scipy solve_ivp (DOP853, 1e-12): the same speeds, turns and energy shares to one part in 1e9."""
    a, b, c, *_, stop, _ = CASES[name]
    law, start = Law(a / tau, b, c * tau), 300 / tau
    t = np.linspace(0.0, 0.98 * stop, 30)

    def slows(_: float, y: np.ndarray) -> list[float]:
        f = y[0]
        terms = [a / tau, b * f, c * tau * f * f]
        return [-sum(terms), f, *(term * f for term in terms)]

    solved = solve_ivp(slows, (0, t[-1]), [start, 0, 0, 0, 0], t_eval=t, rtol=1e-12, atol=1e-12, method="DOP853").y
    assert speed_after(law, start, t) == pytest.approx(solved[0], rel=1e-9)
    assert turns_after(law, start, t) == pytest.approx(solved[1], rel=1e-9, abs=1e-9)
    shares = solved[2:, -1] / solved[2:, -1].sum()
    assert energy_shares(law, start, solved[0, -1]) == pytest.approx(shares, rel=1e-6, abs=1e-9)


def test_rise_towards_rest_against_a_solver() -> None:
    """With dry friction that rises towards rest there is no closed form: Simpson's rule, to 1e-4 of a turn in 137."""
    law, start = Law(0.3, 0.05, 0.002, 0.6, 1.2), 25.0
    stop = float(time_between(law, start, 0.0))
    t = np.linspace(0, 0.999 * stop, 40)

    def slows(_: float, y: np.ndarray) -> list[float]:
        return [-(0.3 * (1 + 0.6 * np.exp(-y[0] / 1.2)) + 0.05 * y[0] + 0.002 * y[0] ** 2), y[0]]

    solved = solve_ivp(slows, (0, stop), [start, 0], t_eval=t, rtol=1e-11, atol=1e-11).y
    assert speed_after(law, start, t) == pytest.approx(solved[0], abs=2e-4)
    assert turns_after(law, start, t) == pytest.approx(solved[1], abs=1e-4)


def test_rad_and_turns_agree_by_pint() -> None:
    """One unit of each kind by pint: rad/s², 1/rad and rpm in turns."""
    pint = pytest.importorskip("pint")
    unit = pint.UnitRegistry()
    assert (2 * unit.rad / unit.s**2).to("turn/s**2").magnitude == pytest.approx(2 / tau)
    assert (0.0001 / unit.rad).to("1/turn").magnitude == pytest.approx(0.0001 * tau)
    assert (900 * unit.rpm).to("turn/s").magnitude == pytest.approx(15)
