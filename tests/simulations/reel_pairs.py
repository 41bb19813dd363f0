"""A reel read twice by one person, unchanged or mended: what the comparison is judged by.

Hands differ between the two readings as one hand does: the flick by a fifth (its deviation), the pace of a pull by a
fifth, how many pulls and how long; the line and the scale's arm by a seventh in stiffness. Power of the oil, rise near
rest and a lump on the spool are drawn, and so is how the spin was recorded and how far down it was followed.
"""

from dataclasses import replace

import numpy as np

from levelwind.core.pull import PullResult, analyse
from levelwind.core.spin import SpinResult
from levelwind.core.spin.fit import fit_phase
from levelwind.core.spin.table import analyse_passes, analyse_speeds
from levelwind.core.spin.verdict import spin_from_fit
from levelwind.demo.simulation import DragCondition, draw_bench, simulate_log
from tests.simulations import coast_downs
from tests.simulations.coast_downs import Truth

FLICKS, PACES, LINES = 0.2, 0.2, 0.15
"""Deviations of the logarithm of the ratio between two of them. Invented."""
MENDED = ("dry friction to a seventh", "dry friction halved", "oil halved")


def two_pulls(rng: np.random.Generator, *, mended: bool) -> tuple[PullResult, PullResult]:
    """Mended: set a seventh lighter or tighter, with two fifths of the jerk left."""
    bench, other = draw_bench(rng), draw_bench(rng)
    line = bench.rig.stiffness_N_m * float(np.exp(rng.normal(0, LINES)))
    pace = bench.hand.speed_m_s * float(np.exp(rng.normal(0, PACES)))
    again = replace(bench, rig=replace(bench.rig, stiffness_N_m=line), hand=replace(other.hand, speed_m_s=pace))
    if mended:
        again = replace(again, drag=_set_anew(bench.drag, rng))
    logs = [simulate_log(each.drag, rng, rig=each.rig, hand=each.hand, scale=each.scale) for each in (bench, again)]
    found, left = (analyse(log.time_s, log.force_N) for log in logs)
    return found, left


def _set_anew(drag: DragCondition, rng: np.random.Generator) -> DragCondition:
    running = drag.running_N * float(rng.choice([0.85, 1.15]))
    return replace(drag, running_N=running, startup_ratio=1 + 0.4 * (drag.startup_ratio - 1))


def two_spins(rng: np.random.Generator, mended: str = "") -> tuple[SpinResult, SpinResult]:
    """Flicked twice; ``mended``: one of ``MENDED`` in between."""
    truth = replace(coast_downs.drawn(rng), power=float(rng.uniform(0.5, 1.0)))
    after = {
        MENDED[0]: replace(truth, dry=0.15 * truth.dry),
        MENDED[1]: replace(truth, dry=0.5 * truth.dry),
        MENDED[2]: replace(truth, oil=0.5 * truth.oil),
    }.get(mended, truth)
    return _read(truth, rng), _read(_flicked(after, truth.start * float(np.exp(rng.normal(0, FLICKS)))), rng)


def _flicked(truth: Truth, start_rev_s: float) -> Truth:
    """The same spool at another first speed, by which its oil's coefficient goes."""
    return replace(truth, start=start_rev_s, oil=truth.oil * (truth.start / start_rev_s) ** (1 - truth.power))


def _read(truth: Truth, rng: np.random.Generator) -> SpinResult:
    """As a film's or a sound's phases, as the moments a mark went by, or as a table of speeds; mostly to rest."""
    how, made, dice = rng.choice(["phases", "passes", "speeds"]), coast_downs.run(truth), np.random.default_rng(1)
    if how == "speeds":
        return _table(*coast_downs.speeds(made, rng, float(rng.choice([0.0, 0.0, 0.1]))), dice)
    to_part = float(rng.choice([0.03, 0.03, 0.03, 0.1, 0.25]))
    if how == "passes":
        return analyse_passes(coast_downs.passes(made, rng, to_part), dice)
    fit = fit_phase(*coast_downs.phases(made, rng, to_part), bent=True)
    return SpinResult((spin_from_fit(fit, dice, stop_seen=to_part < 0.05),), (), "video")


def _table(t: np.ndarray, rev_s: np.ndarray, dice: np.random.Generator) -> SpinResult:
    """Followed to rest, it goes on at nothing for a while."""
    if rev_s[-1] < 0.05 * rev_s[0]:
        after = t[-1] + np.arange(1, 6) * (t[1] - t[0])
        t, rev_s = np.concatenate([t, after]), np.concatenate([rev_s, np.zeros(5)])
    return analyse_speeds(t, rev_s, dice)
