"""How a number is shown: every page, paper and answer rounds by this one rule."""

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from levelwind.core.quantities import FEWEST_STEPS, FIGURES, MOST_WIDER, Quantity, in_words, shown

SIZES = st.floats(1e-6, 1e6)


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    value = draw(SIZES) * draw(st.sampled_from((1.0, -1.0)))
    below, above = (draw(st.floats(0.0, 0.9)) * abs(value) for _ in range(2))
    assume(below + above > 1e-9 * abs(value))
    return Quantity(value, value - below, value + above)


def _numbers(words: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", words)]


@given(quantities(), st.sampled_from(("", "s", "N", "rev/s", "%")))
def test_what_is_shown_holds_what_was_meant(quantity: Quantity, unit: str) -> None:
    said = shown(quantity, unit)
    low, high = _numbers(said.interval)
    value = _numbers(said.value)[0]
    slack = 1e-14 * max(abs(quantity.low), abs(quantity.high))  # 15 figures of a float are looked at
    assert low <= quantity.low + slack and high >= quantity.high - slack
    assert low <= value <= high


@given(quantities())
def test_rounding_widens_an_interval_by_a_sixth_at_most(quantity: Quantity) -> None:
    said = shown(quantity, "")
    low, high = _numbers(said.interval)
    width = quantity.high - quantity.low
    assert high - low <= width * (1 + MOST_WIDER) * (1 + 1e-9)
    assert abs(_numbers(said.value)[0] - quantity.value) <= width / (2 * FEWEST_STEPS) * (1 + 1e-9)


@given(quantities())
def test_value_and_ends_are_written_to_one_place(quantity: Quantity) -> None:
    said = shown(quantity, "")
    assert len({len(number.partition(".")[2]) for number in (said.value, *said.interval.split(" to "))}) == 1


@given(quantities(), st.sampled_from(sorted(FIGURES)))
def test_no_more_figures_than_the_unit_supports(quantity: Quantity, unit: str) -> None:
    digits = shown(quantity, unit).value.removesuffix(unit).strip().lstrip("-").replace(".", "").lstrip("0")
    decimals = shown(quantity, unit).value.removesuffix(unit).strip().partition(".")[2]
    assert not decimals or len(digits) <= FIGURES[unit] + 1  # 9.996 to three figures is 10.00


@pytest.mark.parametrize(
    ("quantity", "unit", "words"),
    [
        (Quantity(14.5, 12.5, 16.5), "lbf", "14.5 lbf (12.5 to 16.5)"),
        (Quantity(14.5, 10.5, 18.5), "lbf", "15 lbf (10 to 19)"),  # half-even rounding took all three downwards
        (Quantity(1496.0, 1293.0, 1707.0), "N", "1500 N (1290 to 1710)"),  # figures it does not have
        (Quantity(8.99934, 8.99912, 9.01361), "s", "8.999 s (8.999 to 9.014)"),
        (Quantity(8.9986, 8.9986, 9.0138), "s", "8.999 s (8.998 to 9.014)"),
        (Quantity(-0.02, -0.3, 0.3), "N", "0.0 N (-0.3 to 0.3)"),
        (Quantity(0.4, 0.1 + 0.2, 0.5), "", "0.40 (0.30 to 0.50)"),
        (Quantity(9.996, 9.99, 10.004), "rev/s", "9.996 rev/s (9.990 to 10.004)"),
        (Quantity.exact(2.5), "mm", "2.5 mm"),
    ],
)
def test_rounding_by_example(quantity: Quantity, unit: str, words: str) -> None:
    assert in_words(quantity, unit) == words
