"""The running drag of logs whose start-up dies away in five ways; nothing was set on their seed."""

from collections import defaultdict

import numpy as np
import pytest

from levelwind.core.pull import analyse
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import often_enough, share
from tests.simulations.pull_decays import draw

SEED = 40_823
LOGS = cases(25, 500)
MOST_BIAS = 0.001
"""Part of the truth."""


@pytest.mark.sampled
def test_the_running_drag_is_free_of_the_start_up(figure: Figure) -> None:
    off: list[float] = []
    held: list[bool] = []
    by_decay: dict[str, list[float]] = defaultdict(list)
    for number in range(LOGS):
        drawn = draw(SEED, number)
        pulls = analyse(drawn.time_s, drawn.force_N).pulls
        running = max(pulls, key=lambda pull: pull.end_s - pull.start_s).running_N  # type: ignore[operator]
        off.append(running.value / drawn.running_N - 1)
        held.append(running.low <= drawn.running_N <= running.high)
        by_decay[drawn.decay].append(off[-1])
    bias, unsure = float(np.mean(off)), float(np.std(off) / np.sqrt(len(off)))
    figure("running drag is off in the mean by", LOGS, f"{100 * bias:+.2f} %", "under 0.1 %")
    for decay, each in by_decay.items():
        figure(f"of those that die away as {decay}", len(each), f"{100 * np.mean(each):+.2f} %", "")
    figure("interval of the running drag holds the truth", LOGS, share(held), "85 to 95 %")
    assert abs(bias) < MOST_BIAS + 3 * unsure
    assert often_enough(held, 0.9)
