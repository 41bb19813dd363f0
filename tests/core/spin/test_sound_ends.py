"""Trains of ticks with stretches before the flick or after the last tick heard: laid along the law, not on it."""

import numpy as np
import pytest

from levelwind.core.spin.law import Law, turns_after
from levelwind.core.spin.sound_ends import trimmed
from levelwind.core.spin.sound_phase import Followed

LAW = Law(0.8, 0.08, 0.003)
TIME = np.arange(1.0, 11.0, 0.2)
RNG_STEPS = 0.05


def train(seed: int, before: int = 0, after: int = 0) -> Followed:
    """Ticks known to 0.01, and stretches at both ends that wander off by up to 0.05 from one to the next."""
    rng = np.random.default_rng(seed)
    ticks = turns_after(LAW, 24.0, TIME - TIME[0]) + rng.normal(0, 0.01, len(TIME))
    for part, count in ((slice(None, before), before), (slice(len(TIME) - after, None), after)):
        away = 0.15 + np.cumsum(rng.uniform(0, RNG_STEPS, count))
        ticks[part] += away[::-1] if part.start is None else away
    sigma = np.full(len(TIME), 0.01)
    return Followed(TIME, ticks, sigma, np.full(len(TIME), 20.0), TIME[0] - 0.1, TIME[-1] + 0.1, len(TIME), sigma)


@pytest.mark.parametrize("seed", range(12))
def test_a_train_that_keeps_to_the_law_is_kept_whole(seed: int) -> None:
    whole = train(seed)
    assert trimmed(whole, LAW) is whole


@pytest.mark.parametrize(("before", "after"), [(1, 0), (3, 0), (0, 1), (0, 4), (2, 3), (5, 5)])
def test_what_only_follows_the_law_is_cut_off(before: int, after: int) -> None:
    for seed in range(6):
        kept = trimmed(train(seed, before, after), LAW)
        assert kept.time_s[0] == TIME[before] and kept.time_s[-1] == TIME[len(TIME) - after - 1]
        assert kept.all_windows == len(kept.time_s) == len(kept.ticks) == len(kept.sigma) == len(kept.gain)
        assert kept.from_s == pytest.approx(TIME[before] - 0.1) and kept.to_s == pytest.approx(kept.time_s[-1] + 0.1)


def test_one_stretch_out_among_others_does_not_end_a_train() -> None:
    whole = train(3)
    whole.ticks[2] += 0.4
    whole.ticks[-4] += 0.4
    assert trimmed(whole, LAW) is whole
