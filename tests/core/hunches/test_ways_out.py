"""Mend, part out or send back; and the order of tries."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.hunches import Stake, Try, order_of_tries, ways_out
from tests.core.hunches.nets import UNHURRIED


def test_each_way_by_hand() -> None:
    """mend 0.8 · (100 − 60 − 0.1 · 50) − 0.2 · (30 + 12); part out 45 − 10 − 20; send back 15 − 12."""
    stake = Stake(100, 60, 0.2, 30, 0.1, 50, spares=45, strip=10, buy=20, look_fee=15, post_back=12)
    assert {way.way: round(way.money, 9) for way in ways_out(stake)} == {
        "mend": 19.6,
        "part out": 15.0,
        "send back": 3.0,
    }


def test_a_reel_past_mending_goes_to_the_bone_box_or_home() -> None:
    assert ways_out(Stake(100, 60, fails=1, wasted=30, spares=40))[0].way == "part out"
    assert ways_out(Stake(100, 60, fails=1, wasted=30, look_fee=15, post_back=10))[0].way == "send back"


@pytest.mark.parametrize("wrong", [{"price": -1}, {"fails": 1.1}, {"comes_back": float("nan")}])
def test_a_stake_that_makes_no_sense_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError):
        Stake(**{"price": 100, "mend": 60, **wrong})


CHANCES = st.lists(st.floats(0.01, 1), min_size=1, max_size=4)
CURES = st.lists(st.sampled_from([0.0, 0.3, 0.9, 1.0]), min_size=4, max_size=4)


@UNHURRIED
@given(CHANCES, st.lists(st.tuples(st.floats(0, 50), CURES), max_size=5))
def test_no_other_order_is_cheaper(raw: list[float], rows: list[tuple[float, list[float]]]) -> None:
    chances = {f"f{i}": chance / sum(raw) for i, chance in enumerate(raw)}
    tries = [
        Try(f"t{i}", cost, {fault: cures[j] for j, fault in enumerate(chances)}) for i, (cost, cures) in enumerate(rows)
    ]
    order = order_of_tries(chances, tries)
    named = {each.key: each for each in tries}
    assert order.cost == pytest.approx(cost_of(chances, [named[key] for key in order.tries]))
    assert order.cost == pytest.approx(min(cost_of(chances, list(way)) for way in permutations(tries)))


def cost_of(chances: dict[str, float], tries: list[Try]) -> float:
    left, cost = dict(chances), 0.0
    for each in tries:
        cost += sum(left.values()) * each.cost
        left = {fault: chance * (1 - each.cures[fault]) for fault, chance in left.items()}
    return cost


def test_tries_that_make_no_sense_are_refused() -> None:
    with pytest.raises(InputError, match="1 together"):
        order_of_tries({"dry": 0.4, "worn": 0.4}, [])
    with pytest.raises(InputError, match="number of tries"):
        order_of_tries({"dry": 1.0}, [Try(str(i), 1, {}) for i in range(15)])
