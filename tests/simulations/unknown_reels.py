"""Made-up reels for the naming: built from the year and the use, with old repairs and a person who looks askance.

None of this knows the tables of the program. A reel is drawn as an object: what it is for and its year decide its
metal, its knob, its screws and its gearing together, so that looks hang together as they do on a bench. Then pieces are
lost or swapped, and a person, good or poor at it, answers. Some reels are of no family at all.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

YEARS = {
    "star_drag": (1925, 2015),
    "round_casting": (1930, 2010),
    "lever_drag": (1965, 2020),
    "lever_drag_two_speed": (1980, 2020),
    "low_profile": (1975, 2022),
    "electric": (1975, 2022),
    "fixed_spool": (1985, 2022),
    "fixed_spool_rear": (1976, 2012),
    "fixed_spool_vintage": (1935, 1988),
    "fixed_spool_free_run": (1984, 2022),
    "closed_face": (1948, 2015),
    "fly": (1955, 2022),
    "fly_click": (1895, 2015),
    "single_action": (1890, 1985),
    "centre_pin": (1900, 2022),
    "side_cast": (1925, 2005),
}
COMES_IN = {
    **{"star_drag": 24, "round_casting": 10, "lever_drag": 5, "lever_drag_two_speed": 2, "low_profile": 5},
    **{"electric": 1, "fixed_spool": 14, "fixed_spool_rear": 7, "fixed_spool_vintage": 15, "closed_face": 4},
    **{"fixed_spool_free_run": 3, "fly": 4, "fly_click": 6, "single_action": 5, "centre_pin": 3, "side_cast": 2},
}
ODD = 0.06
"""Share of reels that no family is built like."""

Seen = dict[str, str]
Dice = np.random.Generator


@dataclass(frozen=True, slots=True)
class MadeReel:
    """What it is ("" for none of the families), its year, what a careful eye would see, and what was answered."""

    family: str
    year: int
    is_so: Seen
    answered: Seen


def a_reel(dice: Dice) -> MadeReel:
    if dice.random() < ODD:
        family, year, seen = "", *_odd(dice)
    else:
        family = str(dice.choice(list(COMES_IN), p=np.array(list(COMES_IN.values())) / sum(COMES_IN.values())))
        year, seen = _of_family(dice, family)
    seen = _old_repair(dice, seen, year)
    return MadeReel(family, year, seen, _answered(dice, seen))


def _of_family(dice: Dice, family: str) -> tuple[int, Seen]:
    first, last = YEARS[family]
    year = int(first + (last - first) * dice.beta(1.6, 1.6))
    kind = FORM_OF.get(family, _with_rotor)
    return year, NO_EXTRAS | _stuff(dice, family, year) | kind(dice, family, year)


NO_EXTRAS = {"level_wind": "no", "motor": "no", "rear_lever": "no", "hub_button": "no", "cast_cap": "no"}


def _pick(dice: Dice, **weights: float) -> str:
    chance = np.array(list(weights.values()))
    return str(dice.choice(list(weights), p=chance / chance.sum()))


def _stuff(dice: Dice, family: str, year: int) -> Seen:
    """Metal and knob by the year: each time had its own, and cheap reels their own again."""
    cheap = dice.random() < 0.4
    if year < 1940:
        metal = _pick(dice, brass=6, cast=3, wood=2 if family in ("centre_pin", "single_action") else 0.02)
        knob = _pick(dice, old=9, plastic=1)
    elif year < 1970:
        big = family in ("star_drag", "single_action")
        metal = _pick(dice, brass=6 if big else 1, cast=4 if big else 9, plastic=1.5 if cheap else 0.2)
        knob = _pick(dice, old=2, plastic=7, metal=0.3)
    elif year < 1992:
        metal = _pick(dice, brass=1 if family == "star_drag" else 0.05, cast=4, machined=0.6, plastic=5 if cheap else 2)
        knob = _pick(dice, plastic=8, soft=1, metal=0.3)
    else:
        fine = family in ("fly", "lever_drag", "lever_drag_two_speed", "centre_pin")
        metal = _pick(dice, cast=2, machined=1 if cheap else (9 if fine else 2), plastic=6 if cheap else 2)
        knob = _pick(dice, plastic=4, soft=5, metal=1.5 if fine else 0.3)
    return {"metal": metal, "knob": knob}


def _multiplier(dice: Dice, family: str, year: int) -> Seen:
    big = dice.random() < {"round_casting": 0.03, "star_drag": 0.5}.get(family, 0.65)
    lever = family.startswith("lever")
    seen = {"spool": "turns", "foot": "short", "pick_up": "none", "spool_off": "plate", "body": "plates"}
    seen["crank"] = "one_knob" if big or lever or dice.random() < 0.7 else "two_knobs"
    seen["drag"] = "lever" if lever else "star"
    if family == "star_drag" and year < 1935 and dice.random() < 0.3:
        seen["drag"] = "none"
    seen["size"] = "large" if big else _pick(dice, hand=8, small=1)
    seen["shape"] = _pick(dice, wide=4, between=5) if not lever else _pick(dice, wide=3, between=7, narrow=0.3)
    seen["click"] = "free" if seen["drag"] == "none" else "smooth"
    seen["screws"] = "round" if year < 1955 or lever or dice.random() < 0.75 else "single"
    seen["let_go"] = "drag_lever" if lever else "side_lever"
    seen["back"] = "at_once" if year > 1990 and dice.random() < 0.75 else "a_little"
    seen["ratio"] = "low" if year < 1965 and big else _pick(dice, low=2, middle=6, high=2 if year > 1990 else 0.1)
    seen["runs"] = _pick(dice, some=5, long=3, hardly=1.5)
    seen["cast_cap"] = "yes" if not lever and not big and dice.random() < 0.75 else "no"
    if family == "lever_drag_two_speed":
        seen |= {"ratio": "two", "hub_button": "yes"}
    if family == "star_drag" and dice.random() < (0.1 if big else 0.2):
        seen["level_wind"] = "yes"
    if family == "round_casting":
        seen |= {"level_wind": "yes" if dice.random() < 0.95 else "no", "cast_cap": "yes"}
        seen |= {"size": _pick(dice, small=5, hand=5), "crank": _pick(dice, two_knobs=7, one_knob=3)}
        seen["screws"] = _pick(dice, single=7, round=3, cover=0.3)
        seen["let_go"] = "thumb_bar" if year > 1952 and dice.random() < 0.9 else _pick(dice, side_lever=2, nothing=1)
        seen["drag"] = "star" if year > 1948 else _pick(dice, star=2, none=2)
    return seen


def _low(dice: Dice, family: str, year: int) -> Seen:
    seen = {"spool": "turns", "foot": "short", "pick_up": "none", "spool_off": "plate", "level_wind": "yes"}
    seen |= {"drag": "star", "body": "low", "let_go": "thumb_bar", "click": "smooth", "cast_cap": "yes"}
    seen["crank"] = _pick(dice, two_knobs=8, one_knob=1)
    seen["screws"] = _pick(dice, single=5, cover=2, round=1)
    seen["ratio"] = "high" if year > 1988 else _pick(dice, middle=5, high=5)
    seen["back"] = "at_once" if year > 1988 else "a_little"
    seen["size"], seen["shape"] = _pick(dice, small=6, hand=4), _pick(dice, between=8, wide=2)
    seen["runs"] = _pick(dice, long=5, some=4, hardly=1)
    if family == "electric":
        seen |= {"motor": "yes", "size": _pick(dice, large=7, hand=3), "crank": "one_knob"}
        seen |= {"body": _pick(dice, low=5, plates=5), "drag": _pick(dice, star=6, lever=4)}
        seen |= {"ratio": _pick(dice, low=4, middle=5, high=1), "let_go": _pick(dice, side_lever=5, drag_lever=2)}
        seen |= {"level_wind": _pick(dice, yes=9, no=1), "screws": _pick(dice, round=6, cover=3)}
        seen |= {"cast_cap": _pick(dice, yes=1, no=1)}
    return seen


def _with_rotor(dice: Dice, family: str, year: int) -> Seen:
    seen = {"spool": "still", "foot": "stem", "body": "box", "crank": "one_knob", "let_go": "bail", "runs": "hardly"}
    seen |= {"drag": "front", "spool_off": "knob", "pick_up": "bail", "click": "smooth"}
    seen["crank"] = "two_knobs" if dice.random() < 0.04 else "one_knob"
    seen["size"] = _pick(dice, small=3, hand=6, large=1)
    seen["shape"] = _pick(dice, between=8, wide=1.5, narrow=0.3)
    seen["screws"] = _pick(dice, cover=8, single=1, round=1)
    seen["ratio"] = _pick(dice, middle=7, low=2 if year < 1975 else 0.3, high=0.2 if year < 1980 else 6)
    seen["back"] = "at_once" if year > 1992 and dice.random() < 0.9 else "a_little"
    if family == "fixed_spool_rear":
        seen |= {"drag": "back", "spool_off": "latch"}
    if family == "fixed_spool_vintage":
        seen["pick_up"] = "half" if year < 1955 and dice.random() < 0.65 else "bail"
        seen["screws"] = "single" if year < 1950 and dice.random() < 0.5 else seen["screws"]
        seen["back"] = "a_little" if dice.random() < 0.9 else "turns"
        seen["spool_off"] = "latch" if dice.random() < 0.1 else "knob"
    if family == "fixed_spool_free_run":
        seen |= {"rear_lever": "yes", "drag": _pick(dice, front=9, back=1)}
    return seen


def _covered(dice: Dice, family: str, year: int) -> Seen:
    under = dice.random() < 0.4
    seen = {"spool": "covered", "body": "box", "let_go": "push_button", "pick_up": "pin", "click": "smooth"}
    seen |= {"crank": "one_knob" if dice.random() < 0.9 else "two_knobs", "foot": "stem" if under else "short"}
    seen["drag"] = _pick(dice, wheel=6, star=1 if under else 4, none=0.5)
    seen["screws"], seen["spool_off"] = _pick(dice, cover=7, single=3), _pick(dice, plate=8, nut=1, latch=1)
    seen["ratio"], seen["back"] = _pick(dice, low=4, middle=6), "a_little" if year < 1990 else "at_once"
    seen["size"], seen["shape"] = _pick(dice, small=5, hand=5), _pick(dice, between=7, narrow=3)
    return seen | {"runs": "hardly"}


def _on_a_pin(dice: Dice, family: str, year: int) -> Seen:
    seen = {"spool": "turns", "foot": "short", "body": "cage", "crank": "on_spool", "ratio": "once", "back": "turns"}
    seen |= {"let_go": "nothing", "pick_up": "none", "drag": "none", "click": "click", "spool_off": "latch"}
    seen |= {"screws": "none", "shape": _pick(dice, narrow=7, between=3), "runs": "hardly"}
    seen["size"] = _pick(dice, small=3, hand=6, large=0.6)
    if family == "fly":
        seen |= {"drag": "frame", "click": "smooth", "runs": _pick(dice, hardly=6, some=4)}
        seen["spool_off"] = _pick(dice, latch=6, nut=2, knob=1)
        seen["ratio"] = "low" if dice.random() < 0.04 else "once"
    if family == "fly_click":
        seen["drag"] = "frame" if dice.random() < 0.1 else "none"
        seen["screws"] = "single" if year < 1920 and dice.random() < 0.5 else "none"
    if family == "single_action":
        seen |= {"spool_off": "nut", "screws": "single", "body": _pick(dice, cage=3, plates=1)}
        seen |= {"click": _pick(dice, click=6, free=3), "runs": _pick(dice, some=5, hardly=5)}
        seen["crank"] = "one_knob" if year < 1920 and dice.random() < 0.4 else "on_spool"
    if family == "centre_pin":
        seen |= {"click": "free", "runs": _pick(dice, long=9, some=1), "size": _pick(dice, hand=9, large=1)}
        seen |= {"shape": "narrow", "spool_off": _pick(dice, latch=6, nut=4), "screws": _pick(dice, none=5, single=5)}
    if family == "side_cast":
        seen |= {"spool": "tips", "spool_off": _pick(dice, nut=7, latch=2), "screws": _pick(dice, single=5, none=4)}
        seen |= {"click": _pick(dice, click=5, free=4), "drag": _pick(dice, none=7, front=1, frame=1, star=0.5)}
        seen["metal"] = "wood" if year < 1950 and dice.random() < 0.3 else _pick(dice, cast=4, plastic=6)
    return seen


FORM_OF: dict[str, Callable[[Dice, str, int], Seen]] = {
    **dict.fromkeys(("star_drag", "round_casting", "lever_drag", "lever_drag_two_speed"), _multiplier),
    **dict.fromkeys(("low_profile", "electric"), _low),
    "closed_face": _covered,
    **dict.fromkeys(("fly", "fly_click", "single_action", "centre_pin", "side_cast"), _on_a_pin),
}


def _odd(dice: Dice) -> tuple[int, Seen]:
    """A trolling winch, a self-winding reel, a reel that somebody built from two, a toy."""
    year = int(dice.integers(1900, 2000))
    which = _pick(dice, two_in_one=5, winch=2, self_winding=3)
    if which == "two_in_one":
        first, second = dice.choice(list(YEARS), 2, replace=False)
        (_, one), (_, other) = _of_family(dice, str(first)), _of_family(dice, str(second))
        return year, {look: (one if dice.random() < 0.5 else other)[look] for look in one}
    plain = _on_a_pin(dice, "single_action", year) | NO_EXTRAS | _stuff(dice, "star_drag", year)
    if which == "winch":
        return year, plain | {
            "crank": "one_knob",
            "size": "large",
            "drag": "lever",
            "body": "plates",
            "back": "a_little",
        }
    wound = {"crank": "on_spool", "let_go": "push_button", "ratio": "once", "back": "a_little", "drag": "wheel"}
    return year, plain | wound | {"foot": "short", "runs": "hardly", "click": "smooth", "spool_off": "nut"}


def _old_repair(dice: Dice, seen: Seen, year: int) -> Seen:
    """Handles and knobs are swapped, drags renewed by others."""
    seen = dict(seen)
    if dice.random() < 0.12:
        seen["knob"] = _pick(dice, old=1, plastic=3, metal=3, soft=2)
    if dice.random() < 0.04:
        seen["crank"] = _pick(dice, one_knob=1, two_knobs=1)
    if dice.random() < 0.08:
        seen["runs"] = "hardly"
    return seen


def _answered(dice: Dice, seen: Seen) -> Seen:
    """A person who knows reels errs at one look in thirty, one who does not at one in eight; some cannot be told."""
    errs, unsure = (0.03, 0.05) if dice.random() < 0.6 else (0.12, 0.15)
    answered = {}
    for look, answer in seen.items():
        if dice.random() < unsure:
            answered[look] = ""
        elif dice.random() < errs:
            answered[look] = str(dice.choice([other for other in ALL[look] if other != answer]))
        else:
            answered[look] = answer
    return answered


ALL = {
    "spool": ("turns", "still", "covered", "tips"),
    "crank": ("one_knob", "two_knobs", "on_spool"),
    "drag": ("star", "lever", "front", "back", "frame", "wheel", "none"),
    "foot": ("short", "stem"),
    "body": ("plates", "low", "cage", "box"),
    "screws": ("round", "single", "cover", "none"),
    "knob": ("old", "plastic", "soft", "metal"),
    "metal": ("brass", "cast", "machined", "plastic", "wood"),
    "ratio": ("once", "low", "middle", "high", "two"),
    "back": ("at_once", "a_little", "turns"),
    "let_go": ("side_lever", "thumb_bar", "drag_lever", "bail", "push_button", "nothing"),
    "pick_up": ("bail", "half", "pin", "none"),
    "size": ("small", "hand", "large"),
    "shape": ("narrow", "between", "wide"),
    "runs": ("long", "some", "hardly"),
    "spool_off": ("latch", "nut", "knob", "plate"),
    "click": ("smooth", "click", "free"),
    **dict.fromkeys(NO_EXTRAS, ("yes", "no")),
}
