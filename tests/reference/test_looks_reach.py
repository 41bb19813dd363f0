"""A look's minutes are its own and those of the takedown's steps on the way to what it looks at."""

import pytest

from levelwind.core.hunches import Costs, next_looks, opened
from levelwind.core.takedown import reach
from levelwind.reference.families import families, family
from levelwind.reference.faults import load_net, minutes_to_looks, open_places


@pytest.mark.parametrize("key", families())
def test_the_way_in_is_the_takedown_s_own(key: str) -> None:
    net, rules = load_net(key), family(key).rules
    ways = minutes_to_looks(key)
    assert {look.key for look in net.looks if look.needs_open} <= set(ways)
    for look in net.looks:
        if look.reach:
            assert ways[look.key] == pytest.approx(reach(rules, look.reach).minutes)
    for look in next_looks(net, {}, Costs(0.8, 60.0, ways_in=ways)):
        assert look.minutes == look.look.minutes + ways.get(look.look.key, 0.0)


@pytest.mark.parametrize("key", families())
def test_on_an_open_reel_the_opening_is_spared(key: str) -> None:
    net, rules = load_net(key), family(key).rules
    whole, left = minutes_to_looks(key), minutes_to_looks(key, open_places(key))
    assert opened(net, rules) == open_places(key) >= set(net.opening)
    assert net.opening_minutes == pytest.approx(reach(rules, net.opening).minutes)
    assert all(left[look] <= whole[look] <= left[look] + net.opening_minutes + 1e-9 for look in whole)


def test_ten_steps_to_a_star_drag_s_washers_take_as_long_as_the_takedown_says() -> None:
    """Ten steps, 6.9 minutes by the family's takedown, and two to look at both faces of each."""
    way = reach(family("star_drag").rules, load_net("star_drag").look("washers").reach)
    assert (len(way.steps), round(way.minutes, 2)) == (10, 6.9)
    looks = next_looks(load_net("star_drag"), {}, Costs(0.8, 60.0, ways_in=minutes_to_looks("star_drag")))
    assert next(look.minutes for look in looks if look.look.key == "washers") == pytest.approx(8.9)


def test_what_the_pattern_lacks_is_no_work() -> None:
    lacking = minutes_to_looks("star_drag", frozenset(), frozenset({"tail_bearing", "head_bearing"}))
    assert lacking["bearings"] == 0.0
