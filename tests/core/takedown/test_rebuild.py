import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.takedown import Gate, Rules, reach, rebuild
from tests.core.takedown.reels import cheapest_by_trying_all, reached_by, reel, reels, step
from tests.full_size import cases

TOLD_APART = Gate("told_apart", "Are the washers told apart?", "They look alike.", ahead=True)
STARTED = Gate("started", "Is every screw started?", "Or the plate tilts.")
TRAY = Gate("tray", "Is the tray empty?", "Or a piece is missing.")
SCREWS, PLATE = step("screws", gates=(STARTED,)), step("plate", after="screws")
WASHERS = step("top bottom", after="plate", gates=(TOLD_APART,))
REEL = reel(SCREWS, PLATE, WASHERS)
GATED = Rules(REEL.places, REEL.steps, (TRAY,))
ALL = frozenset({"screws", "plate", "top", "bottom"})


def test_last_off_is_first_in():
    assert [refit.places for refit in rebuild(GATED, ALL).steps] == [("bottom", "top"), ("plate",), ("screws",)]


def test_gates_stand_in_the_order_they_are_met_and_the_tray_comes_last():
    assert rebuild(GATED, ALL).gates == (TOLD_APART, STARTED, TRAY)


def test_what_is_asked_ahead_of_a_step_comes_before_what_is_asked_after_it():
    rules = reel(step("screws", gates=(STARTED, TOLD_APART)))
    assert rebuild(rules, frozenset({"screws"})).gates == (TOLD_APART, STARTED)


@pytest.mark.parametrize(
    ("confirmed", "allowed", "waiting"),
    [
        ("", [], "told_apart"),
        ("told_apart", ["top bottom", "plate", "screws"], "started"),
        ("told_apart started", ["top bottom", "plate", "screws"], "tray"),
        ("told_apart started tray", ["top bottom", "plate", "screws"], None),
    ],
)
def test_nothing_beyond_an_unconfirmed_gate_is_allowed(confirmed, allowed, waiting):
    way = rebuild(GATED, ALL)
    confirmed = frozenset(confirmed.split())
    assert [" ".join(refit.step.frees) for refit in way.allowed(confirmed)] == allowed
    gate = way.waiting(confirmed)
    assert (gate and gate.key) == waiting


def test_a_gate_after_its_step_lets_that_step_be_done_and_no_more():
    rules = reel(step("plate"), step("washers", after="plate", gates=(STARTED,)))
    way = rebuild(rules, frozenset({"plate", "washers"}))
    assert [refit.places for refit in way.allowed(frozenset())] == [("washers",)]
    assert len(way.allowed(frozenset({"started"}))) == 2


def test_a_step_half_done_names_only_what_is_still_out():
    assert rebuild(GATED, ALL - {"bottom"}).steps[0].places == ("top",)


def test_a_cover_put_on_too_early_is_named_as_coming_off_again():
    way = rebuild(GATED, frozenset({"top", "bottom"}))
    assert way.off_again == (SCREWS, PLATE)
    assert [refit.step for refit in way.steps] == [WASHERS, PLATE, SCREWS]


def test_nothing_off_needs_no_rebuild_but_the_last_gates_still_stand():
    assert (rebuild(GATED, frozenset()).steps, rebuild(GATED, frozenset()).gates) == ((), (TRAY,))


@settings(max_examples=cases(40, 150), deadline=None)
@given(reels(), st.data())
def test_a_takedown_can_be_undone_in_the_order_the_rebuild_gives(rules, data):
    """At every moment of the rebuild, what is still out could have been taken out from there on."""
    keys = [place.key for place in rules.places]
    wanted = data.draw(st.frozensets(st.sampled_from(keys), min_size=1))
    if cheapest_by_trying_all(rules, wanted, frozenset()) is None:
        with pytest.raises(InputError):
            rebuild(rules, wanted)
        return
    off = frozenset(key for s in reach(rules, wanted).steps for key in s.frees)
    way = rebuild(rules, off)
    assert {key for refit in way.steps for key in refit.places} == off
    assert way.off_again == ()
    for done in range(len(way.steps)):
        left = [refit.step for refit in reversed(way.steps[done:])]
        for number, s in enumerate(left):
            assert set(s.frees) <= reached_by(left[: number + 1], ())
