"""Films of another hand than those the analysis was made with: read once, and nothing was tuned on them."""

import numpy as np
import pytest

from levelwind.core.errors import NotDeterminedError
from levelwind.core.spin.film import watch
from levelwind.core.spin.model import Spin
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.film_others import Shot, shoot
from tests.simulations.held import often_enough, share

SEED = 404_040
FILMS = cases(range(23, 24), range(32))


def speed_errors(shot: Shot, spin: Spin) -> np.ndarray:
    """From the flick to two turns before rest, parts of the speed."""
    t, speed = np.array(spin.speed).T
    counted = (t > shot.first_s) & (np.interp(t, shot.at_s, shot.turns) < shot.turns[-1] - 2)
    return np.abs(speed[counted] / np.interp(t[counted], shot.at_s, shot.rev_s) - 1)


@pytest.mark.sampled
def test_films_drawn_lit_held_and_packed_otherwise(figure: Figure) -> None:
    read, near, middles, stops, shares = [], [], [], [], []
    for number in FILMS:
        shot = shoot(np.random.default_rng([SEED, number]))
        try:
            spin = watch(shot.frames, shot.t_s, rng=np.random.default_rng(1)).result.spins[-1]
        except NotDeterminedError:
            read.append(False)
            continue
        read.append(True)
        off = speed_errors(shot, spin)
        near.append(float(np.quantile(off, 0.95)) < 0.01)
        middles.append(float(np.median(off)))
        if spin.spin_time_s and spin.start_s is not None:
            stops.append(spin.spin_time_s.low <= shot.stop_s - spin.start_s <= spin.spin_time_s.high)
        parts = spin.energy_share.parts if spin.energy_share else ()
        shares += [part.low <= true <= part.high for part, true in zip(parts, shot.shares, strict=False)]
    figure("films read", len(read), share(read), "90 %")
    figure("within 1 % at their 95th percentile", len(near), share(near), "90 %")
    figure("median over films of the median speed error", len(middles), f"{np.median(middles):.4%}", "0.05 %")
    figure("stop intervals that hold the truth", len(stops), share(stops), "85 to 95 %")
    figure("share intervals that hold the truth", len(shares), share(shares), "85 to 95 %")
    assert often_enough(read, 0.9) and often_enough(near, 0.9)
    assert float(np.median(middles)) < 5e-4
    assert often_enough(stops, 0.85) and often_enough(shares, 0.85)
