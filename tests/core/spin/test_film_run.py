"""Where a run begins: phases before the flick do not belong to it."""

import numpy as np

from levelwind.core.spin.film_run import _flick_over, disturbance_columns, speed_seen
from levelwind.core.spin.fit import fit_phase
from levelwind.core.spin.law import Law, speed_after, turns_after

LAW = Law(1.0, 0.1, 0.004)
T_S = np.arange(0.0, 6.0, 1 / 60)
RNG = np.random.default_rng(12)


def phases() -> np.ndarray:
    return np.asarray(turns_after(LAW, 15.0, T_S) + RNG.normal(0, 0.002, len(T_S)))


def test_a_run_begins_after_the_last_early_phase_that_does_not_fit() -> None:
    turns = phases()
    turns[:12] += RNG.uniform(0.05, 0.12, 12)
    # strays draw the law aside a little: a few phases beside them may look stray too
    assert T_S[12] - 0.04 <= _flick_over(fit_phase(T_S, turns)) <= T_S[12] + 0.1


def test_a_run_without_strays_begins_where_it_begins() -> None:
    turns = phases()
    turns[30] += 0.1
    assert _flick_over(fit_phase(T_S, turns)) == 0.0


def test_speed_follows_the_phases_where_the_law_does_not() -> None:
    # the truth runs ahead of the law by 0.05 turns and back, within two seconds
    ahead = 0.05 * np.exp(-(((T_S - 3.0) / 0.5) ** 2))
    fit = fit_phase(T_S, phases() + ahead)
    true = speed_after(LAW, 15.0, T_S) + np.gradient(ahead, T_S)
    by_law, seen = (np.sqrt(np.mean((speed - true) ** 2)) for speed in (fit.speed(T_S), speed_seen(fit, T_S)))
    assert seen < 0.3 * by_law


def test_a_centre_found_wrong_is_a_disturbance_once_a_turn() -> None:
    turns = np.linspace(0, 3, 500)
    # seen from a point e radii beside the centre the angle is off by e sin(2 pi turns) / 2 pi, to first order
    off = 0.05 * np.sin(2 * np.pi * turns) / (2 * np.pi)
    columns = disturbance_columns(turns, np.full(500, 10.0))
    left = off - columns @ np.linalg.lstsq(columns, off, rcond=None)[0]
    assert np.abs(left).max() < 1e-9
