"""A box of reels against a tree solved by hand: each reel made the most of, all together, what one may pay."""

import numpy as np
import pytest

from levelwind.core.errors import InputError
from levelwind.core.supply import Spread
from levelwind.core.supply.boxes import box
from levelwind.core.supply.worth import DeadReel, Mending, Piece


def sure(value: float) -> Spread:
    return Spread(value, value, value)


SELLS = DeadReel(50.0, mending=Mending(sure(10), sure(2500), comes_right=0.5))
"""By hand: half the time 2500, less ten minutes at 50: 0.5 · 2500 - 500 = 750."""
GEAR = DeadReel(50.0, (Piece("gear", sure(1000), sure(6), good=0.6),), sure(2))
"""By hand: 0.6 · 1000 - 300 - 100 = 200."""
SCRAP = DeadReel(50.0, (Piece("screw", sure(10), sure(1)),), sure(4))
"""No way pays: 10 - 50 - 200; it is left."""


def test_a_box_of_four_leaves_by_hand() -> None:
    """2000 or -500, and 600 or -400: 2600 (0.3), 1600 (0.2), 100 (0.3), -900 (0.2); mean 950; asked 150, 0.5 lose."""
    told = box([SELLS, GEAR, SCRAP], sure(1), np.random.default_rng(5), asked=150, many=40_000)
    assert told.ways == ("mended", "parts", "")
    assert told.each == pytest.approx((750, 200, 0))
    assert told.most_to_pay == told.worth.value == pytest.approx(950)
    assert (told.worth.low, told.worth.high) == (-900, 2600)
    assert told.loss == pytest.approx(0.5, abs=0.01)
    assert told.careful in (0.0, 100.0), "a fifth of them bring -900"


def test_what_was_misjudged_of_one_was_of_all() -> None:
    """Twenty sure reels: drawn once a box, the spread of all is as wide as that of one; half as much, half the mean."""
    reel = DeadReel(50.0, (Piece("spool", sure(2000), sure(10)),), sure(4))
    told = box([reel] * 20, Spread(0.4, 0.5, 0.6), np.random.default_rng(6))
    assert told.most_to_pay == pytest.approx(20 * 1300 * 0.5)
    assert told.worth.high - told.worth.low > 0.1 * 20 * 1300
    assert 0 < told.careful < told.most_to_pay
    assert box([SCRAP], sure(1), np.random.default_rng(7)).most_to_pay == 0
    with pytest.raises(InputError, match="from 1 to"):
        box([], sure(1), np.random.default_rng(8))
