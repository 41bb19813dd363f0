"""Queues and networks worked in textbooks: the bench fed by customers that come at random, and paths of a plan.

F. S. Hillier and G. J. Lieberman, Introduction to Operations Research: chapter 17 (the County Hospital) and the
Reliable Construction plan, both from memory; the Pollaczek-Khinchine formula, Wq = lambda E[S²] / (2 (1 - rho)), by
arithmetic; A. Cobham, "Priority assignment in waiting line problems", Operations Research 2(1), 1954, p. 70 to 76 (from
memory), for jobs that go first and break nothing off; a textbook plan of fourteen activities read on a web page
(docs/sources.md).
"""

from collections.abc import Callable
from datetime import date

import numpy as np
import pytest

from levelwind.core.supply import Calendar, Spread
from levelwind.core.supply.bench import Days, Lot, worked_off
from levelwind.core.supply.spreads import drawn, parts_of

Times = np.ndarray


def mean_wait(rate: float, service: Callable[[tuple[int, int], np.random.Generator], Times], benches: int = 1) -> float:
    """Mean time in the queue, of the later half of 600 customers in each of 400 runs; in the service's unit."""
    rng, shape = np.random.default_rng(17), (400, 600)
    arrive, work = rng.exponential(1 / rate, shape).cumsum(axis=1), service(shape, rng)
    nothing = np.zeros(shape)
    days = Days.of(Calendar((24.0,) * 7), date(2026, 3, 2))
    ended = worked_off(Lot(arrive, nothing, nothing.astype(np.int64), nothing, work), days, benches)
    return float((ended - work - arrive)[:, 300:].mean())


def test_county_hospital_with_one_doctor_and_with_two() -> None:
    """2 patients an hour, 3 treated an hour: they wait 2/3 h, with two doctors 1/24 h (chapter 17, from memory)."""

    def treated(shape: tuple[int, int], rng: np.random.Generator) -> Times:
        return rng.exponential(1 / 3, shape)

    assert mean_wait(2, treated) == pytest.approx(2 / 3, rel=0.05)
    assert mean_wait(2, treated, benches=2) == pytest.approx(1 / 24, rel=0.05)


SERVICES: dict[str, tuple[Callable[[tuple[int, int], np.random.Generator], Times], float]] = {
    "exponential": (lambda shape, rng: rng.exponential(1, shape), 4.0),
    "always the same": (lambda shape, rng: np.ones(shape), 2.0),
    "uniform from 0 to 2": (lambda shape, rng: rng.uniform(0, 2, shape), 8 / 3),
}


@pytest.mark.parametrize("name", SERVICES)
def test_pollaczek_khinchine(name: str) -> None:
    """Eight customers come while ten could be served: lambda 0.8, mean service 1."""
    service, expected = SERVICES[name]
    assert mean_wait(0.8, service) == pytest.approx(expected, rel=0.08)


URGENT, ORDINARY = 0.2, 0.5
"""Reels a unit of time, the mean work of an ordinary one."""
WORK: dict[str, tuple[Callable[[Times, np.random.Generator], Times], float, float, float, float]] = {
    "exponential, alike": (lambda arrive, rng: rng.exponential(1, arrive.shape), 1.0, 2.0, 1.0, 2.0),
    "urgent ones from 0 to 1, others always 1": (
        lambda arrive, rng: np.where(np.arange(arrive.shape[1]) < 360, rng.uniform(0, 1, arrive.shape), 1.0),
        *(0.5, 1 / 3, 1.0, 1.0),
    ),
}
"""How long work takes, and of the urgent and of the others its mean and its mean square."""


@pytest.mark.parametrize("name", WORK)
def test_cobhams_waits_of_those_that_go_first_and_of_those_that_do_not(name: str) -> None:
    """W1 = W0 / (1 - r1), W2 = W0 / ((1 - r1) (1 - r1 - r2)), W0 = (l1 E[S1²] + l2 E[S2²]) / 2, r = l E[S].

    Within four standard errors of 100 runs; reels that come from 400 to 1200, when neither sort has begun or run out.
    """
    service, mean_1, square_1, mean_2, square_2 = WORK[name]
    rng = np.random.default_rng(29)
    sorts = [rng.exponential(1 / rate, (100, many)).cumsum(axis=1) for rate, many in ((URGENT, 360), (ORDINARY, 860))]
    arrive = np.column_stack(sorts)
    work, nothing = service(arrive, rng), np.zeros(arrive.shape)
    lot = Lot(arrive, nothing, nothing.astype(np.int64), nothing, work)
    wait = worked_off(lot, Days.of(Calendar((24.0,) * 7), date(2026, 3, 2))) - work - arrive
    busy, both = URGENT * mean_1, URGENT * mean_1 + ORDINARY * mean_2
    still = (URGENT * square_1 + ORDINARY * square_2) / 2
    for columns, expected in (
        (slice(0, 360), still / (1 - busy)),
        (slice(360, None), still / ((1 - busy) * (1 - both))),
    ):
        there = (arrive[:, columns] > 400) & (arrive[:, columns] < 1200)
        runs = np.array([row[seen].mean() for row, seen in zip(wait[:, columns], there, strict=True)])
        assert runs.mean() == pytest.approx(expected, abs=4 * runs.std() / len(runs) ** 0.5)
        assert runs.std() / len(runs) ** 0.5 < 0.05 * expected, "or it would prove nothing"


def path(mean: float, variance: float, activities: int = 8) -> tuple[Spread, ...]:
    """As many like activities that add up to it: PERT knows a path by its mean and variance alone."""
    middle, half = mean / activities, 3 * (variance / activities) ** 0.5
    return (Spread(middle - half, middle, middle + half),) * activities


PLANS = {"control devices (53 of 50 days)": (50, 10.5556, 53, 0.822), "Reliable Construction": (44, 9, 47, 0.8413)}


@pytest.mark.parametrize("name", PLANS)
def test_the_chance_of_keeping_a_plan(name: str) -> None:
    """PERT: means and variances add up along the path, and the sum is near a normal."""
    mean, variance, deadline, chance = PLANS[name]
    spreads = path(mean, variance)
    assert sum(each.mean for each in spreads) == pytest.approx(mean)
    assert sum(each.variance for each in spreads) == pytest.approx(variance)
    rng = np.random.default_rng(5)
    taken = sum(drawn(each, 40_000, rng) for each in spreads)
    assert np.mean(taken <= deadline) == pytest.approx(chance, abs=0.008)


@pytest.mark.parametrize("spread", [Spread(1, 2, 9), Spread(0, 0, 5), Spread(3, 5, 6), Spread(2, 2.1, 8)])
def test_draws_have_perts_mean_and_variance(spread: Spread) -> None:
    """The mean exactly; of the variance at most 2 % is lost to the table's parts."""
    parts = parts_of(spread)
    assert parts.mean() == pytest.approx(spread.mean, rel=1e-9)
    assert parts.var() == pytest.approx(spread.variance, rel=0.02)
    assert spread.low <= parts.min() <= parts.max() <= spread.high
