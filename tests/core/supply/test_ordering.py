"""Orders against trying every order there is, and against futures of the shelf."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.supply.demand import demands
from levelwind.core.supply.model import Spread
from levelwind.core.supply.ordering import LATER, TODAY, Plan, Wanted, _cost_in_futures, _keep, _wanted, order
from levelwind.core.supply.stock import LastBuy, Offer, Part, Shelf, Supplier
from tests.full_size import cases

DAYS = Spread(2, 4, 10)
UNITS = 3
"""Of a part that are tried in every way."""


def any_shelf(seed: int) -> Shelf:
    """Two suppliers, two parts that are used now and then; with minimums, free postage, second offers."""
    dice = np.random.default_rng(seed)
    suppliers = tuple(
        Supplier(
            key,
            Spread(1, 3, 9 + n),
            postage=int(dice.integers(100, 900)),
            minimum=int(dice.choice([0, 0, 900])),
            free_from=int(dice.integers(500, 1300)) if dice.random() < 0.4 else None,
        )
        for n, key in enumerate("ab")
    )
    parts = tuple(
        Part(
            f"p{n}",
            tuple(Offer(key, int(dice.integers(450, 900))) for key in ("ab", "a", "b")[int(dice.integers(0, 3))]),
            tuple(int(each) for each in dice.poisson(0.06, 12)),
            stock=int(dice.integers(0, 2)),
            needed=int(dice.integers(0, 2)),
        )
        for n in range(2)
    )
    return Shelf(suppliers, parts, 5, 25, 0.3, float(dice.uniform(2, 12)))


def wanted_of(shelf: Shelf) -> list[Wanted]:
    known = demands(shelf.parts)
    return _wanted(shelf, known, _keep(shelf, known))


def ways(wanted: Wanted) -> list[tuple[float, dict[tuple[str, int], int]]]:
    """Every way to buy or leave its first units: what it costs against none, and the goods by supplier and time."""
    offers = wanted.part.offers
    slots = [None, *((which, time) for which in range(len(offers)) for time in (TODAY, LATER))]
    found = []
    for choice in product(slots, repeat=UNITS):
        gain, goods = 0.0, {}
        for k, slot in enumerate(choice):
            if slot is not None:
                gain += float(wanted.bought[slot][k] - wanted.unbought[k])
                key = offers[slot[0]].supplier, slot[1]
                goods[key] = goods.get(key, 0) + offers[slot[0]].price
        found.append((gain, goods))
    return found


def cheapest(shelf: Shelf, wanted: list[Wanted]) -> float:
    """Of every pair of ways whose parcels reach their minimums, with the postage each takes."""
    best = 0.0
    for (one, here), (two, there) in product(*map(ways, wanted)):
        cost = one + two
        for supplier, time in product(shelf.suppliers, (TODAY, LATER)):
            key = supplier.key, time
            goods = here.get(key, 0) + there.get(key, 0)
            if goods:
                free = supplier.free_from is not None and goods >= supplier.free_from
                cost += (0 if free else supplier.postage) if goods >= supplier.minimum else np.inf
        best = min(best, cost)
    return best


@pytest.mark.sampled
@pytest.mark.parametrize("seed", range(cases(8, 200)))
def test_no_other_order_is_cheaper(seed: int) -> None:
    shelf = any_shelf(seed)
    wanted = wanted_of(shelf)
    assert all(np.count_nonzero(each.bought.min(axis=(0, 1)) < each.unbought) < UNITS for each in wanted), (
        "tried too few"
    )
    plan = order(shelf, np.random.default_rng(1))
    unbought = sum(float(each.unbought.sum()) for each in wanted)
    assert plan.proven
    assert plan.cost.value - unbought == pytest.approx(cheapest(shelf, wanted), abs=1e-6)
    assert plan.if_all_waits is not None
    assert plan.if_all_waits >= plan.cost.value - 1e-6
    for parcel in (*plan.today, *plan.wait):
        assert parcel.moved is not None and parcel.moved >= -1e-6, "a better plan would have it at the other time"
    if len(plan.today) == 1:
        assert plan.if_all_waits <= plan.cost.value + plan.today[0].moved + 1e-6  # type: ignore[operator]


def test_expected_costs_are_the_mean_of_futures() -> None:
    """Lumpy, frequent, negative position, further units that may be needed; unbought, today, later."""
    parts = (
        Part("lumpy", (Offer("a", 500),), (0, 0, 6, 0, 0, 4, 0, 0, 0, 5), stock=2),
        Part("often", (Offer("a", 300),), (4, 3, 6, 2, 5, 4, 3, 7), stock=3),
        Part("short", (Offer("a", 900),), (0, 1, 0, 0), needed=2, maybe=(0.3, 0.8)),
    )
    shelf = Shelf((Supplier("a", DAYS, postage=500),), parts, 4, 30, 0.3, 150.0)
    for wanted in wanted_of(shelf):
        for bought in ({}, {(0, TODAY): [0, 1, 2]}, {(0, TODAY): [0], (0, LATER): [1, 2]}):
            expected = float(wanted.unbought.sum())
            for (which, time), units in bought.items():
                expected += float((wanted.bought[which, time] - wanted.unbought)[units].sum())
            costs = _cost_in_futures(shelf, wanted, bought, 4000, np.random.default_rng(3))
            assert costs.mean() == pytest.approx(expected, abs=4 * costs.std() / 4000**0.5)


def shelf_with(part: Part, **given: object) -> Shelf:
    return Shelf((Supplier("a", DAYS, postage=600, **given),), (part,), 4, 30, 0.3, 150.0)  # type: ignore[arg-type]


def bought(plan: Plan) -> list[tuple[str, int]]:
    return [(line.part.key, line.units) for parcel in plan.today for line in parcel.lines]


NEEDED = Part("p", (Offer("a", 2500),), (0,) * 12, needed=1)


def test_what_a_job_is_short_of_is_ordered_and_what_nobody_asks_for_is_not() -> None:
    assert bought(order(shelf_with(NEEDED), np.random.default_rng(1))) == [("p", 1)]
    (parcel,) = order(shelf_with(NEEDED), np.random.default_rng(1)).today
    assert parcel.moved == pytest.approx(4 * 150), "four days that a reel waits; keeping begins as much later"
    idle = order(shelf_with(replace(NEEDED, needed=0, stock=2)), np.random.default_rng(1))
    assert (idle.today, idle.wait, idle.proven) == ((), (), True)


def test_packs_minimums_and_free_postage() -> None:
    packs = order(shelf_with(replace(NEEDED, offers=(Offer("a", 2500, pack=4),))), np.random.default_rng(1))
    assert bought(packs) == [("p", 4)]
    least = order(shelf_with(NEEDED, minimum=5000), np.random.default_rng(1))
    assert bought(least) == [("p", 2)]
    dear, cheap = NEEDED, replace(NEEDED, offers=(Offer("a", 250),))
    for part, free_from, goods, postage in ((cheap, 500, 500, 0), (dear, 5000, 2500, 600)):
        (parcel,) = order(shelf_with(part, free_from=free_from), np.random.default_rng(1)).today
        assert (parcel.goods, parcel.postage) == (goods, postage)  # five years' keep of a unit nobody asks for


def test_a_last_buy_pays_unit_by_unit_and_says_how_long_it_lasts() -> None:
    """The worked unit: the next one would cost more to keep than missing it does."""
    part = Part("gear", (Offer("a", 1900),), (0, 0, 1, 0, 0, 0, 1, 0) * 3, stock=1, last_buy=LastBuy(9, 9000))
    plan = order(shelf_with(part), np.random.default_rng(1))
    (lasting,) = plan.last_buys
    assert bought(plan) == [("gear", lasting.units)]
    assert 12 <= lasting.units <= 24  # about 0.25 a month: 27 in nine years, the last of them not worth their keep
    assert 3 < lasting.years < 9
    more = order(shelf_with(replace(part, last_buy=LastBuy(9, 18000))), np.random.default_rng(1))
    assert more.last_buys[0].units > lasting.units
    assert more.last_buys[0].years > lasting.years
    with pytest.raises(NotDeterminedError, match="cannot be ordered"):
        order(shelf_with(part, minimum=10_000_000), np.random.default_rng(1))


REFUSED = {
    "cost": lambda: Offer("a", 0) and Part("p", (Offer("a", 0),)),
    "below cost": lambda: replace(NEEDED, sold_for=2499),
    "no supplier": lambda: shelf_with(replace(NEEDED, offers=(Offer("b", 100),))),
    "no offer": lambda: replace(NEEDED, offers=()),
    "used": lambda: replace(NEEDED, used=(1, -1)),
    "chance": lambda: replace(NEEDED, maybe=(1.2,)),
    "missing": lambda: replace(NEEDED, last_buy=LastBuy(5, 2500)),
    "days": lambda: Supplier("a", Spread(0, 0, 0)),
    "postage": lambda: Supplier("a", DAYS, postage=-1),
    "holding": lambda: replace(shelf_with(NEEDED), holding_a_year=0.0),
    "odd": lambda: replace(shelf_with(NEEDED), waiting=float("nan")),
    "twice": lambda: replace(shelf_with(NEEDED), parts=(NEEDED, NEEDED)),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_no_order_can_be_made_from_is_refused_in_words(what: str) -> None:
    with pytest.raises(InputError, match="allowed is"):
        REFUSED[what]()
