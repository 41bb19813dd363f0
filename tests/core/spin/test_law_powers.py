"""Laws whose oil goes with another power of the speed, and whose friction rises towards rest, against a solver."""

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from levelwind.core.errors import NoConvergenceError
from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after
from levelwind.core.spin.law_draws import LawDraws
from levelwind.core.spin.law_posterior import chances_of

LAWS = [
    Law(0.3, 0.12, 0.003, power=0.5, reference_rev_s=24.0),
    Law(0.3, 0.12, 0.003, power=2 / 3, reference_rev_s=24.0),
    Law(0.3, 0.12, 0.003, 0.8, 0.5, 2 / 3, 24.0),
    Law(0.02, 0.2, 0.0, 0.5, 2.0, 0.8, 24.0),
]
START = 24.0


def loss(law: Law, f: float) -> float:
    """The law as the physics page writes it, apart from the code."""
    dry, oil, air = (float(x) for x in law.coefficients)
    rise, of, power, n0 = (
        float(np.asarray(x)) for x in (law.stribeck, law.stribeck_rev_s, law.power, law.reference_rev_s)
    )
    f = max(f, 0.0)
    return dry * (1 + rise * np.exp(-f / of)) + (oil * f * (f / n0) ** (power - 1) if f > 0 else 0.0) + air * f * f


@pytest.mark.parametrize("law", LAWS)
def test_speeds_and_turns_are_a_solvers(law: Law) -> None:
    stop = quad(lambda u: 2 * START * u / loss(law, START * u * u), 0, 1, epsrel=1e-11)[0]
    assert float(time_between(law, START, 0.0)) == pytest.approx(stop, rel=1e-5)
    t = np.linspace(0.0, 0.98 * stop, 40)
    solved = solve_ivp(
        lambda _, y: [-loss(law, y[0]), y[0]], (0, t[-1]), [START, 0.0], t_eval=t, rtol=1e-10, atol=1e-12
    )
    assert speed_after(law, START, t) == pytest.approx(solved.y[0], abs=1e-4 * START)
    assert turns_after(law, START, t) == pytest.approx(solved.y[1], rel=1e-5, abs=1e-4)


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("end", [0.0, 3.0])
def test_shares_are_a_quadratures(law: Law, end: float) -> None:
    dry, oil, air = (float(x) for x in law.coefficients)
    assert dry and oil

    def lost(f: float) -> float:
        return f / loss(law, f)

    whole = quad(lambda f: f, end, START)[0]
    of_air = quad(lambda f: lost(f) * air * f * f, end, START)[0] / whole
    of_oil = quad(
        lambda f: lost(f) * (loss(Law(0.0, oil, 0.0, 0.0, 1.0, law.power, law.reference_rev_s), f)), end, START
    )[0]
    told = energy_shares(law, START, end)
    assert told == pytest.approx([1 - of_oil / whole - of_air, of_oil / whole, of_air], abs=1e-5)


def test_power_one_is_the_law_of_before_whatever_the_reference() -> None:
    t = np.linspace(0.0, 12.0, 30)
    assert turns_after(Law(0.3, 0.1, 0.002, power=1.0, reference_rev_s=7.0), START, t) == pytest.approx(
        turns_after(Law(0.3, 0.1, 0.002), START, t), rel=1e-12
    )


def test_many_laws_of_many_powers_are_the_laws_one_by_one() -> None:
    """Whichever way the laws lie: along rows or along columns of what is asked."""
    t, power = np.linspace(0.0, 9.0, 12), np.array([0.5, 0.7, 1.0])
    alone = np.array([speed_after(Law(0.3, 0.1, 0.001, 0.2, 1.0, p, START), START, t) for p in power])
    rows = speed_after(Law(0.3, 0.1, 0.001, 0.2, 1.0, power[:, None], START), START, t)
    columns = speed_after(Law(0.3, 0.1, 0.001, 0.2, 1.0, power, START), np.full(3, START), t[:, None])
    assert rows == pytest.approx(alone) and columns == pytest.approx(alone.T)


def test_before_the_first_moment_it_was_faster_by_as_much_as_it_loses() -> None:
    law, step = LAWS[1], 1e-3
    before = float(speed_after(law, START, -step))
    assert (before - START) / step == pytest.approx(loss(law, START), rel=1e-3)


def test_ticks_and_turns_are_one_law() -> None:
    ticks, t = Law(1.8, 0.12, 0.0005, 0.5, 6.0, 0.6, 144.0), np.linspace(0.0, 8.0, 9)
    assert speed_after(ticks.turning(1 / 6), 24.0, t) == pytest.approx(speed_after(ticks, 144.0, t) / 6)


def test_another_reference_is_the_same_law() -> None:
    assert LAWS[2].referred_to(5.0).loss(np.linspace(0, 24, 9)) == pytest.approx(LAWS[2].loss(np.linspace(0, 24, 9)))


def test_draws_are_laws_one_by_one() -> None:
    many = Law(
        *(np.array(x) for x in zip((0.3, 0.1, 0.002, 0.0, 1.0, 1.0), (0.2, 0.2, 0.001, 0.4, 0.8, 0.6), strict=True)),
        24.0,
    )
    draws = LawDraws.of(many, np.array([24.0, 24.1]))
    one = Law(0.2, 0.2, 0.001, 0.4, 0.8, 0.6, 24.0)
    assert draws.seconds(20.0, 2.0)[1] == pytest.approx(float(time_between(one, 20.0, 2.0)))
    assert draws.energy_shares(20.0, 2.0)[1] == pytest.approx(energy_shares(one, 20.0, 2.0))


def test_where_no_law_is_possible_it_is_said_in_a_sentence() -> None:
    with pytest.raises(NoConvergenceError, match="did not settle"):
        chances_of(np.array([-np.inf, np.nan]))
