"""Stack height against the old one: the chance of a fit, the shim that mends it."""

import numpy as np
import pytest

from levelwind.core.drag.height import Thickness, check_height
from levelwind.core.errors import InputError

WASHER = Thickness("washer", 1.0e-3, 0.05e-3)
SHIMS = [Thickness("0.1 mm shim", 0.1e-3), Thickness("0.25 mm shim", 0.25e-3)]


def dice(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def test_the_difference_is_the_irwin_hall_distribution() -> None:
    """Irwin and Hall: the sum x of four uniforms has the tail (4 - x)^4 / 24 from 3 on, and 5 % at 2.9534."""
    measured = Thickness("old stack", 4e-3)
    difference = check_height([measured], [WASHER] * 4, 1e-3, 1e-3, [], dice(), draws=200_000).difference_m
    assert difference.value == pytest.approx(0.0, abs=1e-12)
    sigma = 0.05e-3 / np.sqrt(3) * 2
    # (2.9534 - 2) / sqrt(4 / 12) = 1.6513 sigma; 200,000 draws place it with a standard error of 0.0044 sigma.
    assert difference.high / sigma == pytest.approx(1.6513, abs=0.0135)
    # Inside the worst case, in which all four are off the same way, and inside twice their root sum square.
    assert -4 * 0.05e-3 < -2 * 0.05e-3 < difference.low < 0


def test_equal_stacks_fit() -> None:
    # The star takes up more upwards, so a shim would bring it nearer the middle: it fits without, and needs none.
    check = check_height([WASHER] * 3, [WASHER] * 3, 0.5e-3, 0.9e-3, SHIMS, dice())
    assert check.fits == 1.0
    assert check.shims == ()
    assert "within what star or knob takes up" in check.sentences[0]


def test_a_thin_stack_gets_the_shim_that_makes_it_right() -> None:
    thin = Thickness("thin washer", 0.8e-3, 0.02e-3)
    check = check_height([WASHER] * 3, [thin] * 3, 0.2e-3, 0.2e-3, SHIMS, dice())
    assert check.fits < 0.05
    assert [shim.name for shim in check.shims] == ["0.1 mm shim", "0.25 mm shim", "0.25 mm shim"]
    assert check.with_shims_m == pytest.approx(0.0, abs=1e-9)
    assert "outside what star or knob takes up" in check.sentences[0]
    assert check.sentences[1].endswith("+0.00 mm, within it.")


def test_a_stack_too_high_is_not_mended_by_a_shim() -> None:
    thick = Thickness("thick washer", 1.4e-3)
    check = check_height([WASHER] * 3, [thick] * 3, 0.2e-3, 0.2e-3, SHIMS, dice())
    assert check.shims == ()
    assert check.sentences[1] == "No shim named brings it nearer."


def test_a_borderline_stack_has_a_chance_between() -> None:
    thin = Thickness("thin washer", 0.95e-3, 0.05e-3)
    check = check_height([WASHER] * 3, [thin] * 3, 0.15e-3, 0.15e-3, [], dice())
    # Symmetric about the edge of what fits, so half of the draws fit.
    assert check.fits == pytest.approx(0.5, abs=0.02)
    assert "with a chance of" in check.sentences[0]


def test_the_same_dice_give_the_same_answer() -> None:
    once, again = (check_height([WASHER] * 5, [WASHER] * 5, 1e-4, 1e-4, [], dice(4)) for _ in range(2))
    assert once == again


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Thickness("shim", -1e-3), "thickness of shim was -1 mm"),
        (lambda: Thickness("shim", 1e-3, 2e-3), "tolerance of shim was 2 mm"),
        (lambda: check_height([WASHER], [], 0.0, 0.0, [], dice()), "pieces of the stack was 0"),
        (lambda: check_height([WASHER], [WASHER], -1e-3, 0.0, [], dice()), "travel of the star was -1 and 0 mm"),
    ],
)
def test_bad_input_is_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
