"""What one spin means, and what changed between two."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.quantities import Quantity
from levelwind.core.spin.law import Law, speed_after
from levelwind.core.spin.model import Shares, Spin, SpinResult
from levelwind.core.spin.report import as_text, meaning
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
        (split(0.45, 0.35, 0.2, 0.01), "dry friction more than the others (45 %, 44 to 46)"),
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
