import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.takedown import full, reach
from tests.core.takedown.reels import cheapest_by_trying_all, cheapest_by_uniform_cost, reached_by, reel, reels, step
from tests.full_size import cases


@settings(max_examples=cases(60, 300), deadline=None)
@given(reels(), st.data())
def test_no_set_of_steps_is_cheaper_or_as_cheap_with_fewer_steps(rules, data):
    keys = [place.key for place in rules.places]
    wanted = data.draw(st.frozensets(st.sampled_from(keys), min_size=1))
    off = data.draw(st.frozensets(st.sampled_from(keys), max_size=2))
    best = cheapest_by_trying_all(rules, wanted, off)
    if best is None:
        with pytest.raises(InputError, match="the way to"):
            reach(rules, wanted, off)
        return
    way = reach(rules, wanted, off)
    assert (round(way.minutes, 9), len(way.steps)) == best
    assert way.minutes == pytest.approx(sum(s.minutes for s in way.steps), abs=1e-12)
    done = set(off)
    for s in way.steps:
        assert reached_by((s,), done) >= set(s.frees), "a step stands before something it needs"
        done |= set(s.frees)
    assert wanted <= done


def test_work_shared_by_two_goals_counts_once():
    rules = reel(
        step("lid", 5),
        step("left_hatch", 3),
        step("right_hatch", 3),
        step("gear", 1, after_any=("lid", "left_hatch")),
        step("dog", 1, after_any=("lid", "right_hatch")),
    )
    assert reach(rules, ["gear"]).minutes == 4
    assert reach(rules, ["gear", "dog"]).minutes == 7


def test_a_circle_that_seems_to_meet_its_own_needs_is_not_taken_for_a_way_in():
    rules = reel(step("gear spring", 1, "dog"), step("dog", 1, "spring"), step("spring", 9, "cap"), step("cap", 1))
    assert [s.key for s in reach(rules, ["gear"]).steps] == ["free_cap", "free_spring", "free_dog", "free_gear_spring"]


def test_what_is_off_already_is_not_taken_off_again():
    rules = reel(step("handle"), step("plate", after="handle"), step("gear", after="plate"))
    assert [s.key for s in reach(rules, ["gear"], frozenset({"handle"})).steps] == ["free_plate", "free_gear"]
    assert reach(rules, ["handle"], frozenset({"handle"})).steps == ()


def test_full_takes_everything_off():
    rules = reel(step("a b"), step("c", after="b"))
    assert reached_by(full(rules).steps, ()) == {"a", "b", "c"}


def test_a_circle_is_refused_by_name():
    rules = reel(step("bridge", after="main_gear"), step("main_gear", after="dog"), step("dog", after="main_gear"))
    with pytest.raises(InputError, match="main gear waits for dog waits for main gear"):
        reach(rules, ["bridge"])


def test_a_circle_with_another_way_round_is_no_obstacle():
    rules = reel(step("bridge", after="main_gear"), step("main_gear", after_any=("bridge", "hatch")), step("hatch"))
    assert reach(rules, ["bridge"]).minutes == 3


def test_a_place_nothing_frees_is_refused_by_name():
    with pytest.raises(InputError, match="no step frees cover"):
        reach(reel(step("gear", after="cover")), ["gear"])


def test_an_unknown_place_is_refused_with_what_is_known():
    with pytest.raises(InputError, match=r"'sprocket'.*gear"):
        reach(reel(step("gear")), ["sprocket"])


@pytest.mark.parametrize("seed", range(12))
def test_reels_with_a_choice_at_every_step_agree_with_uniform_cost_search(seed):
    dice = random.Random(seed)

    def some(number, most):
        return " ".join(f"p{n}" for n in dice.sample(range(number), min(number, most)))

    rules = reel(
        *(
            step(f"p{n}", dice.randint(1, 20) / 10, some(n, dice.randint(0, 1)), [some(n, 2) for _ in range(2)])
            for n in range(13)
        )
    )
    assert reach(rules, ["p12"]).minutes == pytest.approx(cheapest_by_uniform_cost(rules, {"p12"}), abs=1e-9)


def test_seventy_steps_with_a_choice_at_each_are_settled():
    """Too many to try: the answer must still be a takedown, and no single step of it may be spare."""
    dice = random.Random(3)
    rules = reel(
        *(
            step(
                f"p{n}",
                dice.randint(1, 20) / 10,
                after_any=[f"p{dice.randrange(n)} p{dice.randrange(n)}"] * 2 if n else (),
            )
            for n in range(35)
        ),
        *(step(f"p{n}", dice.randint(1, 20) / 10, f"p{dice.randrange(n)}", key=f"round_{n}") for n in range(1, 36)),
    )
    steps = reach(rules, ["p33", "p34"]).steps
    assert reached_by(steps, ()) >= {"p33", "p34"}
    for spare in steps:
        assert not reached_by([s for s in steps if s != spare], ()) >= {"p33", "p34"}
