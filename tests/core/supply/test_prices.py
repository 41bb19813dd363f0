"""An hour's cost, and the chance that a price is enough, against trees solved by hand."""

from decimal import Decimal

import numpy as np
import pytest

from levelwind.core.errors import InputError
from levelwind.core.supply import Spread
from levelwind.core.supply.prices import Hours, Item, enough, hour_cost


def test_an_hour_costs_what_is_paid_by_the_hours_billed() -> None:
    """By hand: (4,380.00 + 25.00 × 1,100) / 730 = 43.671…; a half goes up; in decimals a third loses nothing."""
    assert hour_cost(Hours(438_000, 2_500, Decimal(1100), Decimal(730))) == 4367
    assert hour_cost(Hours(45, 0, Decimal(0), Decimal(10))) == 5
    assert hour_cost(Hours(0, 100, Decimal(1) / 3, Decimal(1) / 3)) == 100
    with pytest.raises(InputError, match="hours billed was 0; allowed is more than 0"):
        hour_cost(Hours(1, 1, Decimal(1), Decimal(0)))
    with pytest.raises(InputError, match="0 or more"):
        hour_cost(Hours(-1, 1, Decimal(1), Decimal(1)))


def test_chances_of_a_tree_of_eight_leaves() -> None:
    """100 for certain, 40 with 0.3, 60 with 0.5, 90 with 0.1; the sums of the leaves and their chances by hand.

    100: 0.7·0.5·0.9 = 0.315; 140: 0.3·0.5·0.9 = 0.135; 160: 0.7·0.5·0.9 = 0.315; 190: 0.7·0.5·0.1 = 0.035;
    200: 0.3·0.5·0.9 = 0.135; so up to 160 it is 0.765, up to 200 0.935.
    """
    items = [Item(Spread(n, n, n), chance) for n, chance in ((100, 1.0), (40, 0.3), (60, 0.5), (90, 0.1))]
    told = enough(items, [99, 100, 160, 200, 290], np.random.default_rng(3), 40_000)
    assert told.chances == pytest.approx((0, 0.315, 0.765, 0.935, 1), abs=0.008)
    assert told.mostly == 200, "the first sum of the leaves that nine in ten do not pass"


def test_a_spread_is_under_its_middle_half_of_the_time() -> None:
    (told,) = enough([Item(Spread(8000, 10_000, 12_000))], [10_000], np.random.default_rng(4)).chances
    assert told == pytest.approx(0.5, abs=0.02)
    with pytest.raises(InputError, match="a chance from 0 to 1"):
        Item(Spread(1, 1, 1), 1.5)
