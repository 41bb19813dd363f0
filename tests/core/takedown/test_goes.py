"""Goes of the hand: what one press may tick, and the clock that is read off the presses."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.takedown import Gate, Refit, Step, Tick, goes, goes_back, own_minutes, times_taken

PLAIN = Step(key="a", do="Undo it.", frees=("a",), minutes=0.3)
WARNED = replace(PLAIN, key="w", cautions=("springs",))
AHEAD, AFTER = Gate("ahead", "Is it?", "Why."), Gate("after", "Is it?", "Why.")
AHEAD = replace(AHEAD, ahead=True)


def keys(made):
    return [[getattr(one, "step", one).key for one in go] for go in made]


def back(*steps):
    return [Refit(step, step.frees) for step in steps]


@given(st.lists(st.tuples(st.floats(0.1, 3.0), st.sampled_from(["", "x", "y", "z"]), st.integers(1, 4)), max_size=15))
def test_every_step_stands_in_one_go_in_its_order_with_no_more_than_is_read(drawn):
    steps = [
        replace(
            PLAIN, key=f"s{n}", frees=tuple(f"p{n}-{i}" for i in range(count)), minutes=took, cautions=tuple(warned)
        )
        for n, (took, warned, count) in enumerate(drawn)
    ]
    made = goes(steps)
    assert [step for go in made for step in go] == steps
    for go in made:
        assert len({caution for step in go for caution in step.cautions}) <= 2 or len(go) == 1
        assert len(go) == 1 or (len(go) <= 5 and sum(len(step.frees) for step in go) <= 6)
        assert len(go) == 1 or sum(len(step.do) for step in go) <= 350


def test_a_go_back_holds_no_more_gates_and_cautions_than_are_read():
    asked, answered = replace(PLAIN, key="b", gates=(AHEAD,)), replace(PLAIN, key="c", gates=(AFTER,))
    assert keys(goes_back(back(PLAIN, asked, answered, WARNED))) == [["a", "b", "c", "w"]]
    assert keys(goes_back(back(asked, answered, asked, asked))) == [["b", "c", "b"], ["b"]]
    clip, dust = replace(WARNED, key="x", cautions=("clips",)), replace(WARNED, key="d", cautions=("dust",))
    assert keys(goes_back(back(WARNED, clip, dust))) == [["w", "x"], ["d"]]
    assert keys(goes_back(back(asked, WARNED, clip))) == [["b", "w", "x"]]
    assert keys(goes_back(back(asked, answered, WARNED, clip))) == [["b", "c", "w"], ["x"]]
    assert keys(goes_back(back(asked, answered, asked, WARNED, clip))) == [["b", "c", "b", "w"], ["x"]]
    told = replace(PLAIN, key="t", back="x" * 250)
    assert keys(goes_back(back(told, PLAIN, told))) == [["t", "a"], ["t"]]
    assert keys(goes_back(back(PLAIN, PLAIN, PLAIN), lambda refit: True)) == [["a"], ["a"], ["a"]]


def test_a_pause_that_nobody_told_counts_for_nothing_and_ticks_in_a_row_share_their_time():
    ticks = [("first", 0.0, 1.0), ("a", 4.0, 1.0), ("b", 4.02, 3.0), ("lunch", 64.0, 1.0), ("c", 66.0, 1.0)]
    took = times_taken(Tick(*one) for one in ticks)
    assert set(took) == {"a", "b", "c"}
    assert (round(took["a"], 3), round(took["b"], 3), took["c"]) == (1.005, 3.015, 2.0)


def test_one_pause_taken_for_work_does_not_move_the_benchs_own_minutes():
    reels = [{"a": 1.0}, {"a": 1.2}, {"a": 9.9}]
    assert own_minutes(reels)["a"].minutes == 1.2
    assert own_minutes(reels[:2]) == {}
