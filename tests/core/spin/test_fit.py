"""The fit finds the law that made the phases, through outliers, and says truly how sure it is."""

import numpy as np
import pytest

from levelwind.core.errors import NotDeterminedError
from levelwind.core.fitting import correlation_length
from levelwind.core.spin.fit import fit_phase, fit_speed
from levelwind.core.spin.law import Law, energy_shares, speed_after, time_between, turns_after
from levelwind.core.spin.shares import central_interval, draw_laws
from levelwind.core.spin.verdict import spin_from_fit
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import share

LAW, START = Law(0.4, 0.05, 0.003), 26.0
STOP = float(time_between(LAW, START, 0.0))
TIME = np.linspace(0.0, 0.97 * STOP, 260)


def _noisy(seed: int, sigma: float = 0.004) -> np.ndarray:
    return turns_after(LAW, START, TIME) + np.random.default_rng(seed).normal(0, sigma, len(TIME))


def test_exact_phases_give_the_law_back() -> None:
    fit = fit_phase(TIME, turns_after(LAW, START, TIME) + 7.25)
    assert [float(x) for x in fit.law.coefficients] == pytest.approx([0.4, 0.05, 0.003], rel=1e-4)
    assert fit.offset_turns == pytest.approx(7.25, abs=1e-5)
    assert fit.stop_s == pytest.approx(STOP, rel=1e-5)


def test_outliers_do_not_drag_it() -> None:
    phase = _noisy(1)
    phase[::17] += 0.4
    assert fit_phase(TIME, phase).speed(TIME) == pytest.approx(speed_after(LAW, START, TIME), abs=0.03)


def test_a_further_column_is_found_beside_the_law() -> None:
    column = np.sin(TIME * 9)
    fit = fit_phase(TIME, _noisy(2) + 0.05 * column, columns=column[:, None])
    assert fit.nuisance[0] == pytest.approx(0.05, abs=0.003)


def test_neighbours_that_err_together_widen_it() -> None:
    rng = np.random.default_rng(3)
    drift = np.convolve(rng.normal(0, 0.004, len(TIME) + 30), np.ones(30) / np.sqrt(30), "valid")[: len(TIME)]
    alone, together = (fit_phase(TIME, turns_after(LAW, START, TIME) + x) for x in (_noisy(3) - _noisy(4), drift))
    assert together.correlation_length > 5 > alone.correlation_length
    assert together.covariance[1, 1] > 2 * alone.covariance[1, 1]


def test_speeds_and_phases_agree() -> None:
    by_speed = fit_speed(TIME, speed_after(LAW, START, TIME) + np.random.default_rng(5).normal(0, 0.02, len(TIME)))
    assert by_speed.stop_s == pytest.approx(fit_phase(TIME, _noisy(5)).stop_s, rel=0.01)


def test_friction_that_rises_is_found_only_where_it_does() -> None:
    risen = Law(0.4, 0.05, 0.003, 0.7, 1.2)
    t = np.linspace(0.0, 0.98 * float(time_between(risen, START, 0.0)), 260)
    phase = turns_after(risen, START, t) + np.random.default_rng(6).normal(0, 0.003, len(t))
    assert fit_phase(t, phase, bent=True).law.stribeck > 0.2
    assert fit_phase(TIME, _noisy(7), bent=True).law.stribeck == 0.0


def _held(seeds: range, law: Law) -> float:
    """How often the 90 % intervals of the three shares hold the truth."""
    stop = float(time_between(law, START, 0.0))
    t = np.linspace(0.0, 0.97 * stop, 150)
    truth = energy_shares(law, START, speed_after(law, START, t[-1]))
    held = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        fit = fit_phase(t, turns_after(law, START, t) + rng.normal(0, 0.004, len(t)), bent=True)
        parts = draw_laws(fit, rng).shares(float(t[-1]))
        held += [q.low <= x <= q.high for q, x in zip((central_interval(p) for p in parts.T), truth, strict=True)]
    return float(np.mean(held))


@pytest.mark.sampled
@pytest.mark.parametrize("rise", [0.0, 0.5])
def test_intervals_hold_the_truth(rise: float) -> None:
    """Three shares that move together: by chance fewer than 9 of 14 spools held, or 3 of 6, come once in a hundred."""
    spools, least = cases((6, 3), (14, 9))
    assert _held(range(spools), Law(0.4, 0.05, 0.003, rise, 1.5)) >= least / spools


def test_no_oil_and_no_air_is_a_possible_answer() -> None:
    t = np.linspace(0.0, 9.5, 200)
    rng = np.random.default_rng(12)
    phase = turns_after(Law(2.0, 0.0, 0.0), 20.0, t) + rng.normal(0, 0.004, len(t))
    told = spin_from_fit(fit_phase(t, phase), rng, stop_seen=True).energy_share
    assert told
    assert told.dry.high == 1.0
    assert told.oil.low == told.air.low == 0.0


def test_a_short_look_says_that_it_cannot_tell() -> None:
    t = np.linspace(0.0, 2.0, 120)
    rng = np.random.default_rng(8)
    spin = spin_from_fit(fit_phase(t, turns_after(LAW, START, t) + rng.normal(0, 0.004, 120)), rng, stop_seen=False)
    assert spin.spin_time_s is None
    assert spin.energy_share and spin.energy_share.oil.high - spin.energy_share.oil.low > 0.3
    assert any("cannot be told apart" in str(note) for note in spin.cautions)
    assert any("stop was not seen" in str(note) for note in spin.cautions)


def test_the_same_dice_give_the_same_answer() -> None:
    fit = fit_phase(TIME, _noisy(9))
    one, other = (spin_from_fit(fit, np.random.default_rng(1), stop_seen=True) for _ in range(2))
    assert one == other


@pytest.mark.parametrize(
    ("time", "phase"),
    [(np.arange(5.0), np.arange(5.0)), (np.arange(30.0), np.zeros(30)), (np.arange(30.0), -np.arange(30.0))],
)
def test_nothing_to_fit_is_said(time: np.ndarray, phase: np.ndarray) -> None:
    with pytest.raises(NotDeterminedError):
        fit_phase(time, phase)


def test_agreement_counts_neighbours() -> None:
    noise = np.random.default_rng(10).normal(size=4000)
    assert correlation_length(noise) == pytest.approx(1.0, abs=0.3)
    assert correlation_length(np.repeat(noise, 8)) == pytest.approx(8.0, rel=0.3)


@pytest.mark.sampled
def test_intervals_from_ten_phases_allow_for_their_few(figure: Figure) -> None:
    """Their scatter is known badly: by the normal law 0.80 of these intervals hold the truth, by Student's 0.85."""
    t, law, held = np.linspace(0.0, 9.0, 10), Law(0.8, 0.05, 0.002), []
    for seed in range(cases(10, 150)):
        rng = np.random.default_rng(seed)
        fit = fit_phase(t, turns_after(law, 20.0, t) + rng.normal(0, 0.01, len(t)))
        first = central_interval(draw_laws(fit, rng).start_rev_s)
        held.append(first.low <= 20.0 <= first.high)
    figure("first speeds from ten phases, intervals that hold the truth", len(held), share(held), "83 to 95 %")
    least, most = cases((0.5, 1.0), (0.83, 0.95))
    assert least <= np.mean(held) <= most
