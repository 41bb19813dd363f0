"""Generated force logs against the truth behind them; nobody chose the benches, nothing was tuned on their seeds."""

from collections import defaultdict

import numpy as np
import pytest

from levelwind.core.pull import Pull, analyse
from levelwind.core.quantities import Quantity
from levelwind.demo.simulation import SimulatedLog, draw_bench, simulate_log
from levelwind.demo.simulation.logs import TruePull
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import often_enough, share

SEED = 20_260_704
LOGS = cases(15, 200)
RATES = ((0, 15), (15, 30), (30, 100))
WANTED = {
    "pulls found, each once": 0.95,
    "running drag within 2 %": 0.95,
    "start-up ratio within 5 %": 0.95,
    "stick-slip right": 0.95,
    "wobble over 3 % within 20 %": 0.95,
} | {
    f"interval of {name} holds the truth": 0.9
    for name in ("running drag", "breakaway", "the start-up ratio", "wobble", "fade")
}
Right = dict[str, list[bool]]


def drawn(number: int) -> tuple[SimulatedLog, float]:
    """A log, and how many readings a second it has."""
    dice = np.random.default_rng([SEED, number])
    bench = draw_bench(dice)
    log = simulate_log(bench.drag, dice, rig=bench.rig, hand=bench.hand, scale=bench.scale)
    return log, bench.scale.sample_hz


@pytest.mark.sampled
def test_pulls(figure: Figure) -> None:
    right: Right = defaultdict(list)
    for number in range(LOGS):
        log, hz = drawn(number)
        pulls = analyse(log.time_s, log.force_N).pulls
        for truth in log.truth:
            here = [pull for pull in pulls if pull.start_s < truth.end_s and pull.end_s > truth.start_s]  # type: ignore[operator]
            right["pulls found, each once"].append(len(here) == 1)
            for pull in here[:1]:
                judge(right, pull, truth, hz)
    for what, answers in right.items():
        figure(what, len(answers), share(answers), f"{100 * WANTED[what]:.0f} %" if what in WANTED else "")
    for what, wanted in WANTED.items():
        assert often_enough(right[what], wanted), what
        assert "interval" not in what or np.mean(right[what]) > 0.80, what
    assert np.mean(right["stick-slip right"]) > 0.93


def judge(right: Right, pull: Pull, truth: TruePull, hz: float) -> None:
    right["running drag within 2 %"].append(abs(pull.running_N.value / truth.running_N - 1) < 0.02)
    near = abs(pull.startup_ratio.value / truth.startup_ratio - 1) < 0.05
    right["start-up ratio within 5 %"].append(near)
    for low, high in RATES:
        if low <= hz < high:
            right[f"of those at {low} to {high} readings a second"].append(near)
    warned = any(note.key == "too_quick" for note in pull.cautions)
    right["of those with the caution" if warned else "of those the log could show (no caution on the peak)"].append(
        near
    )
    right["stick-slip right"].append(pull.stick_slip == truth.stick_slip)
    if truth.stick_slip and pull.stick_slip_hz and truth.stick_slip_hz * 2.5 < hz:
        off = abs(pull.stick_slip_hz - truth.stick_slip_hz)
        right["its rate within 20 % or one fall"].append(off < max(0.2 * truth.stick_slip_hz, 0.3))
    if truth.wobble_N > 0.03 * truth.running_N and not truth.stick_slip and truth.turns > 2.2:
        found = pull.wobble_N is not None and abs(pull.wobble_N.value / truth.wobble_N - 1) < 0.2
        right["wobble over 3 % within 20 %"].append(found)
    for name, quantity, true in (
        ("running drag", pull.running_N, truth.running_N),
        ("breakaway", pull.breakaway_N, truth.breakaway_N),
        ("the start-up ratio", pull.startup_ratio, truth.startup_ratio),
        ("wobble", pull.wobble_N, truth.wobble_N),
        ("fade", pull.fade_percent, truth.fade_percent),
    ):
        if quantity is not None:
            right[f"interval of {name} holds the truth"].append(holds(quantity, true))


def holds(quantity: Quantity, truth: float) -> bool:
    return quantity.low <= truth <= quantity.high
