"""Logs with a wave, with sticking, with both or neither, from a law of their own; nothing was tuned on their seed."""

from collections import defaultdict
from collections.abc import Iterable

import pytest

from levelwind.core.pull import Pull, analyse
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations import pull_others, pull_waves
from tests.simulations.held import often_enough, share
from tests.simulations.pull_waves import Drawn

SEED = 73_010
LOGS = cases(20, 500)
OTHER_SEED, OTHER_LOGS = 61_208, cases(8, 200)
SWAYING_SEED, SWAYING_LOGS = 61_910, cases(6, 1200)
CYCLES = 6.5
"""Drawn over the whole pull: six are then left in its steady part."""
WANTED = {
    "wave found": 0.95,
    "its size within 15 %": 0.95,
    "its period within 15 %": 0.95,
    "interval of its size holds the truth": 0.9,
    "no wave told where there is none": 0.98,
    "sticking and waves told apart": 0.96,
    "neither told to stick": 0.98,
    "no wave told beside sticking where there is none": 0.96,
    "the wave beside sticking is told": 0.5,
}


@pytest.mark.sampled
def test_waves_and_sticking(figure: Figure) -> None:
    check(figure, (pull_waves.draw(SEED, number) for number in range(LOGS)), "")


@pytest.mark.sampled
def test_waves_and_sticking_of_other_drags_and_hands(figure: Figure) -> None:
    """Another law, other waves, other hands; nothing was set on any of them but the error of a wave beside sticking."""
    check(figure, (pull_others.draw(OTHER_SEED, number) for number in range(OTHER_LOGS)), "other drags: ")


@pytest.mark.sampled
def test_flat_drags_and_waves_under_a_hand_that_sways(figure: Figure) -> None:
    """The same drags under a third hand, whose tremor keeps no rate; nothing was set on it."""
    kinds = {"wave", "plain"}
    drawn = (number for number in range(SWAYING_LOGS) if pull_others.KINDS[number % 4] in kinds)
    logs = (pull_others.draw(SWAYING_SEED, number, pull_others.swaying) for number in drawn)
    check(figure, logs, "a swaying hand: ")


def check(figure: Figure, logs: Iterable[Drawn], of: str) -> None:
    right: dict[str, list[bool]] = defaultdict(list)
    for drawn in logs:
        pulls = analyse(drawn.time_s, drawn.force_N).pulls
        judge(right, drawn, max(pulls, key=lambda pull: pull.end_s - pull.start_s))  # type: ignore[operator]
    for what, answers in right.items():
        figure(of + what, len(answers), share(answers), f"{100 * WANTED[what]:.0f} %" if what in WANTED else "")
    for what, wanted in WANTED.items():
        assert often_enough(right[what], wanted), what


def judge(right: dict[str, list[bool]], drawn: Drawn, pull: Pull) -> None:
    wobble = pull.wobble_N
    if drawn.kind == "wave":
        right["wave found"].append(wobble is not None)
        if wobble is not None and pull.wobble_period_s is not None:
            right["its size within 15 %"].append(abs(wobble.value / drawn.wobble_N - 1) < 0.15)
            right["its period within 15 %"].append(abs(pull.wobble_period_s * drawn.rate_hz - 1) < 0.15)
            right["interval of its size holds the truth"].append(wobble.low <= drawn.wobble_N <= wobble.high)
    if drawn.kind in ("plain", "tremor"):
        right["no wave told where there is none"].append(wobble is None)
        right["neither told to stick"].append(not pull.stick_slip)
        return
    sticks, rate = drawn.sticks_hz > 0, drawn.sticks_hz or drawn.rate_hz
    if max(drawn.cycles, 0 if sticks else drawn.turns) >= CYCLES and drawn.hz >= 6 * rate:
        right["sticking and waves told apart"].append(pull.stick_slip is sticks)
    else:
        right["told wrongly where cycles or readings are too few"].append(pull.stick_slip is (not sticks))
    if not sticks or pull.stick_slip is not True:
        return
    if drawn.kind == "sticking":
        right["no wave told beside sticking where there is none"].append(wobble is None)
    else:
        right["the wave beside sticking is told"].append(wobble is not None)
        if wobble is not None and pull.wobble_period_s is not None:
            right["its size beside sticking within 30 %"].append(abs(wobble.value / drawn.wobble_N - 1) < 0.3)
            right["its period beside sticking within 15 %"].append(abs(pull.wobble_period_s * drawn.rate_hz - 1) < 0.15)
            right["interval of its size beside sticking holds the truth"].append(
                wobble.low <= drawn.wobble_N <= wobble.high
            )
