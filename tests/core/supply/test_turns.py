"""Which job next: promises kept against every order there is, and like things together where it costs nothing."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import numpy as np
import pytest

from levelwind.core.supply import Calendar, Job, Shop, Spread, Wait, turns
from levelwind.core.supply.promise import draw, played
from tests.full_size import cases

MONDAY = date(2026, 3, 2)
WEEK = Calendar((4, 4, 4, 4, 4, 0, 0))


def dice(seed: int) -> np.random.Generator:
    return np.random.default_rng(seed)


def a_bench(seed: int) -> Shop:
    """Five jobs of about an hour to a day, promised within the week; one in three waits for its owner."""
    draws = dice(seed)
    jobs = []
    for n in range(5):
        likely = float(draws.uniform(40, 300))
        owner = Wait(Spread(0, 1, 4)) if draws.random() < 0.3 else None
        day = MONDAY + timedelta(days=int(draws.integers(-1, 6))) if draws.random() < 0.9 else None
        jobs.append(Job(f"j{n}", Spread(0.7 * likely, likely, 1.5 * likely), owner=owner, promised=day))
    return Shop(MONDAY, WEEK, tuple(jobs))


@pytest.mark.sampled
@pytest.mark.parametrize("seed", cases(range(4), range(60)))
def test_no_order_of_all_keeps_more_promises(seed: int) -> None:
    """All 120 orders in the same 200 futures: the one found is at most a twentieth of a promise behind the best."""
    shop = a_bench(seed)
    found = turns(shop, frozenset(job.tag for job in shop.jobs), {}, dice(1))
    assert found is not None
    throw = draw(shop, 200, dice(1))
    promised = [(n, (job.promised - MONDAY).days) for n, job in enumerate(shop.jobs) if job.promised]

    def kept(order: tuple[int, ...]) -> float:
        came = played(shop, throw, order)
        return sum(float((came.days.on(came.ended[:, n]) <= day).mean()) for n, day in promised)

    best = max(map(kept, permutations(range(5))))
    assert best - 0.05 <= found.kept <= best + 1e-9
    assert found.kept >= found.as_they_stand - 0.02, "days late count for a little"


def test_like_follows_like_where_no_promise_suffers_and_not_where_one_does() -> None:
    hour = Spread(50, 60, 80)
    jobs = tuple(Job(f"j{n}", hour, promised=MONDAY + timedelta(days=9)) for n in range(4))
    shop, ready = Shop(MONDAY, WEEK, jobs), frozenset({"j0", "j1", "j2", "j3"})
    likes = {"j0": frozenset({"crate", "oil"}), "j3": frozenset({"crate", "oil"}), "j1": frozenset({"oil"})}
    found = turns(shop, ready, likes, dice(2))
    assert found is not None
    assert [turn.tag for turn in found.order] == ["j0", "j3", "j1", "j2"]
    assert [set(turn.shares) for turn in found.order] == [set(), {"crate", "oil"}, {"oil"}, set()]
    pressed = replace(shop, jobs=tuple(replace(job, minutes=Spread(235, 238, 239)) for job in jobs))
    due = tuple(replace(job, promised=MONDAY + timedelta(days=n)) for n, job in enumerate(pressed.jobs))
    found = turns(replace(pressed, jobs=due), ready, likes, dice(2))
    assert found is not None
    assert [turn.tag for turn in found.order] == ["j0", "j1", "j2", "j3"]
    assert found.kept == pytest.approx(4)
    assert found.now is not None and found.later is not None and found.now > 0.9 > 0.1 > found.later


def test_what_cannot_be_kept_goes_behind_what_can_and_only_what_is_ready_is_next() -> None:
    long = Job("long", Spread(900, 950, 990), promised=MONDAY)
    short = Job("short", Spread(50, 60, 70), promised=MONDAY + timedelta(days=1))
    shop = Shop(MONDAY, WEEK, (long, short))
    found = turns(shop, frozenset({"long", "short"}), {}, dice(3))
    assert found is not None
    assert [turn.tag for turn in found.order] == ["short", "long"]
    assert (found.as_they_stand, found.kept, found.promised) == (0.0, 1.0, 2)
    only = turns(shop, frozenset({"long"}), {}, dice(3))
    assert only is not None
    assert only.now is not None and only.now < 0.01, "the chance told is that of the first job that is ready"
    assert turns(shop, frozenset({"gone"}), {}, dice(3)) is None
