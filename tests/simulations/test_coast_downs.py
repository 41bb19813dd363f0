"""How often intervals hold the truth on coast-downs from a maker apart (``coast_downs``), cut before rest.

No number from 900,000 on was tuned on; what those from 950,000 on came to is in docs/physics/spin.md.
"""

import numpy as np
import pytest

from levelwind.core.spin.fit import fit_phase, fit_speed
from levelwind.core.spin.shares import Draws
from levelwind.core.spin.verdict import spin_from_fit, stop_told
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations import coast_downs
from tests.simulations.held import often_enough, share

SPOOLS, HELD_OUT = cases(1, 40), 950_000
CUTS = (0.05, 0.15, 0.3)
KINDS = ("phases", "passes", "speeds")


@pytest.mark.sampled
@pytest.mark.parametrize("own_law", [False, True], ids=["powers and rises", "power 1, no rise"])
def test_cut_before_rest(own_law: bool, figure: Figure) -> None:
    what = "power 1, no rise" if own_law else "power 0.5 to 0.8, friction rises"
    rows = {cut: [one(HELD_OUT + k, own_law, cut) for k in range(SPOOLS)] for cut in CUTS}
    for cut, of in rows.items():
        stops, shares, powers = [row[0] for row in of], [held for row in of for held in row[1]], [row[3] for row in of]
        error = float(np.median([row[2] for row in of]))
        cut_at = f"{what}, cut at {100 * cut:.0f} %"
        figure(f"stops held, {cut_at}", len(stops), share(stops), "85 to 95 %")
        figure(f"stops, middle error, {cut_at}", len(stops), f"{100 * error:.1f} %", "under 6 % at 15 %")
        figure(f"shares held, {cut_at}", len(shares), share(shares), "85 to 95 %")
        figure(f"powers held, {cut_at}", len(powers), share(powers), "85 to 95 %")
        assert error < 0.06
    stops, shares = ([row[i] for of in rows.values() for row in of] for i in (0, 1))
    assert often_enough(stops, 0.85) and often_enough([held for row in shares for held in row], 0.85)


def one(seed: int, own_law: bool, cut: float) -> tuple[bool, list[bool], float, bool]:
    """Whether the stop, the three shares and the power are held, and by what part of the time the stop is out."""
    rng = np.random.default_rng([seed, int(1000 * cut)])
    truth = coast_downs.drawn(np.random.default_rng(seed), own_law=own_law)
    made, kind = coast_downs.run(truth), KINDS[seed % 3]
    if kind == "passes":
        t = coast_downs.passes(made, rng, cut)
        fit = fit_phase(t, np.arange(len(t)), bent=True)
    elif kind == "phases":
        fit = fit_phase(*coast_downs.phases(made, rng, cut), bent=True)
    else:
        fit = fit_speed(*coast_downs.speeds(made, rng, cut), bent=True)
    last = float(fit.time_s[-1])
    spin = spin_from_fit(fit, rng, stop_seen=False)
    assert spin.energy_share and spin.losses and spin.losses.oil_power and spin.draws
    stop = stop_told(Draws(spin.draws.law, np.array(spin.draws.start_rev_s)), rng, last - fit.start_s)
    shares = truth.shares(float(np.interp(last, made.t, made.speed)))
    held = [q.low <= x <= q.high for q, x in zip(spin.energy_share.parts, shares, strict=True)]
    seconds, power = made.stop_s - fit.start_s, spin.losses.oil_power
    return stop.low <= seconds <= stop.high, held, abs(stop.value / seconds - 1), power.low <= truth.power <= power.high
