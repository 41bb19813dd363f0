"""The looks at an unknown reel, as shipped: whole, and each family named by what it shows most often."""

from collections.abc import Mapping

import pytest

from levelwind.core.errors import InputError
from levelwind.core.naming import Key, Sights, all_kinds, name_reel, next_looks
from levelwind.reference.families import families
from levelwind.reference.unknown_reels import commonness, looks_at_unknown, read_looks

KEY = Key(looks_at_unknown(), all_kinds(commonness(), ()))
FACTS = {
    "star_drag": {"drag": "star", "let_go": "side_lever", "level_wind": "no", "body": "plates"},
    "round_casting": {"drag": "star", "let_go": "thumb_bar", "level_wind": "yes", "body": "plates"},
    "low_profile": {"drag": "star", "level_wind": "yes", "body": "low"},
    "lever_drag": {"drag": "lever", "hub_button": "no", "body": "plates"},
    "lever_drag_two_speed": {"drag": "lever", "hub_button": "yes"},
    "electric": {"motor": "yes", "level_wind": "yes"},
    "fixed_spool": {"spool": "still", "drag": "front", "pick_up": "bail", "back": "at_once", "rear_lever": "no"},
    "fixed_spool_rear": {"spool": "still", "drag": "back", "spool_off": "latch", "rear_lever": "no"},
    "fixed_spool_free_run": {"spool": "still", "rear_lever": "yes", "drag": "front"},
    "fixed_spool_vintage": {"spool": "still", "pick_up": "half", "drag": "front", "back": "a_little"},
    "closed_face": {"spool": "covered", "let_go": "push_button"},
    "fly": {"crank": "on_spool", "drag": "frame", "click": "smooth", "ratio": "once"},
    "fly_click": {"crank": "on_spool", "drag": "none", "click": "click", "spool_off": "latch"},
    "single_action": {"crank": "on_spool", "drag": "none", "spool_off": "nut", "metal": "brass"},
    "centre_pin": {"crank": "on_spool", "runs": "long", "click": "free", "shape": "narrow"},
    "side_cast": {"spool": "tips", "crank": "on_spool"},
}
"""What the trade tells each family by: common practice, no source."""


def test_every_family_is_there_at_every_look() -> None:
    assert set(FACTS) == set(families()) == set(commonness())
    assert sum(commonness().values()) == pytest.approx(1)
    for look in looks_at_unknown():
        assert set(look.odds) == set(families()), look.key


@pytest.mark.parametrize("family", FACTS)
def test_the_trades_own_facts_name_the_family(family: str) -> None:
    found = name_reel(KEY, Sights(FACTS[family])).families
    assert next(iter(found)) == family, found


def test_few_looks_name_a_plain_reel() -> None:
    """A reel that answers as most of its family do is named in a handful of quick looks."""
    taken = {}
    for family in families():
        answers: dict[str, str] = {}
        while (left := next_looks(KEY, Sights(answers))) and _surest(answers) < 0.9:
            look = KEY.look(left[0].key)
            answers[look.key] = max(zip(look.odds[family], look.answers, strict=True), key=lambda pair: pair[0])[1].key
        assert next(iter(name_reel(KEY, Sights(answers)).families)) == family, answers
        taken[family] = len(answers)
    assert max(taken.values()) <= 16 and sum(taken.values()) / len(taken) <= 8, taken


def _surest(answers: dict[str, str]) -> float:
    return max(name_reel(KEY, Sights(answers)).families.values())


def a_file(**changed: str) -> str:
    said = {"odds": "fly = [60, 40]", "answers": '["yes", "no"]', "common": "fly = 1"} | changed
    return f"""
[common]
{said["common"]}
[[look]]
key = "x"
ask = "?"
do = "!"
minutes = 0.1
names = ["yes", "no"]
answers = {said["answers"]}
[look.odds]
{said["odds"]}
"""


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"odds": "fly = [60, 60]"}, "add up to 1"),
        ({"odds": "fly = [140, -40]"}, "from 0 to 1"),
        ({"odds": "fly = [60, 40]\nmoon = [60, 40]"}, "moon"),
        ({"odds": ""}, "without fly"),
        ({"answers": '["yes"]'}, "as many"),
        ({"answers": '["yes", "yes"]'}, "not there yet"),
        ({"common": ""}, "absent"),
        ({"common": "fly = 1\nmoon = 1"}, "moon"),
    ],
)
def test_a_bad_file_is_refused_in_words(changed: Mapping[str, str], says: str) -> None:
    assert read_looks(a_file(), ("fly",))[1][0].odds["fly"] == (0.6, 0.4)
    with pytest.raises(InputError, match=says):
        read_looks(a_file(**changed), ("fly",))
