"""Two hundred generated force logs against the truth behind them, and against a plain way of doing it.

The logs are drawn from fixed seeds that nothing was tuned on. The plain way is what a careful person does with a
general signal library: highest reading, median of what follows, tallest line of the periodogram.
"""

from collections import defaultdict
from time import perf_counter

import numpy as np
from scipy import signal

from levelwind.core.errors import LevelwindError
from levelwind.core.pull import Pull, analyse
from levelwind.core.quantities import Quantity
from levelwind.demo.simulation import SimulatedLog, draw_bench, simulate_log
from levelwind.demo.simulation.logs import TruePull

LOGS = 200
RATES = ((0, 15), (15, 30), (30, 100))


def drawn(number: int) -> tuple[SimulatedLog, float]:
    dice = np.random.default_rng([20_260_704, number])
    bench = draw_bench(dice)
    log = simulate_log(bench.drag, dice, rig=bench.rig, hand=bench.hand, scale=bench.scale)
    return log, bench.scale.sample_hz


def plain(time: np.ndarray, force: np.ndarray) -> list[tuple[float, float, float, float]]:
    """Start, breakaway, running drag and wobble of each stretch above a fifth of the highest reading."""
    net = force - np.median(np.sort(force)[: max(len(force) // 10, 4)])
    above = np.flatnonzero(np.diff(np.concatenate([[0], net > 0.2 * net.max(), [0]])))
    found = []
    for start, end in above.reshape(-1, 2):
        if time[end - 1] - time[start] < 1:
            continue
        peak = start + int(np.argmax(net[start:end]))
        steady = net[start + (end - start) // 6 : end - 3]
        if len(steady) < 8:
            continue
        _, power = signal.periodogram(signal.detrend(steady), scaling="spectrum")
        found.append((time[start], net[peak], float(np.median(steady)), float(np.sqrt(2 * power.max()))))
    return found


ORDER = (
    "pulls found, each once",
    "running drag within 2 %",
    "start-up ratio within 5 %",
    *(f"  of those at {low} to {high} readings a second" for low, high in RATES),
    "  of those the log could show (no caution on the peak)",
    "  of those with the caution",
    "stick-slip right",
    "  its rate within 20 % or one fall",
    "wobble over 3 % within 20 %",
    *(
        f"interval of {name} holds the truth"
        for name in ("running drag", "breakaway", "the start-up ratio", "wobble", "fade")
    ),
)
TARGETS = {
    "running drag": "95",
    "start-up": "95",
    "stick-slip right": "95",
    "wobble over": "95",
    "interval": "85 to 95",
}


class Score:
    """Named yes-or-no answers, counted."""

    def __init__(self) -> None:
        self.answers: dict[str, list[bool]] = defaultdict(list)

    def add(self, name: str, answer: bool) -> None:
        self.answers[name].append(bool(answer))

    def line(self, name: str, target: str) -> str:
        answers = self.answers[name]
        return f"  {name:<58}{100 * np.mean(answers):6.1f} %   of {len(answers):4}   target {target}"


def holds(quantity: Quantity | None, truth: float) -> bool:
    return quantity is not None and quantity.low <= truth <= quantity.high


def judge(score: Score, pull: Pull, truth: TruePull, hz: float) -> None:
    score.add("running drag within 2 %", abs(pull.running_N.value / truth.running_N - 1) < 0.02)
    near = abs(pull.startup_ratio.value / truth.startup_ratio - 1) < 0.05
    score.add("start-up ratio within 5 %", near)
    for low, high in RATES:
        if low <= hz < high:
            score.add(f"  of those at {low} to {high} readings a second", near)
    warned = any(note.key == "too_quick" for note in pull.cautions)
    score.add(
        "  of those the log could show (no caution on the peak)" if not warned else "  of those with the caution", near
    )
    score.add("stick-slip right", pull.stick_slip == truth.stick_slip)
    if truth.stick_slip and pull.stick_slip_hz and truth.stick_slip_hz * 2.5 < hz:
        score.add(
            "  its rate within 20 % or one fall",
            abs(pull.stick_slip_hz - truth.stick_slip_hz) < max(0.2 * truth.stick_slip_hz, 0.3),
        )
    if truth.wobble_N > 0.03 * truth.running_N and not truth.stick_slip and truth.turns > 2.2:
        score.add(
            "wobble over 3 % within 20 %",
            pull.wobble_N is not None and abs(pull.wobble_N.value / truth.wobble_N - 1) < 0.2,
        )
    score.add("interval of running drag holds the truth", holds(pull.running_N, truth.running_N))
    score.add("interval of breakaway holds the truth", holds(pull.breakaway_N, truth.breakaway_N))
    score.add("interval of the start-up ratio holds the truth", holds(pull.startup_ratio, truth.startup_ratio))
    if pull.wobble_N is not None:
        score.add("interval of wobble holds the truth", holds(pull.wobble_N, truth.wobble_N))
    if pull.fade_percent is not None:
        score.add("interval of fade holds the truth", holds(pull.fade_percent, truth.fade_percent))


def judge_plain(score: Score, log: SimulatedLog) -> None:
    for start, breakaway, running, wobble in plain(log.time_s, log.force_N):
        truth = min(log.truth, key=lambda each: abs(each.start_s - start))
        score.add("running drag within 2 %", abs(running / truth.running_N - 1) < 0.02)
        score.add("start-up ratio within 5 %", abs(breakaway / running / truth.startup_ratio - 1) < 0.05)
        if truth.wobble_N > 0.03 * truth.running_N and not truth.stick_slip and truth.turns > 2.2:
            score.add("wobble over 3 % within 20 %", abs(wobble / truth.wobble_N - 1) < 0.2)


def main() -> None:
    ours, theirs = Score(), Score()
    seconds = [0.0, 0.0]
    logs = [drawn(number) for number in range(LOGS)]
    for log, hz in logs:
        began = perf_counter()
        try:
            pulls = analyse(log.time_s, log.force_N).pulls
        except LevelwindError:
            pulls = ()
        seconds[0] += perf_counter() - began
        began = perf_counter()
        judge_plain(theirs, log)
        seconds[1] += perf_counter() - began
        for truth in log.truth:
            here = [
                p
                for p in pulls
                if p.start_s is not None and p.end_s is not None and p.start_s < truth.end_s and p.end_s > truth.start_s
            ]
            ours.add("pulls found, each once", len(here) == 1)
            for pull in here[:1]:
                judge(ours, pull, truth, hz)
    print(f"{LOGS} logs, {sum(len(log.truth) for log, _ in logs)} pulls")
    for name in ORDER:
        print(ours.line(name, next((target for key, target in TARGETS.items() if name.startswith(key)), "none")))
    print("the plain way")
    for name in theirs.answers:
        print(theirs.line(name, "none"))
    print(f"time against the plain way: {seconds[0] / seconds[1]:.0f} times; {1000 * seconds[0] / LOGS:.0f} ms a log")


if __name__ == "__main__":
    main()
