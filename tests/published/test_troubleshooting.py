"""The order of tries, against textbook problems whose statement was read and whose answer is worked out here."""

from itertools import permutations

import numpy as np
import pytest

from levelwind.core.hunches import Try, order_of_tries


def test_a_start_problem() -> None:
    """Jensen and Nielsen, Bayesian Networks and Decision Graphs, 2007, exercise on Example 9.2 (the statement
    was read on a web page; the answer is worked out here): the best order is 1, 2, 3, 4.

    By hand 1 + 0.2 · 2 + (0.05 + 0.15 · 0.05) · 25 + (0.05 + 0.15 · 0.05 · 0.01) · 500 = 27.875, to 1e-9.
    """
    chances = {"software": 0.8, "virus": 0.15, "hardware": 0.05}
    tries = [
        Try("1 reboot", 1, {"software": 1.0}),
        Try("2 virus removal", 2, {"virus": 0.95}),
        Try("3 reinstall", 25, {"software": 0.99, "virus": 0.99}),
        Try("4 new computer", 500, {"software": 1.0, "virus": 1.0, "hardware": 1.0}),
    ]
    order = order_of_tries(chances, tries[::-1])
    assert [key[0] for key in order.tries] == ["1", "2", "3", "4"]
    assert order.cost == pytest.approx(27.875, abs=1e-9)


@pytest.mark.parametrize("seed", range(200))
def test_chance_over_cost(seed: int) -> None:
    """Kadane and Simon, Optimal strategies for a class of constrained sequential problems, Annals of Statistics 5,
    1977: with one fault and a check for each, descending p/c is the best order. Checked against all 120 orders."""
    dice = np.random.default_rng(seed)
    chances = dict(zip("abcde", dice.dirichlet(np.ones(5)).tolist(), strict=True))
    costs = dict(zip("abcde", dice.uniform(1, 20, 5).tolist(), strict=True))
    order = order_of_tries(chances, [Try(key, costs[key], {key: 1.0}) for key in "abcde"])
    assert list(order.tries) == sorted("abcde", key=lambda key: -chances[key] / costs[key])
    assert order.cost == pytest.approx(min(cost_of(way, chances, costs) for way in permutations("abcde")))


def cost_of(way: tuple[str, ...], chances: dict[str, float], costs: dict[str, float]) -> float:
    return sum(costs[key] * (1 - sum(chances[before] for before in way[:place])) for place, key in enumerate(way))


def test_two_causes() -> None:
    """S. Ross, A First Course in Probability, machine breakdown (the statement was read on a web page; the
    numbers are our choice): p = 0.3, checks cost 4 and 6, repairs 10 and 20. Check 1 first iff
    p / C1 ≥ (1 − p) / C2, which fails; the repairs are paid in either order and cancel."""
    chances, repairs = {"1": 0.3, "2": 0.7}, 0.3 * 10 + 0.7 * 20
    checks = {"1": 4.0, "2": 6.0}
    first, second = (cost_of(way, chances, checks) + repairs for way in (("1", "2"), ("2", "1")))
    assert (first, second) == (pytest.approx(25.2, abs=1e-9), pytest.approx(24.2, abs=1e-9))
    order = order_of_tries(chances, [Try(key, checks[key], {key: 1.0}) for key in "12"])
    assert order.tries == ("2", "1")
    assert order.cost + repairs == pytest.approx(24.2, abs=1e-9)
