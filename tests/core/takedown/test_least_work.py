import random
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.takedown import choices, compute, diagram, full, programme, reach
from levelwind.core.takedown.choices import cheapest_ways
from levelwind.core.takedown.report import not_proven
from levelwind.core.takedown.ways import Way
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


def random_ways(seed, places, ways, before_each, circles=0.0, along=0.0):
    """Each place after some of those before it, by several ways; now and then after one that comes later, or with one
    coming off along with it."""
    dice = random.Random(seed)
    found = []
    for n in range(places):
        off = {n, dice.randrange(n, places)} if along and dice.random() < along else {n}
        for number in range(ways if n else 1):
            pool = [k for k in range(places) if k != n] if number and dice.random() < circles else range(n)
            after = dice.sample(pool, min(len(pool), dice.choice(before_each)))
            found.append(Way(n, frozenset(f"p{k}" for k in after), frozenset(f"p{k}" for k in off)))
    return found, [dice.randint(1, 30) / 10 for _ in range(places)], frozenset({f"p{places - 1}", f"p{places // 2}"})


@pytest.mark.parametrize("seed", range(6))
def test_place_by_place_and_the_whole_programme_agree_to_the_step(seed):
    problem = random_ways(seed, 22, 3, (1, 2, 2), along=0.4)
    by_places = cheapest_ways(*problem)
    with patch.object(choices, "order_without_circle", return_value=None):
        assert cheapest_ways(*problem).steps == by_places.steps
    assert by_places.at_least_min == pytest.approx(sum(problem[1][step] for step in by_places.steps))


@pytest.mark.parametrize("circles", [0.0, 0.2])
def test_without_room_to_prove_it_the_answer_is_a_way_in_and_its_floor_is_below_the_least(circles):
    for seed in range(8):
        problem = random_ways(seed, 24, 4, (1, 2), circles)
        least = cheapest_ways(*problem)
        with patch.object(diagram, "MOST_TRIED", 20), patch.object(programme, "SECONDS", 0.0):
            told = cheapest_ways(*problem)
        spent, minutes = sum(problem[1][step] for step in told.steps), problem[1]
        assert told.at_least_min - 1e-9 <= sum(minutes[step] for step in least.steps) <= spent + 1e-9
        assert told.at_least_min > 0
        rules = reel(*(step(f"p{w.step}", after_any=[" ".join(w.after)], key=f"{n}") for n, w in enumerate(problem[0])))
        done = [s for s, way in zip(rules.steps, problem[0], strict=True) if way.step in told.steps]
        assert reached_by(done, ()) >= problem[2]


def test_a_hundred_and_fifty_places_with_eight_ways_at_each_are_proven():
    problem = random_ways(1, 150, 8, (1, 2))
    settled = cheapest_ways(*problem)
    assert settled.at_least_min == pytest.approx(sum(problem[1][step] for step in settled.steps))


def test_what_is_not_proven_says_what_might_be_saved():
    with patch.object(compute, "least_work", lambda rules, *_: (rules.steps, 0.96)):
        way = reach(reel(step("lid", 1.0), step("gear", 1.0, "lid")), ["gear"])
    assert not way.proven and way.gap_min == pytest.approx(1.04)
    assert "might save up to 1.1 minutes" in not_proven(way)


def test_a_place_that_came_off_along_with_another_is_not_paid_for_again():
    rules = reel(
        step("a z", 5),
        step("b", 10),
        step("p", 1, after_any=("a", "b")),
        step("z", 1, "p", key="free_z_behind"),
    )
    assert cheapest_by_trying_all(rules, frozenset("zp"), frozenset()) == (6, 2)
    assert reach(rules, ["z", "p"]).minutes == 6
