"""Two hundred generated force logs against a plain way of doing it, in time and in how near it comes.

The plain way is what a careful person does with a general signal library: highest reading, median of what follows,
tallest line of the periodogram. How near ours comes: ``make prove-numbers``.
"""

import sys
from collections import defaultdict
from pathlib import Path
from time import perf_counter

import numpy as np
from scipy import signal

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

from tests.simulations.test_pulls import drawn  # noqa: E402

from levelwind.core.errors import LevelwindError  # noqa: E402
from levelwind.core.pull import analyse  # noqa: E402
from levelwind.demo.simulation import SimulatedLog  # noqa: E402

LOGS = 200


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


def judge_plain(right: dict[str, list[bool]], log: SimulatedLog) -> None:
    for start, breakaway, running, wobble in plain(log.time_s, log.force_N):
        truth = min(log.truth, key=lambda each: abs(each.start_s - start))
        right["running drag within 2 %"].append(abs(running / truth.running_N - 1) < 0.02)
        right["start-up ratio within 5 %"].append(abs(breakaway / running / truth.startup_ratio - 1) < 0.05)
        if truth.wobble_N > 0.03 * truth.running_N and not truth.stick_slip and truth.turns > 2.2:
            right["wobble over 3 % within 20 %"].append(abs(wobble / truth.wobble_N - 1) < 0.2)


def main() -> None:
    right: dict[str, list[bool]] = defaultdict(list)
    seconds = [0.0, 0.0]
    for log, _ in (drawn(number) for number in range(LOGS)):
        began = perf_counter()
        try:
            analyse(log.time_s, log.force_N)
        except LevelwindError as refusal:
            print(refusal)
        seconds[0] += perf_counter() - began
        began = perf_counter()
        judge_plain(right, log)
        seconds[1] += perf_counter() - began
    print(f"{LOGS} logs, the plain way:")
    for name, answers in right.items():
        print(f"  {name:<40}{100 * np.mean(answers):6.1f} %   of {len(answers):4}")
    print(f"time against the plain way: {seconds[0] / seconds[1]:.0f} times; {1000 * seconds[0] / LOGS:.0f} ms a log")


if __name__ == "__main__":
    main()
