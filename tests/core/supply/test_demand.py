"""What will be used, against the same laws worked out otherwise."""

import numpy as np
import pytest
from scipy import stats

from levelwind.core.supply.demand import DAYS_A_MONTH, Demand, chances, demands, with_maybe
from levelwind.core.supply.stock import Offer, Part


def test_units_that_come_one_by_one_are_negative_binomial() -> None:
    demand, days = Demand(1.7, 9.0, 0.0), 75.0
    p = demand.months / (demand.months + days / DAYS_A_MONTH)
    expected = stats.nbinom(demand.shape, p).pmf(range(12))
    assert chances([demand], np.array([[days]]), 11)[0, 0] == pytest.approx(expected, abs=1e-12)


def test_batches_are_geometric_by_adding_them_up() -> None:
    """Panjer's recursion against the batches' own sums: n batches of geometric units are negative binomial beyond n."""
    demand, days, most = Demand(0.8, 6.0, 0.35), 120.0, 15
    batches = stats.nbinom(demand.shape, demand.months / (demand.months + days / DAYS_A_MONTH))
    units = np.zeros(most + 1)
    units[0] = batches.pmf(0)
    for many in range(1, most + 1):
        units[many:] += batches.pmf(many) * stats.nbinom(many, 1 - demand.stick).pmf(range(most + 1 - many))
    assert chances([demand], np.array([[days]]), most)[0, 0] == pytest.approx(units, abs=1e-12)


def test_what_may_be_needed_comes_on_top() -> None:
    none, far = np.array([1.0, 0, 0, 0]), [0.3, 0.5, 0.9]
    assert with_maybe(none, far) == pytest.approx([0.035, 0.365, 0.465, 0.135])  # by hand: eight cases


def shelf_of(pasts: list[tuple[int, ...]]) -> list[Part]:
    return [Part(f"p{n}", (Offer("s", 100),), past) for n, past in enumerate(pasts)]


def test_a_part_leans_on_the_shop_as_far_as_its_own_past_is_short() -> None:
    """Of parts that differ much, each goes by its own past; a part without a past by the shop's mean; none is never."""
    many = [tuple(stats.poisson(rate).rvs(24, random_state=n)) for n, rate in enumerate([0.05, 0.1, 0.4, 2, 3] * 4)]
    parts = shelf_of([*((tuple(int(u) for u in past)) for past in many), (), (0,) * 24])
    told = [each.a_month for each in demands(parts)]
    pooled = sum(sum(p.used) for p in parts) / sum(len(p.used) for p in parts)
    assert told[-2].value == pytest.approx(pooled, rel=0.1)
    assert 0 < told[-1].value < 0.05
    busy = [each.value / (sum(part.used) / 24) for each, part in zip(told, parts, strict=True) if sum(part.used) > 40]
    assert busy == pytest.approx([1] * len(busy), abs=0.05)
    assert told[-2].high > told[-2].value > told[-2].low


def test_nine_of_ten_rates_lie_in_their_intervals() -> None:
    """400 parts with rates from one gamma, two years of past each: the truth is inside 90 % of the time, within 4 %."""
    rng = np.random.default_rng(6)
    rates = rng.gamma(0.8, 0.5, 400)
    parts = shelf_of([tuple(int(u) for u in rng.poisson(rate, 24)) for rate in rates])
    told = [each.a_month for each in demands(parts)]
    inside = np.mean([each.low <= rate <= each.high for each, rate in zip(told, rates, strict=True)])
    assert 0.86 <= inside <= 0.94
