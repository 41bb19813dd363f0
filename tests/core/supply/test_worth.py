"""Worth against a decision tree solved by hand."""

import numpy as np
import pytest

from levelwind.core.errors import InputError
from levelwind.core.supply.model import Spread
from levelwind.core.supply.worth import DeadReel, Mending, Piece, Unopened, worth


def sure(value: float) -> Spread:
    return Spread(value, value, value)


SPOOL = Piece("spool", Spread(1000, 2000, 3000), sure(10), good=0.5, sells=0.8)
SCREWS = Piece("screws", sure(100), sure(6), sells=0.5)
HANDLE = Piece("handle", sure(1200), sure(5), sells=0.5)
REEL = DeadReel(
    50.0,
    (SPOOL, SCREWS, HANDLE),
    sure(4),
    Mending(sure(60), Spread(5000, 8000, 11000), sure(1500), comes_right=0.75, sells=0.9),
    Unopened(sure(900), sure(2), sells=0.5),
)
BY_HAND = {
    "parts": 0.5 * 0.8 * 2000 - 500 + 0.5 * 1200 - 250 - 200,  # screws bring 50 and take 300: left
    "mended": 0.75 * 0.9 * 8000 + 0.25 * (300 + 350) - 1500 - 3000,
    "shut": 0.5 * 900 - 100,
}


def test_each_branch_by_hand() -> None:
    """A minute costs 50. Stripping brings 300 (spool) + 350 (handle) - 200 (opening) = 450; mending 1062.5."""
    told = worth(REEL, np.random.default_rng(1))
    assert {name: way.worth.value for name, way in told.ways.items()} == pytest.approx(BY_HAND)
    assert list(BY_HAND.values()) == pytest.approx([450, 1062.5, 350])
    assert (told.advice, told.most_to_pay) == ("mended", pytest.approx(1062.5))
    assert ([piece.name for piece in told.strip], [piece.name for piece in told.leave]) == (
        ["spool", "handle"],
        ["screws"],
    )


def test_chances_of_a_tree_of_four_leaves() -> None:
    """Sure prices: shut brings 800 or -100, parts 600 or -400, each by one chance, so four pairs by hand."""
    reel = DeadReel(
        50.0, (Piece("gear", sure(1000), sure(6), good=0.6),), sure(2), shut=Unopened(sure(900), sure(2), sells=0.5)
    )
    told = worth(reel, np.random.default_rng(2), 40_000)
    parts, shut = told.ways["parts"], told.ways["shut"]
    assert (parts.worth.value, shut.worth.value) == pytest.approx((200, 350))
    assert (parts.worth.low, parts.worth.high) == pytest.approx((-400, 600))
    assert parts.best == pytest.approx(0.6 * 0.5, abs=0.01)  # 600 against -100
    assert shut.best == pytest.approx(0.5 + 0.5 * 0.4, abs=0.01)  # 800 always, -100 against -400
    assert (parts.loss, shut.loss) == pytest.approx((0.4, 0.5), abs=0.01)


def test_nothing_pays() -> None:
    told = worth(DeadReel(50.0, (SCREWS,), sure(4)), np.random.default_rng(1))
    assert (told.advice, told.most_to_pay, told.strip) == ("shut", 0.0, ())


@pytest.mark.parametrize("given", [{"minute": -1.0}, {"minute": float("nan")}, {"pieces": (), "mending": None}])
def test_what_no_tree_can_be_made_of_is_refused(given: dict[str, object]) -> None:
    with pytest.raises(InputError, match="allowed is"):
        DeadReel(**({"minute": 50.0, "pieces": (SPOOL,)} | given))  # type: ignore[arg-type]


def test_a_chance_over_one_is_refused() -> None:
    with pytest.raises(InputError, match=r"sells of spool was 1\.2; allowed is a chance from 0 to 1"):
        DeadReel(50.0, (Piece("spool", sure(1), sure(1), sells=1.2),))
