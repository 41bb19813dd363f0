from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.takedown import reach
from tests.core.takedown.reels import reel, step

HANDLE_AND_TAIL = reel(
    step("handle"),
    step("tail_cap"),
    step("star", after="handle"),
    step("tail_bearing", after="tail_cap"),
    handle="head side",
    star="head side",
    tail_cap="tail side",
    tail_bearing="tail side",
)


def test_the_hand_stays_on_one_assembly_as_long_as_it_can():
    keys = [s.key for s in reach(HANDLE_AND_TAIL, ["tail_bearing", "star"]).steps]
    assert keys == ["free_handle", "free_star", "free_tail_cap", "free_tail_bearing"]


@settings(deadline=None)
@given(st.permutations(["handle", "star", "tail_cap", "tail_bearing"]))
def test_the_order_of_asking_does_not_matter(asked):
    assert reach(HANDLE_AND_TAIL, asked) == reach(HANDLE_AND_TAIL, ["star", "tail_bearing", "handle", "tail_cap"])


def test_each_step_says_what_it_is_done_for():
    assert reach(HANDLE_AND_TAIL, ["star"]).why == ("in the way of the star", "asked for")


def test_the_reason_is_the_step_that_could_not_be_done_without_it():
    rules = reel(step("lid"), step("hatch"), step("dog", after_any=("lid", "hatch")), step("gear", after="lid hatch"))
    assert reach(rules, ["dog", "gear"]).why == (
        "in the way of the gear",
        "in the way of the gear",
        "asked for",
        "asked for",
    )
