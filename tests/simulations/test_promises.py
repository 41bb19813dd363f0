"""How often promises are kept in simulated shops, against the chance that was told.

The shops (``promising_shops``) are of other kinds than core draws from; none from 900,000 on was tuned on.
"""

import numpy as np
import pytest

from levelwind.core.supply import futures
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import often_enough
from tests.simulations.promising_shops import MONDAY, simulated

SHOPS, HELD_OUT = cases(40, 2000), 900_000
FUTURES = cases(400, 2000)
CHANCES = (0.5, 0.8, 0.9)
WITHIN = 0.05
"""Between the chance told and the share kept, in the mean of 2,000 shops. What was asked for."""


@pytest.mark.sampled
def test_promises_are_kept_as_often_as_told(figure: Figure) -> None:
    """Of each shop one job, for shops are independent. A day is held against its own chance, not the round one."""
    rows = [one(HELD_OUT + seed) for seed in range(SHOPS)]
    young = [one(HELD_OUT + seed, past=False) for seed in range(SHOPS // 10)]
    for number, wanted in enumerate(CHANCES):
        told = float(np.mean([row[number][0] for row in rows]))
        kept = [row[number][1] for row in rows]
        share = sum(kept) / len(kept)
        figure(f"promises at {wanted:.0%}", len(kept), f"told {100 * told:.1f} %, kept {100 * share:.1f} %", "5 points")
        told_young = float(np.mean([row[number][0] for row in young]))
        kept_young = sum(row[number][1] for row in young) / len(young)
        said = f"told {100 * told_young:.1f} %, kept {100 * kept_young:.1f} %"
        figure(f"promises at {wanted:.0%} of shops without a past, by judgements", len(young), said, "told, not held")
        broken = [not each for each in kept]
        assert often_enough(kept, told - WITHIN) and often_enough(broken, max(0.0, 1 - told - WITHIN))


def one(seed: int, *, past: bool = True) -> list[tuple[float, bool]]:
    """For each chance asked for: the one told for that day, and whether the job was done by its evening."""
    shop = simulated(seed, past=past)
    dice = np.random.default_rng(seed)
    told = futures(shop.shop, dice, FUTURES)
    job = int(dice.integers(0, len(shop.done)))
    days = [told.done_by(job, chance) for chance in CHANCES]
    return [(told.chance(job, day), shop.done[job] <= (day - MONDAY).days) for day in days]
