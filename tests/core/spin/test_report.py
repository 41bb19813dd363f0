"""What one spin means, and what changed between two."""

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.quantities import Quantity
from levelwind.core.spin.law import Law, speed_after
from levelwind.core.spin.model import Shares, Spin, SpinResult
from levelwind.core.spin.report import as_text, meaning, rows
from levelwind.core.spin.table import analyse_speeds
from levelwind.core.spin.typed import typed


def split(dry: float, oil: float, air: float, wide: float) -> Spin:
    parts = (Quantity(x, max(0.0, x - wide), min(1.0, x + wide)) for x in (dry, oil, air))
    return Spin(0.5, 9.0, None, None, energy_share=Shares(*parts))


def table(law: Law, start_rev_s: float = 20.0) -> SpinResult:
    t = np.arange(0.0, 8.0, 0.05)
    noise = np.random.default_rng(3).normal(0, 0.02, len(t))
    speed = np.maximum(speed_after(law, start_rev_s, t) + noise, 0.0)
    return analyse_speeds(t, speed, np.random.default_rng(1))


@pytest.mark.parametrize(
    ("spin", "words"),
    [
        (split(0.8, 0.1, 0.1, 0.03), "mostly dry friction (80 %, 77 to 83): look for dirt, a dry bearing"),
        (split(0.2, 0.7, 0.1, 0.03), "mostly oil (70 %, 67 to 73): it is too much or too thick"),
        (split(0.1, 0.2, 0.7, 0.03), "mostly air (70 %, 67 to 73): as free as it gets"),
        (split(0.45, 0.35, 0.2, 0.01), "dry friction more than the others (45.0 %, 44.0 to 46.0)"),
        (split(0.52, 0.38, 0.1, 0.1), "chance 88 %"),
        (split(0.41, 0.39, 0.2, 0.1), "these data cannot tell which loss leads: dry friction or oil"),
        (split(0.6, 0.3, 0.1, 0.6), "these data cannot tell which loss leads"),
        (typed(11.0).spins[0], "these data cannot tell dry friction, oil and air apart"),
    ],
)
def test_the_loss_that_leads_is_named_only_where_it_is_told(spin: Spin, words: str) -> None:
    assert words in meaning(spin).words


@given(st.tuples(*[st.floats(0.01, 1.0)] * 3), st.floats(0.001, 0.6))
def test_wider_intervals_never_make_it_surer(parts: tuple[float, float, float], wide: float) -> None:
    dry, oil, air = (part / sum(parts) for part in parts)
    narrow, wider = (meaning(split(dry, oil, air, width)).words for width in (wide, wide * 2))
    if "cannot tell" in narrow:
        assert "cannot tell" in wider
    told = [re.search(r"chance (\d+)", words) for words in (narrow, wider)]
    if told[0] and told[1]:
        assert int(told[1][1]) <= int(told[0][1])


@pytest.mark.parametrize(
    ("law", "name"),
    [(Law(2.0, 0.01, 0.0005), "dry friction"), (Law(0.1, 0.4, 0.0005), "oil"), (Law(0.05, 0.01, 0.02), "air")],
)
def test_made_spins_mean_what_they_were_made_of(law: Law, name: str) -> None:
    result = table(law)
    assert meaning(result.spins[0]).words.startswith(f"mostly {name}")
    assert meaning(result.spins[0]).words in as_text(result)


@given(st.tuples(*[st.floats(0.0, 1.0)] * 3).filter(lambda parts: sum(parts) > 0.1), st.floats(0.0005, 0.3))
def test_shares_that_are_shown_add_up_to_100_and_hold_all_that_was_meant(
    parts: tuple[float, float, float], wide: float
) -> None:
    dry, oil, air = (part / sum(parts) for part in parts)
    shares = split(dry, oil, air, wide).energy_share
    assert shares
    told = [(float(each.value.removesuffix(" %")), *map(float, each.interval.split(" to "))) for each in shares.told]
    assert sum(value for value, *_ in told) == pytest.approx(100, abs=1e-9)
    for (value, low, high), meant in zip(told, shares.parts, strict=True):
        assert low <= 100 * meant.low + 1e-9 and 100 * meant.high - 1e-9 <= high
        assert low <= value <= high


def test_the_power_of_the_oil_is_said_and_a_spin_of_before_it_was_told_is_shown_without() -> None:
    (spin,) = table(Law(0.3, 0.2, 0.004, power=0.6, reference_rev_s=20.0)).spins
    assert any("goes with the speed to the power 0." in words for _, words in rows(spin))
    assert spin.losses
    before = replace(spin, losses=replace(spin.losses, oil_power=None), draws=None)
    assert not any("power" in words for _, words in rows(before))


def test_losses_that_look_alike_are_said_together() -> None:
    """Down to half of its speed a low power's oil and dry friction cannot be told apart; what both took can."""
    law, t = Law(0.6, 0.15, 0.004, power=0.5, reference_rev_s=20.0), np.arange(0.0, 3.0, 0.05)
    speed = speed_after(law, 20.0, t) + np.random.default_rng(4).normal(0, 0.004, len(t))
    (spin,) = analyse_speeds(t, speed, np.random.default_rng(1)).spins
    assert any("dry friction and oil look alike" in str(note) for note in spin.cautions)
