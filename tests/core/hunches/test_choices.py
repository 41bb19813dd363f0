"""Value of a look against plain enumeration over faults and outcomes, and the choices that follow."""

from itertools import product
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.hunches import (
    Costs,
    Fault,
    Finding,
    Look,
    Net,
    next_looks,
    posterior,
    reason,
    unseen_or_look,
)
from levelwind.core.quantities import Quantity
from tests.core.hunches.nets import UNHURRIED, nets_with_sights, weighed

COSTS = st.builds(Costs, st.floats(0, 3), st.floats(0, 200), st.floats(0, 1), is_open=st.booleans())
CENT = 1e-6


def least_spent(net: Net, seen: dict[str, bool], costs: Costs, look: str) -> dict[str, tuple[float, float]]:
    """For each fault the expected money now and after the look, by enumeration of sets of faults and outcomes."""
    said = [finding for finding in net.said if seen.get(finding.key)]
    rest = [finding.key for finding in net.shown_by(look) if finding.key not in seen]
    outcomes = [seen | dict(zip(rest, shown, strict=True)) for shown in product((False, True), repeat=len(rest))]
    rows = [weighed(net, outcome) for outcome in outcomes]
    total = sum(weight for row in rows for _, weight in row)
    spent = {}
    for fault in net.faults:
        mend, leave = costs.to_mend(fault), costs.of_leaving(fault, said)
        parts = [
            (sum(w for _, w in row) / total, sum(w for there, w in row if fault.key in there) / total) for row in rows
        ]
        now = min(mend, leave * sum(with_it for _, with_it in parts))
        spent[fault.key] = now, sum(min(chance * mend, leave * with_it) for chance, with_it in parts)
    return spent


@UNHURRIED
@given(nets_with_sights(), COSTS)
def test_a_look_is_worth_what_enumeration_says(case: tuple[Net, dict[str, bool]], costs: Costs) -> None:
    net, seen = case
    for look in next_looks(net, seen, costs):
        spent = least_spent(net, seen, costs, look.look.key)
        assert look.value == pytest.approx(sum(now - after for now, after in spent.values()), abs=CENT)


@UNHURRIED
@given(nets_with_sights(), COSTS)
def test_looks_come_best_first_and_only_those_left_to_do(case: tuple[Net, dict[str, bool]], costs: Costs) -> None:
    net, seen = case
    looks = next_looks(net, seen, costs)
    assert [look.per_minute for look in looks] == sorted((look.per_minute for look in looks), reverse=True)
    left = {finding.look for finding in net.findings if finding.look and finding.key not in seen}
    assert {look.look.key for look in looks} == left
    for look in looks:
        assert look.value >= 0
        opening = net.opening_minutes if look.look.needs_open and not costs.is_open else 0
        assert look.minutes == look.look.minutes + opening
        assert look.cost == pytest.approx(look.minutes * costs.minute)
        assert look.worth_it == (look.value > look.cost)


@UNHURRIED
@given(nets_with_sights(), COSTS)
def test_unseen_or_look_weighs_the_three_ways(case: tuple[Net, dict[str, bool]], costs: Costs) -> None:
    net, seen = case
    for way in unseen_or_look(net, seen, costs):
        said = [finding for finding in net.said if seen.get(finding.key)]
        chance = posterior(net, seen).of(way.fault.key).probability
        assert way.leave == pytest.approx(costs.of_leaving(way.fault, said) * chance, abs=CENT)
        assert way.unseen == pytest.approx(costs.to_mend(way.fault))
        looks = [
            costs.minute * look.minutes + least_spent(net, seen, costs, look.key)[way.fault.key][1]
            for look in net.looks
            if any(f.links.get(way.fault.key) for f in net.shown_by(look.key) if f.key not in seen)
        ]
        assert way.look_first == pytest.approx(min(looks, default=inf), abs=CENT)
        if way.best == "unseen":
            assert way.fault.renew_unseen or way.look is None


def bench(*, minutes: float, price: float, renew_unseen: bool = True) -> Net:
    """A worn washer with an even chance, and a look that shows it for sure."""
    washer = Fault("worn", "worn washers", 0.5, "Renew", 5, Quantity.exact(price), renew_unseen=renew_unseen)
    look = Look("washers", "Look at the washers", minutes)
    return Net((washer,), (look,), (Finding("thin", "thin", 0.0, {"worn": 1.0}, look="washers"),))


def test_a_cheap_part_is_renewed_unseen_and_a_dear_one_looked_at() -> None:
    """By hand, minute 1, comeback 60. Cheap: unseen 15, look 10 + 15/2 = 17.5. Dear: unseen 45, look 10 + 45/2."""
    costs = Costs(1.0, 60.0)
    cheap = unseen_or_look(bench(minutes=10, price=10), {}, costs)[0]
    assert (cheap.best, cheap.unseen, cheap.look_first) == ("unseen", 15.0, 17.5)
    dear = unseen_or_look(bench(minutes=10, price=40), {}, costs)[0]
    assert (dear.best, dear.unseen, dear.look_first) == ("look", 45.0, 32.5)


def test_a_part_not_sensible_to_renew_unseen_is_looked_at_first() -> None:
    way = unseen_or_look(bench(minutes=10, price=10, renew_unseen=False), {}, Costs(1.0, 60.0))[0]
    assert way.unseen < way.look_first and way.best == "look"


def test_once_every_look_is_done_only_the_two_ways_are_left() -> None:
    way = unseen_or_look(bench(minutes=10, price=10, renew_unseen=False), {"thin": True}, Costs(1.0, 60.0))[0]
    assert (way.look, way.best) == (None, "unseen")
    assert next_looks(bench(minutes=10, price=10), {"thin": True}, Costs(1.0, 60.0)) == ()


def test_a_look_that_settles_everything_is_worth_the_mistakes_it_saves() -> None:
    """By hand: without it renew for 15; with it renew half the time: 7.5 saved."""
    (look,) = next_looks(bench(minutes=10, price=10), {}, Costs(1.0, 60.0))
    assert (look.value, look.per_minute, look.worth_it) == (pytest.approx(7.5), pytest.approx(0.75), False)


def test_a_quick_look_worth_a_little_comes_before_a_slow_one_worth_more() -> None:
    """By hand, minute 0, comeback 60: each settles its fault for sure; the dearer fault saves more, in more minutes."""
    cheap, dear = (Fault(key, key, 0.5, parts=Quantity.exact(price)) for key, price in (("cheap", 10), ("dear", 20)))
    looks = (Look("slow", "Look long", 10), Look("quick", "Look briefly", 1))
    findings = (Finding("a", "a", 0, {"dear": 1.0}, look="slow"), Finding("b", "b", 0, {"cheap": 1.0}, look="quick"))
    quick, slow = next_looks(Net((cheap, dear), looks, findings), {}, Costs(0.0, 60.0))
    assert (quick.look.key, quick.value) == ("quick", pytest.approx(5.0))
    assert (slow.look.key, slow.value) == ("slow", pytest.approx(10.0))


def test_a_fault_the_owner_complained_of_costs_more_to_leave() -> None:
    """By hand: noticed 0.2 and link 0.5 to what he said: met with 1 − 0.8 · 0.5; unasked: 0.2; no complaint: 1."""
    worn, loose = Fault("worn", "worn", 0.3), Fault("loose", "loose", 0.3)
    said = Finding("said", "he says it slips", 0.05, {"worn": 0.5})
    costs = Costs(1.0, 100.0, noticed=0.2)
    assert costs.of_leaving(worn, [said]) == pytest.approx(60.0)
    assert costs.of_leaving(loose, [said]) == pytest.approx(20.0)
    assert costs.of_leaving(loose, []) == pytest.approx(100.0)


def test_the_shop_s_own_price_of_a_mend_counts_before_the_family_s() -> None:
    net = bench(minutes=10, price=10)
    assert Costs(1.0, 60.0).to_mend(net.faults[0]) == 15.0
    assert Costs(1.0, 60.0, mend={"worn": 7.0}).to_mend(net.faults[0]) == 7.0


def test_the_reason_names_what_is_told_apart_and_the_minutes() -> None:
    """Two faults behind one complaint, and a look that shows one of them: it splits them."""
    worn = Fault("worn", "worn washers", 0.3, minutes=10)
    dry = Fault("dry", "a dry bearing", 0.3, minutes=10)
    rough = Finding("rough", "it is rough", 0.001, {"worn": 0.8, "dry": 0.8})
    thin = Finding("thin", "thin washers", 0.01, {"worn": 0.95}, look="washers")
    net = Net((worn, dry), (Look("washers", "Look", 2, needs_open=True),), (rough, thin), opening_minutes=6)
    (look,) = next_looks(net, {"rough": True}, Costs(1.0, 30.0, is_open=True))
    assert reason(look) == "splits worn washers from a dry bearing, 2 minutes"
    (look,) = next_looks(net, {}, Costs(1.0, 30.0))
    assert reason(look) == "settles worn washers, 8 minutes with opening the reel"


@pytest.mark.parametrize(
    "costs",
    [
        lambda: Costs(-1, 60),
        lambda: Costs(1, float("nan")),
        lambda: Costs(1, inf),
        lambda: Costs(1, 60, 1.5),
        lambda: Costs(1, 60, mend={"worn": -1}),
    ],
)
def test_money_that_makes_no_sense_is_refused(costs: object) -> None:
    with pytest.raises(InputError):
        costs()  # type: ignore[operator]


def test_a_look_that_may_show_too_much_is_refused() -> None:
    look = Look("all", "Look at everything", 1)
    findings = tuple(Finding(f"s{i}", "s", 0.1, {"f": 0.5}, look="all") for i in range(8))
    with pytest.raises(InputError, match="up to 7"):
        next_looks(Net((Fault("f", "f", 0.5),), (look,), findings), {}, Costs(1, 1))


def test_a_fault_that_no_look_tells_apart_asks_nothing_more() -> None:
    """A look is left that shows the fault a little, but never so that the choice would change: mend 2, leave 31."""
    worn = Fault("worn", "worn", 0.5, "Renew", 2, Quantity.exact(0))
    faint = Finding("faint", "faint", 0.4, {"worn": 0.2}, look="look")
    (look,) = next_looks(Net((worn,), (Look("look", "Look", 3),), (faint,)), {}, Costs(1.0, 60.0))
    (way,) = unseen_or_look(Net((worn,), (Look("look", "Look", 3),), (faint,)), {}, Costs(1.0, 60.0))
    assert look.value == pytest.approx(0) and not look.tells
    assert (way.look, way.best, way.leave) == (None, "unseen", pytest.approx(31))


def test_a_way_in_counts_instead_of_the_opening() -> None:
    net = Net((Fault("worn", "worn", 0.5),), (Look("look", "Look", 3, True),), (), opening_minutes=5)
    assert Costs(1.0, 60.0).minutes_for(net, net.looks[0]) == 8
    assert Costs(1.0, 60.0, ways_in={"look": 1.5}).minutes_for(net, net.looks[0]) == 4.5
