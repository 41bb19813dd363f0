"""How often the 90 % intervals of a spin hold the truth, on made phases, law kept and law broken."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from levelwind.core.spin.fit import fit_phase
from levelwind.core.spin.law import Law, energy_shares, time_between
from levelwind.core.spin.shares import central_interval, draw_laws, highest_density_interval
from tests.conftest import Figure
from tests.full_size import cases
from tests.simulations.held import often_enough, share

SPOOLS, FIRST = cases(6, 60), 9
NOISE_TURNS = 0.004
KINDS = {"law kept": (0.0, 0.0), "friction rises": (0.8, 0.0), "rises, out of balance": (0.8, 0.6)}
"""The most that dry friction rises by, and the most unbalance, in parts of the dry friction."""


@pytest.mark.sampled
@pytest.mark.parametrize("kind", KINDS)
def test_phases(kind: str, figure: Figure) -> None:
    rng = np.random.default_rng(FIRST)
    rows = [row for _ in range(SPOOLS) if (row := one(rng, *KINDS[kind]))]
    shares = [held > 0 for row in rows for held in row[:3]]
    firsts = [row[3] > 0 for row in rows]
    widths = np.median(np.array([row[4:] for row in rows]), axis=0)
    figure(f"phases, share intervals that hold the truth, {kind}", len(shares), share(shares), "85 to 95 %")
    figure(f"phases, first speed's, {kind}", len(firsts), share(firsts), "85 to 95 %")
    told = ", ".join(f"{width:.3f}" for width in widths)
    figure(f"phases, widths of the shares of dry, oil and air in the middle, {kind}", len(rows), told)
    assert often_enough(shares, 0.85) and often_enough(firsts, 0.85)


def one(rng: np.random.Generator, most_rise: float, most_lump: float) -> list[float] | None:
    """Which of three shares and the first speed were held, then the widths of the shares."""
    start, stop = rng.uniform(8, 45), rng.uniform(5, 40)
    parts = rng.dirichlet([1, 1, 1]) + np.array([0.02, 0, 0])
    base = Law(parts[0], parts[1] / start * 1.5, parts[2] / start**2 * 2)
    scale = float(time_between(base, start, 0.0)) / stop
    dry, oil, air = (float(x) * scale for x in base.coefficients)
    law = Law(dry, oil, air, rng.uniform(0, 1) * most_rise, rng.uniform(0.3, 3.0))
    lump, floor = rng.uniform(0, 1) * most_lump * dry, max(0.02, rng.choice([0.0, 0.0, 0.3]) * rng.random()) * start

    def slows(_: float, y: np.ndarray) -> list[float]:
        f = max(float(y[0]), 0.0)
        return [-(float(law.loss(f)) + lump * np.sin(2 * np.pi * y[1])) if f > 1e-3 else 0.0, f]

    t = np.arange(0.0, stop, 0.1)
    speed, turns = solve_ivp(slows, (0, stop), [start, 0.0], t_eval=t, rtol=1e-8, atol=1e-8).y
    seen = speed > max(floor, 0.3)
    if seen.sum() < 20:
        return None
    t, speed = t[seen], speed[seen]
    fit = fit_phase(t, turns[seen] + rng.normal(0, NOISE_TURNS, len(t)), bent=True)
    draws = draw_laws(fit, rng)
    shares = [highest_density_interval(part, 1.0) for part in draws.shares(float(t[-1] - t[0])).T]
    first = central_interval(draws.start_rev_s)
    held = [q.low <= x <= q.high for q, x in zip(shares, energy_shares(law, start, speed[-1]), strict=True)]
    return [*map(float, held), float(first.low <= start <= first.high), *(q.high - q.low for q in shares)]
