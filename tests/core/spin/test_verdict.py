"""When it is said that a spool does not keep to the law, and when that its speed is unsure."""

import numpy as np
import pytest

from levelwind.core.spin.fit import fit_phase
from levelwind.core.spin.law import Law, speed_after, turns_after
from levelwind.core.spin.model import Spin
from levelwind.core.spin.verdict import spin_from_fit

T = np.arange(0.0, 11.0, 0.03)


def spun(law: Law, seed: int, noise: float = 0.002, *, followed: bool = True) -> Spin:
    start = 18.0
    t = T[speed_after(law, start, T) > 0.4]
    phase = turns_after(law, start, t) + np.random.default_rng(seed).normal(0, noise, len(t))
    fit = fit_phase(t, phase, bent=True)
    return spin_from_fit(fit, np.random.default_rng(1), stop_seen=True, seen=fit.speed if followed else None)


@pytest.mark.parametrize("seed", range(8))
def test_a_spool_that_keeps_to_the_law_is_not_accused(seed: int) -> None:
    assert spun(Law(1.0, 0.1, 0.003), seed).cautions == ()


@pytest.mark.parametrize("seed", range(4))
def test_friction_that_rises_towards_rest_is_said(seed: int) -> None:
    assert any("rises towards rest" in str(note) for note in spun(Law(1.0, 0.1, 0.003, 0.8, 1.2), seed).cautions)


def test_a_speed_that_the_phases_tell_is_not_called_unsure_for_its_causes() -> None:
    """Whether dry friction is large or rises, and with which power oil drags: the laws left open agree in speed."""
    rising = Law(1.0, 0.1, 0.003, 0.8, 1.2)
    by_phases, by_law = spun(rising, 1), spun(rising, 1, followed=False)
    for spin in (by_phases, by_law):
        assert not any("known only" in str(note) for note in spin.cautions)
        assert list(spin.speed.rev_s[:200:20]) == pytest.approx(
            speed_after(rising, 18.0, spin.speed.t_s[:200:20]), rel=0.01
        )


def test_a_speed_that_the_phases_do_not_tell_is_called_unsure() -> None:
    assert any("known only" in str(note) for note in spun(Law(1.0, 0.1, 0.003, 0.8, 1.2), 1, noise=0.4).cautions)
