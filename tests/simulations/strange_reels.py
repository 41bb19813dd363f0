"""Made-up reels held out for "none of these": other odd things, another mix of families, and other eyes.

Nothing in the program was set on these. `unknown_reels` builds an odd reel of two, look by look, and people there err
by any answer; here odd things are described one by one, reels of two go by whole assemblies, and people mistake what
lies near, see what they are used to, guess in haste, or look at a reel that lacks pieces. Shops differ in their reels.
"""

from collections.abc import Mapping

import numpy as np

from tests.simulations.unknown_reels import (
    ALL,
    COMES_IN,
    NO_EXTRAS,
    Dice,
    MadeReel,
    Seen,
    _of_family,
    _old_repair,
    _pick,
)

NEAR: Mapping[str, tuple[tuple[str, str], ...]] = {
    "spool": (("turns", "tips"), ("still", "covered")),
    "drag": (("star", "wheel"), ("front", "frame"), ("none", "frame"), ("none", "wheel"), ("back", "lever")),
    "body": (("plates", "cage"), ("plates", "low"), ("box", "low")),
    "screws": (("round", "single"), ("single", "none"), ("cover", "single")),
    "knob": (("plastic", "soft"), ("plastic", "old"), ("old", "metal")),
    "metal": (("brass", "cast"), ("cast", "machined"), ("cast", "plastic")),
    "ratio": (("once", "low"), ("low", "middle"), ("middle", "high")),
    "back": (("at_once", "a_little"), ("a_little", "turns")),
    "let_go": (("side_lever", "drag_lever"), ("thumb_bar", "push_button"), ("side_lever", "nothing")),
    "pick_up": (("bail", "half"), ("half", "pin")),
    "size": (("small", "hand"), ("hand", "large")),
    "shape": (("narrow", "between"), ("between", "wide")),
    "runs": (("long", "some"), ("some", "hardly")),
    "spool_off": (("latch", "nut"), ("nut", "knob"), ("nut", "plate")),
    "click": (("smooth", "free"), ("smooth", "click")),
}
"""Answers that are taken for one another; looks that are not here are yes and no, or plain to anybody."""
HAND = ("crank", "knob", "ratio", "back", "drag", "click")
"""What belongs to the side of the handle, where two reels were made one."""
LACKING = (
    ("knob",),
    ("pick_up", "let_go"),
    ("spool", "spool_off", "runs", "shape"),
    ("crank", "knob", "ratio", "back"),
)
"""What cannot be told where a knob, a bail, the spool or the handle is gone."""


def a_strange_mix(dice: Dice) -> MadeReel:
    """A reel of one shop of many: of a family, or one of 3 to 12 in a hundred that are of none."""
    shop = np.random.default_rng(int(dice.integers(20)))
    odd, weights = shop.uniform(0.03, 0.12), shop.gamma(1.5, size=len(COMES_IN)) * list(COMES_IN.values())
    if dice.random() < odd:
        year, seen = odd_thing(dice)
        return MadeReel("", year, seen, as_seen(dice, seen))
    family = str(dice.choice(list(COMES_IN), p=weights / weights.sum()))
    year, seen = _of_family(dice, family)
    seen = _old_repair(dice, seen, year)
    return MadeReel(family, year, seen, as_seen(dice, seen))


def odd_thing(dice: Dice) -> tuple[int, Seen]:
    """Something that no family is built like."""
    year = int(dice.integers(1910, 2015))
    if dice.random() < 0.35:
        return year, _of_two_assemblies(dice)
    anything = {look: str(dice.choice(answers)) for look, answers in ALL.items()} | NO_EXTRAS
    return year, anything | {look: str(dice.choice(ways)) for look, ways in _one_of(dice, *ODD_THINGS).items()}


def _one_of(dice: Dice, *things: Mapping[str, tuple[str, ...]]) -> Mapping[str, tuple[str, ...]]:
    return things[int(dice.integers(len(things)))]


def _of_two_assemblies(dice: Dice) -> Seen:
    first, second = dice.choice(list(COMES_IN), 2, replace=False)
    (_, one), (_, other) = _of_family(dice, str(first)), _of_family(dice, str(second))
    return {look: (other if look in HAND else one)[look] for look in one}


ODD_THINGS: tuple[Mapping[str, tuple[str, ...]], ...] = (
    {  # a winch for a lead on a wire, clamped to a rail
        **{"spool": ("turns",), "crank": ("one_knob",), "body": ("cage", "plates"), "foot": ("short",)},
        **{"size": ("large",), "drag": ("lever", "wheel", "none"), "pick_up": ("none",), "screws": ("single", "round")},
        **{"ratio": ("once",), "back": ("turns", "a_little"), "shape": ("narrow",), "metal": ("cast", "plastic")},
    },
    {  # a drum that a clock spring winds, let go by a lever
        **{"spool": ("turns", "covered"), "crank": ("",), "knob": ("",), "ratio": ("",), "body": ("cage", "box")},
        **{
            "let_go": ("side_lever", "push_button"),
            "drag": ("none", "wheel"),
            "pick_up": ("none",),
            "foot": ("short",),
        },
        **{"size": ("hand",), "click": ("smooth", "click"), "metal": ("cast",), "rear_lever": ("yes", "no")},
    },
    {  # a small drum on a short stick, for fishing through ice
        **{"spool": ("turns",), "crank": ("on_spool", "one_knob"), "size": ("small",), "metal": ("plastic",)},
        **{"drag": ("none", "front", "frame"), "body": ("cage",), "foot": ("short", "stem"), "ratio": ("once",)},
        **{
            "spool_off": ("nut", "knob"),
            "pick_up": ("none",),
            "knob": ("plastic",),
            "let_go": ("nothing", "push_button"),
        },
    },
    {  # a frame of wood on which line is wound by hand
        **{"spool": ("turns",), "crank": ("on_spool", "two_knobs"), "metal": ("wood",), "body": ("cage", "plates")},
        **{
            "drag": ("none",),
            "click": ("free",),
            "back": ("turns",),
            "screws": ("single", "none"),
            "size": ("large", "hand"),
        },
        **{"runs": ("hardly", "some"), "pick_up": ("none",), "let_go": ("nothing",), "ratio": ("once",)},
    },
    {  # a rotor on a drum that swings, so that it casts still and winds turning
        **{"spool": ("tips", "still"), "crank": ("one_knob",), "body": ("plates", "box"), "foot": ("short", "stem")},
        **{"drag": ("star", "front", "frame"), "pick_up": ("pin", "half", "none"), "ratio": ("low", "middle")},
        **{"level_wind": ("yes", "no"), "let_go": ("side_lever", "bail")},
    },
    {  # a bottle or drum for a bow, its line drawn in by a trigger
        **{
            "spool": ("covered",),
            "crank": ("one_knob",),
            "body": ("box",),
            "drag": ("none", "star"),
            "pick_up": ("pin",),
        },
        **{"let_go": ("side_lever", "nothing"), "size": ("large", "hand"), "metal": ("plastic",), "back": ("turns",)},
    },
    {  # a hauler with a motor and no drag, for a line of hooks
        **{
            "motor": ("yes",),
            "spool": ("turns",),
            "crank": ("",),
            "knob": ("",),
            "ratio": ("",),
            "body": ("cage", "box"),
        },
        **{"drag": ("none",), "size": ("large",), "let_go": ("nothing",), "pick_up": ("none",), "metal": ("cast",)},
    },
)


def as_seen(dice: Dice, seen: Seen) -> Seen:
    """What one of four sorts of person answers; now and then a reel lacks pieces, which then cannot be told."""
    who = _pick(dice, sure=4, learner=3, hasty=2, used_to_it=2)
    gone = LACKING[int(dice.integers(len(LACKING)))] if dice.random() < 0.12 else ()
    return {look: "" if look in gone or not is_so else _SAYS[who](dice, look, is_so) for look, is_so in seen.items()}


def _sure(dice: Dice, look: str, is_so: str) -> str:
    return _near(dice, look, is_so) if dice.random() < 0.02 else is_so


def _learner(dice: Dice, look: str, is_so: str) -> str:
    chance = dice.random()
    return "" if chance < 0.15 else _near(dice, look, is_so) if chance < 0.28 else is_so


def _hasty(dice: Dice, look: str, is_so: str) -> str:
    return str(dice.choice(ALL[look])) if dice.random() < 0.07 else is_so


def _used_to_it(dice: Dice, look: str, is_so: str) -> str:
    """Says what most reels of a sea fisher show, one time in ten."""
    usual = {"spool": "turns", "drag": "star", "body": "plates", "screws": "round", "metal": "brass", "size": "hand"}
    return usual[look] if look in usual and dice.random() < 0.1 else is_so


def _near(dice: Dice, look: str, is_so: str) -> str:
    near = [other for pair in NEAR.get(look, ()) if is_so in pair for other in pair if other != is_so]
    return str(dice.choice(near)) if near else is_so


_SAYS = {"sure": _sure, "learner": _learner, "hasty": _hasty, "used_to_it": _used_to_it}
