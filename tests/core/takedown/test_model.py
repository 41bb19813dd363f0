import pytest

from levelwind.core.errors import InputError
from levelwind.core.takedown import Gate, Rules, full, rebuild
from tests.core.takedown.reels import place, reel, step

GATE = Gate("same", "Well?", "Because.")


@pytest.mark.parametrize(
    ("places", "steps", "finish", "complaint"),
    [
        (["a", "a"], [step("a")], (), "place key was a twice"),
        (["a"], [step("a", key="s"), step("a", key="s")], (), "step key was s twice"),
        (["a"], [step("a", gates=(GATE,))], (GATE,), "gate key was same twice"),
        (["a"], [step("a b")], (), "places freed by free_a_b was b"),
        (["a"], [step("a", after="b")], (), "places before free_a was b"),
        (["a"], [step("a", after_any=("a", "b"))], (), "places before free_a was b"),
        (["a"], [step("", key="s")], (), "places freed by s was none"),
        (["a"], [step("a", -1)], (), "minutes of free_a was -1"),
        (["a"], [step("a", float("nan"))], (), "minutes of free_a was nan"),
        (["a"], [step("a", 1e300)], (), "minutes of free_a"),
        (["a"], [step("a", key=f"s{n}") for n in range(301)], (), "number of takedown steps was 301"),
    ],
)
def test_rules_that_make_no_sense_are_refused_by_name(places, steps, finish, complaint):
    with pytest.raises(InputError, match=complaint):
        Rules(tuple(place(key) for key in places), tuple(steps), finish)


def test_an_unknown_look_alike_is_refused():
    with pytest.raises(InputError, match="look-alikes of a was b"):
        Rules((place("a", look_alikes=frozenset({"b"})),), (step("a"),))


def test_a_reel_that_lacks_a_place_comes_apart_and_together_without_it():
    rules = reel(step("clamp"), step("foot pad", after="clamp"), step("post", after="foot"))
    bare = rules.without(frozenset({"clamp", "pad"}))
    assert [s.frees for s in full(bare).steps] == [("foot",), ("post",)]
    assert [r.places for r in rebuild(bare, frozenset({"foot", "post"})).steps] == [("post",), ("foot",)]


def test_an_absent_look_alike_is_forgotten():
    rules = Rules((place("a", look_alikes=frozenset({"b"})), place("b")), (step("a"), step("b")))
    assert rules.without(frozenset({"b"})).place("a").look_alikes == frozenset()


def test_names_follow_a_tuple_as_given_and_a_set_as_in_the_rules():
    rules = reel(step("dog"), step("dog_spring"))
    assert rules.names(("dog_spring", "dog")) == ("dog spring", "dog")
    assert rules.names(frozenset({"dog_spring", "dog"})) == ("dog", "dog spring")
