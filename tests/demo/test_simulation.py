"""The simulated bench obeys the physics it claims, and what is read off it can be found again."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from levelwind.core.pull import analyse
from levelwind.core.spin.compare import compare
from levelwind.core.spin.table import analyse_speeds
from levelwind.demo.simulation import (
    PRESETS,
    DragCondition,
    Hand,
    Rig,
    Scale,
    Spool,
    simulate_log,
    simulate_spin,
    spin_time,
    spool_that_turns,
)
from levelwind.demo.simulation.slip import TICK_S, slip
from levelwind.recordings.force_log import read_force_log
from levelwind.recordings.spin_table import read_spin_table

QUIET = Scale(sample_hz=100.0, smoothing_s=0.001, step_N=1e-6, noise_N=1e-6)
PLAIN = DragCondition(30.0, 1.1, viscous_share=0.0, wobble=0.0, fade=0.0, roughness=1e-9)


def test_friction_stretches_the_line_by_force_over_stiffness_and_then_slips_at_the_hands_speed() -> None:
    """Statics: a spool at rest leaves tension k x; in level slip tension is the friction and the speeds agree."""
    hand = 0.1 * np.arange(0, 6, TICK_S)
    trace = slip(PLAIN, Rig(stiffness_N_m=500.0), hand, np.ones(2000))
    still = ~trace.slipping
    first = int(np.argmax(trace.slipping))
    assert trace.force_N[: first - 1] == pytest.approx(500.0 * hand[: first - 1], abs=0.06 * 30)  # damping adds c v
    assert still[:first].all()
    assert trace.force_N[first - 1] == pytest.approx(1.1 * 30.0, rel=0.02)
    assert np.polyfit(hand[4000:-1], trace.travel_m[4000:], 1)[0] == pytest.approx(1.0, rel=1e-3)
    # steady state of the rate-and-state law: share of strength kept is 1 / (1 + v rest / slip)
    kept = 1 / (1 + 0.1 * PLAIN.rest_s / PLAIN.slip_m)
    assert trace.force_N[-1] == pytest.approx(30.0 * (1 + 0.1 * kept), rel=1e-3)


def test_energy_is_not_made() -> None:
    """Work of the hand is at least what friction took: the rest is in the stretched line."""
    drag = replace(PRESETS["glazed"], roughness=1e-9)
    hand = 0.08 * np.arange(0, 8, TICK_S)
    trace = slip(drag, Rig(stiffness_N_m=300.0), hand, np.ones(2000))
    work = float(np.sum(trace.force_N * np.diff(hand)))
    assert drag.running_N * (1 - drag.fade) * trace.travel_m[-1] < work


def test_soft_line_sticks_where_stiff_line_slips_evenly() -> None:
    """Stick-slip comes and goes with the stiffness of what pulls (E. Rabinowicz, Friction and Wear of Materials)."""
    truths = [
        simulate_log(PRESETS["glazed"], np.random.default_rng(1), rig=Rig(k), hand=Hand(0.05), scale=QUIET).truth[0]
        for k in (250.0, 20_000.0)
    ]
    assert [truth.stick_slip for truth in truths] == [True, False]


def test_a_fixed_seed_gives_the_same_log_and_another_does_not() -> None:
    first, again, other = (
        simulate_log(PRESETS["dry leather"], np.random.default_rng(seed), rig=Rig(), hand=Hand(), scale=Scale())
        for seed in (5, 5, 6)
    )
    assert first.as_csv() == again.as_csv() != other.as_csv()
    assert first.as_csv().startswith("# invented")


@pytest.mark.parametrize("name", list(PRESETS))
@pytest.mark.parametrize("unit", ["N", "kgf", "lbf", "ozf"])
def test_every_preset_is_read_back_from_its_text(name: str, unit: str) -> None:
    """The whole way a file takes: written as a phone would, read, measured, and right within a few percent."""
    scale = Scale(sample_hz=40.0, smoothing_s=0.02, tare_N=1.5)
    log = simulate_log(PRESETS[name], np.random.default_rng(11), rig=Rig(400.0), hand=Hand(0.1, pulls=2), scale=scale)
    read = read_force_log(log.as_csv(unit).encode())
    result = analyse(read.time_s, read.force_N, unit_found=read.unit_found)
    assert result.unit_found == unit and len(result.pulls) == 2
    for pull, truth in zip(result.pulls, log.truth, strict=True):
        assert pull.running_N.value == pytest.approx(truth.running_N, rel=0.03)
        assert pull.breakaway_N.value == pytest.approx(truth.breakaway_N, rel=0.05)
        assert pull.stick_slip == truth.stick_slip


def test_spin_time_is_the_integral_of_its_law() -> None:
    """Against an ODE solver run to rest (scipy.integrate.solve_ivp)."""
    for dry, oil, air in [
        (1.5, 0.0, 0.0),
        (0.6, 0.08, 0.0),
        (0.4, 0.05, 0.003),
        (0.02, 0.4, 0.001),
        (0.3, 0.06, 0.003),
    ]:

        def stopped(_: float, n: np.ndarray) -> float:
            return float(n[0])

        stopped.terminal = True  # type: ignore[attr-defined]
        run = solve_ivp(
            lambda _, n, a=dry, b=oil, c=air: -(a + b * n + c * n**2), (0, 500), [25.0], events=stopped, rtol=1e-9
        )
        assert spin_time(25.0, dry, oil, air) == pytest.approx(run.t_events[0][0], rel=1e-6)


def test_a_spool_loses_speed_by_its_law() -> None:
    """Against scipy's integration of dn/dt = -(dry + oil n + air n^2), at every reading of a counter without noise."""
    spool = Spool(26.0, 0.9, 0.03, 0.0012)
    made = simulate_spin(spool, np.random.default_rng(1), noise=0.0)
    moving = made.time_s < spool.spin_time_s
    run = solve_ivp(
        lambda _, n: -(spool.dry_rev_s2 + spool.oil_per_s * n + spool.air_per_rev * n * n),
        (0.0, spool.spin_time_s),
        [26.0],
        t_eval=made.time_s[moving],
        rtol=1e-10,
        atol=1e-12,
    )
    assert made.rev_s[moving] == pytest.approx(run.y[0], abs=1e-4)
    assert made.rev_s[~moving] == pytest.approx(0.0, abs=0.01) and (~moving).any()


@pytest.mark.parametrize("seconds", [3.0, 11.0, 25.0])
def test_a_spool_is_found_that_turns_as_long_as_asked(seconds: float) -> None:
    spool = spool_that_turns(seconds, start_rev_s=26.0, oil_per_s=0.03, air_per_rev=0.0012)
    assert spool.spin_time_s == pytest.approx(seconds, rel=1e-9)


def test_a_counters_table_is_read_back_and_tells_dirty_from_clean() -> None:
    """The loop the demo rests on: less dry friction in, less dry friction found, and the true time in its interval."""
    results = []
    for seed, spool in enumerate((Spool(26.0, 2.0, 0.03, 0.0012), Spool(26.0, 0.6, 0.018, 0.0012))):
        text = simulate_spin(spool, np.random.default_rng(seed)).as_csv()
        table = read_spin_table(text.encode(), name="spin.csv")
        assert table.rev_s is not None
        result = analyse_speeds(table.time_s, table.rev_s, np.random.default_rng(1))
        assert result.spin_time_s.value == pytest.approx(spool.spin_time_s, rel=0.03)
        results.append(result)
    assert "dry friction takes less off the speed" in compare(*results).words()


def test_a_fixed_seed_gives_the_same_spin_and_another_does_not() -> None:
    spool = Spool(26.0, 2.0, 0.03, 0.0012)
    first, again, other = (simulate_spin(spool, np.random.default_rng(seed)).as_csv() for seed in (5, 5, 6))
    assert first == again != other
    assert first.startswith("# invented")
