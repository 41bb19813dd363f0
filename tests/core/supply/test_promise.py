"""Promises against a slow simulation of the same futures, and against what must hold of any date."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from math import ceil

import numpy as np
import pytest

from levelwind.core.errors import InputError
from levelwind.core.supply import Calendar, Coming, Found, Job, Shop, Spread, Wait, futures, reason
from levelwind.core.supply.promise import Drawn, draw, played
from levelwind.core.supply.spreads import drawn_after, parts_of
from tests.core.supply.by_processes import done_by_processes
from tests.core.supply.one_by_one import Clock, Piece, done_on
from tests.full_size import cases

MONDAY = date(2026, 3, 2)
WEEK = Calendar((6, 6, 4, 6, 5, 0, 0), frozenset({date(2026, 3, 12), date(2026, 3, 13)}))


def any_shop(seed: int) -> Shop:
    """Up to 25 jobs of every shape, one to three benches, some weekdays and days off without work."""
    dice = np.random.default_rng(seed)

    def spread(most: float) -> Spread:
        return Spread(*(float(each) for each in np.sort(dice.uniform(0, most, 3).round(int(dice.integers(0, 3)) + 1))))

    def wait() -> Wait | None:
        asked = MONDAY - timedelta(days=int(dice.integers(0, 4))) if dice.random() < 0.4 else None
        return Wait(spread(15), asked) if dice.random() < 0.4 else None

    hours = [float(each) for each in dice.choice([0, 1.5, 4, 7.25], 7)]
    hours[int(dice.integers(0, 7))] = 5.0
    many_found = seed % 2 == 0
    jobs = tuple(
        Job(
            f"j{n}",
            spread(400),
            first=spread(90) if dice.random() < 0.4 else None,
            owner=wait(),
            parts=wait(),
            waits=("w",) if dice.random() < 0.2 else (),
            urgent=bool(dice.random() < 0.1),
            found=Found(float(dice.uniform(0, 1)), spread(15), float(dice.uniform(0.1, 0.9))) if many_found else None,
        )
        for n in range(int(dice.integers(1, 26)))
    )
    off = frozenset(MONDAY + timedelta(days=int(each)) for each in dice.integers(0, 40, 6))
    return Shop(
        MONDAY, Calendar(tuple(hours), off), jobs, (Wait(spread(20), key="w"),), benches=int(dice.integers(1, 4))
    )


def pieces_of(shop: Shop, drawn: Drawn, future: int) -> list[Piece]:
    """One future's jobs in the order of the bench, as the slow simulation takes them."""
    return [
        Piece(
            drawn.first[future, n] if shop.jobs[n].first else None,
            drawn.last[future, n],
            ceil(drawn.owner[future, n] + drawn.parts[future, n])
            + (drawn.found[future, n] if shop.jobs[n].first else 0),
            max(drawn.under_way[future, n], drawn.shared[future, 0] if shop.jobs[n].waits else 0.0),
            *_found(shop.jobs[n], drawn.found[future, n]),
        )
        for n in shop.order
    ]


def _found(job: Job, days: float) -> tuple[float, float]:
    """Of a job with a first piece it is waited for with the rest, and stands in its days already."""
    return (0.0, 0.4) if job.found is None or job.first else (days, job.found.opened_after)


def one_by_one(shop: Shop, drawn: Drawn, future: int) -> list[int]:
    """The same future by the slow simulation."""
    clock = Clock(shop.today, shop.calendar.hours, shop.calendar.off)
    days = done_on(pieces_of(shop, drawn, future), clock, shop.benches)
    return [days[shop.order.index(n)] for n in range(len(shop.jobs))]


@pytest.mark.sampled
@pytest.mark.parametrize("seed", range(cases(30, 600)))
def test_every_future_ends_as_one_worked_off_alone(seed: int) -> None:
    shop = any_shop(seed)
    drawn = draw(shop, 6, np.random.default_rng(seed))
    ended = played(shop, drawn)
    fast = ended.days.on(ended.ended)
    assert [row.tolist() for row in fast] == [one_by_one(shop, drawn, future) for future in range(6)]
    for day in fast.ravel():
        assert shop.calendar.hours_on(ended.days.date(int(day))) > 0


@pytest.mark.sampled
@pytest.mark.parametrize("seed", range(cases(2, 100)))
def test_every_future_ends_as_in_a_reference_simulator(seed: int) -> None:
    """SimPy 4.1.2 (PyPI) on the same throws: the days on which jobs are done are distributed alike, job by job.

    Two jobs that become ready in the very same moment may change places there: at most one day in a hundred differs,
    and the mean day by a twentieth at most.
    """
    shop, many = any_shop(1000 + seed), 40
    drawn = draw(shop, many, np.random.default_rng(seed))
    ended = played(shop, drawn)
    fast = ended.days.on(ended.ended)[:, list(shop.order)]
    clock = Clock(shop.today, shop.calendar.hours, shop.calendar.off)
    slow = np.array([done_by_processes(pieces_of(shop, drawn, future), clock, shop.benches) for future in range(many)])
    assert np.mean(fast != slow) <= 0.01
    assert fast.mean(axis=0) == pytest.approx(slow.mean(axis=0), abs=0.05)


def shop_of(*jobs: Job, **given: object) -> Shop:
    return Shop(MONDAY, WEEK, jobs, **given)  # type: ignore[arg-type]


SURE, VAST = Spread(300, 300, 300), Spread(60_000, 60_000, 60_000)


def dates(shop: Shop, number: int = 0) -> list[str]:
    told = futures(shop, np.random.default_rng(1), 2000)
    return [told.done_by(number, chance).isoformat() for chance in (0.5, 0.8, 0.9)]


def test_sure_work_by_hand() -> None:
    """300 minutes on Monday of 6 h; the next end on Tuesday; a third on Wednesday of 4 h runs into Thursday."""
    shop = shop_of(*(Job(str(n), SURE) for n in range(3)))
    assert [dates(shop, n) for n in range(3)] == [["2026-03-02"] * 3, ["2026-03-03"] * 3, ["2026-03-04"] * 3]
    ten_days = shop_of(Job("a", SURE, parts=Wait(Spread(10, 10, 10))))
    assert dates(ten_days) == ["2026-03-16"] * 3  # Thursday 12 and Friday 13 are off, then a weekend


def test_what_is_found_broken_when_the_reel_is_open_makes_it_later_and_lets_the_next_go_on() -> None:
    """Both have 300 minutes. The first is open after 120, waits three days, and is put together on Thursday."""
    broken = Found(1.0, Spread(3, 3, 3))
    shop = shop_of(Job("a", SURE, found=broken), Job("b", SURE))
    assert [dates(shop, n) for n in range(2)] == [["2026-03-05"] * 3, ["2026-03-03"] * 3]
    why = reason(shop, "a", np.random.default_rng(1), 400)
    assert (why.parts, why.days) == (3.0, 3.0)
    looked = shop_of(Job("a", SURE, first=Spread(60, 60, 60), found=broken))
    assert dates(looked) == ["2026-03-05"] * 3, "waited for with the rest, after the first look"
    never = shop_of(Job("a", SURE, found=replace(broken, chance=0.0)), Job("b", SURE))
    assert [dates(never, n) for n in range(2)] == [["2026-03-02"] * 3, ["2026-03-03"] * 3]
    half = shop_of(Job("a", SURE, found=replace(broken, chance=0.3)))
    assert futures(half, np.random.default_rng(1), 4000).chance(0, MONDAY) == pytest.approx(0.7, abs=0.03)


def test_the_urgent_go_first_and_what_may_come_makes_it_later() -> None:
    """What comes in does not break off work that is begun, so the third job of three feels it."""
    jobs = Job("a", SURE), Job("b", SURE, urgent=True), Job("c", SURE)
    assert [dates(shop_of(*jobs), n)[0] for n in range(3)] == ["2026-03-03", "2026-03-02", "2026-03-04"]
    pressed = shop_of(*jobs, coming=(Coming(3, Spread(60, 120, 240)),))
    alone, busy = (futures(shop, np.random.default_rng(1), 4000) for shop in (shop_of(*jobs), pressed))
    assert alone.chance(2, date(2026, 3, 4)) > 0.99 > 0.8 > busy.chance(2, date(2026, 3, 4))


def test_what_all_jobs_have_in_common_does_not_cancel_out() -> None:
    """Forty jobs of about half an hour: on their own their end is known to a day, with the shop's pace it is not."""
    jobs = tuple(Job(str(n), Spread(20, 30, 60)) for n in range(40))
    alone, together = (shop_of(*jobs, pace=pace) for pace in (Spread(1, 1, 1), Spread(0.8, 1, 1.6)))
    width = [
        date.fromisoformat(late) - date.fromisoformat(middle)
        for middle, _, late in map(dates_of_last, (alone, together))
    ]
    assert width[0] <= timedelta(days=1) < width[1]


def dates_of_last(shop: Shop) -> list[str]:
    return dates(shop, len(shop.jobs) - 1)


def test_what_was_asked_for_and_has_not_come_is_likelier_late() -> None:
    """Of days spread evenly enough, those that are over are gone; over the longest, it is asked for again and said."""
    days, rng = Spread(2, 5, 14), np.random.default_rng(2)
    left = drawn_after(days, 6.0, 20_000, rng)
    kept = parts_of(days)
    assert left is not None
    assert left.mean() == pytest.approx((kept[kept > 6] - 6).mean(), rel=0.02)
    late = shop_of(Job("a", SURE, parts=Wait(days, MONDAY - timedelta(days=20), what="the pawl")))
    told = futures(late, rng, 100)
    assert str(told.cautions[0]) == (
        "the pawl takes longer than the longest told (14 days): counted as if asked for again today"
    )


def test_why_then_and_what_would_make_it_sooner() -> None:
    pawl = Wait(Spread(6, 8, 10), key="pawl", what="the pawl")
    waiting = Job("w", Spread(30, 40, 60), owner=Wait(Spread(3, 3, 3)), waits=("pawl",))
    shop = shop_of(*(Job(str(n), SURE) for n in range(5)), waiting, shared=(pawl,))
    why = reason(shop, "w", np.random.default_rng(3))
    assert why.days == pytest.approx(why.owner + why.parts + why.shared + why.behind + why.working)
    assert why.shared == pytest.approx(8.5, abs=0.3)
    assert why.sooner[0].key == "wait pawl"
    assert all(each.days > 0 for each in why.sooner)
    queued = reason(shop, "4", np.random.default_rng(3))
    assert [each.key for each in queued.sooner][:2] == ["first", "hour"]
    with pytest.raises(InputError, match="tag was 'x'; allowed is one of 0, 1, 2, 3, 4, w"):
        reason(shop, "x", np.random.default_rng(3))


SHUT = Calendar(WEEK.hours, frozenset(MONDAY + timedelta(days=n) for n in range(3660)))
"""Days off for ten years."""
DICE = np.random.default_rng(1)
REFUSED: dict[str, Callable[[], object]] = {
    "hours": lambda: Calendar((0.0,) * 7),
    "hours 25": lambda: Calendar((25.0,) + (0.0,) * 6),
    "spread": lambda: Spread(5, 4, 6),
    "below": lambda: Spread(-1, 4, 6),
    "odd": lambda: Spread(1, float("nan"), 6),
    "no minutes": lambda: Job("a", Spread(0, 0, 0)),
    "much": lambda: Job("a", Spread(0, 0, 60_001)),
    "twice": lambda: shop_of(Job("a", SURE), Job("a", SURE)),
    "pace": lambda: shop_of(Job("a", SURE), pace=Spread(0, 1, 2)),
    "none": lambda: shop_of(),
    "key": lambda: shop_of(Job("a", SURE, waits=("x",))),
    "tomorrow": lambda: shop_of(Job("a", SURE, parts=Wait(SURE, MONDAY + timedelta(days=1)))),
    "ever": lambda: Wait(Spread(1, 2, 4000)),
    "flood": lambda: futures(shop_of(Job("a", SURE), coming=(Coming(40, SURE),)), DICE, 10),
    "shut": lambda: futures(replace(shop_of(Job("a", SURE)), calendar=SHUT), DICE, 10),
    "a chance over one": lambda: Found(1.2, SURE),
    "found and no days": lambda: Found(0.2, Spread(0, 0, 0)),
    "found without any work": lambda: Found(0.2, SURE, 0.0),
    "ten years": lambda: futures(shop_of(*(Job(str(n), VAST) for n in range(20))), DICE, 4).done_by(19, 0.5),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_gives_no_date_is_refused_in_words(what: str) -> None:
    with pytest.raises(InputError, match="allowed is"):
        REFUSED[what]()
