"""What is truly the matter with an invented reel, and all that follows from it: words, looks, pieces, readings."""

from dataclasses import dataclass, replace
from random import Random

DRAG = ("friction_1", "friction_2", "friction_3")


@dataclass(frozen=True, slots=True)
class Trouble:
    """``there`` and ``not_there`` are findings as the looks show them before the reel is open, ``inside`` once it is.

    ``worn`` pieces are judged so and renewed where the shelf has what fits; ``done`` is what else was done; ``found``
    names the drag's condition; ``spin_s`` is free spool as found and as left. ``often`` weighs how many such reels
    come in, ``only`` names the patterns that can have it.
    """

    key: str
    family: str
    words: tuple[str, ...]
    there: tuple[str, ...]
    not_there: tuple[str, ...]
    reach: tuple[str, ...]
    done: tuple[str, ...]
    inside: tuple[str, ...] = ()
    worn: tuple[tuple[str, str], ...] = ()
    found: str = "dry leather"
    spin_s: tuple[float, float] = (9.0, 14.0)
    often: int = 2
    only: tuple[str, ...] = ()
    verdict: str = ""


WORN_SET = tuple((place, "worn") for place in DRAG)
WORN_WITH_UNDER = (*WORN_SET, ("under_gear_washer", "worn"))
SERVICE = "Cleaned, oiled and greased."
TAILS = (
    "",
    "",
    "",
    "",
    "No hurry.",
    "Wanted for a trip at the end of the month if you can manage.",
    "Please call before you spend much on it.",
    "I would like the old bits back.",
    "Last looked at about six years ago, not by you.",
    "Line can stay on if it is no bother.",
    "It is on the second rod now.",
)
OLD_TAILS = ("Was my father's.", "It has caught more than I have.", "Please do not polish it.")

STAR = (
    Trouble(
        "slips", "star_drag",
        ("Drag slips on a good fish.", "No drag left however far I wind the star.", "Drag gives too easily.",
         "Star is hard down and the line pulls out anyway.", "Drag will not hold past half way.",
         "The drag got weak over the season."),
        ("pull_weak",), ("pull_locked", "star_stiff", "turns_back"), (*DRAG, "under_gear_washer", "main_gear"),
        ("Metal washers wiped bright and checked for flatness.", SERVICE),
        ("washers_thin",), WORN_WITH_UNDER, often=9, spin_s=(9.0, 16.0),
        verdict="The drag holds again and starts almost as lightly as it runs.",
    ),
    Trouble(
        "jerks", "star_drag",
        ("Drag sticks, then lets go with a jerk. Broke off two fish.", "Drag grabs and jerks.",
         "Drag jerks on the first run, smooth after.", "Drag stuck fast after standing all winter.",
         "Drag stutters when a fish takes line."),
        ("pull_jerky",), ("pull_weak", "no_float"), (*DRAG, "keyed_1", "keyed_2", "eared_1", "under_gear_washer"),
        ("Old washers taken off wet, residue off the metal ones.", SERVICE),
        ("washers_residue", "washers_thin"), WORN_WITH_UNDER, "glazed", (8.0, 19.0), often=7,
        verdict="The jerk is gone: it now starts close to where it runs.",
    ),
    Trouble(
        "backs_up", "star_drag",
        ("Backs up on me: the handle turns back when I strike.", "Handle turns backwards now and then.",
         "Anti reverse lets go when a fish pulls.", "Handle spins back and raps my knuckles."),
        ("turns_back",), ("crank_grinds", "pull_weak"), (*DRAG, "dog", "dog_spring"),
        ("Dog and ratchet looked at under the glass: sound.", SERVICE),
        ("dog_lazy",), (("dog_spring", "worn"), *WORN_SET), "greased woven", often=5,
        verdict="Holds backwards at every tooth of the ratchet.",
    ),
    Trouble(
        "grinds", "star_drag",
        ("Grinds when I crank.", "Feels gritty and noisy under load.", "Rough as a sack of gravel.",
         "It grinds and I think sand got in."),
        ("crank_grinds",), ("turns_back", "pops_out"), (*DRAG, "main_gear", "pinion", "yoke"),
        ("Main gear looked at under the glass and kept.", SERVICE),
        ("grease_hard", "pinion_rounded"), (("pinion", "worn"), *WORN_SET), "new woven", often=5,
        verdict="Winds smoothly under load.",
    ),
    Trouble(
        "short_cast", "star_drag",
        ("Will not cast as it did.", "Casting distance is half of what it was.", "Spool slow, howls when I cast.",
         "Poor cast, and it whines."),
        ("spin_short", "spin_noise"), ("spin_rub", "no_float"), (*DRAG, "head_bearing", "tail_bearing", "spool"),
        (SERVICE,),
        ("bearing_red",), (("head_bearing", "worn"), ("tail_bearing", "worn"), *WORN_SET), "greased woven",
        (4.0, 22.0), often=5, verdict="The spool runs several times as long as it did.",
    ),
    Trouble(
        "out_of_gear", "star_drag",
        ("Jumps out of gear on a heavy pull.", "Will not stay in gear.", "Slips out of gear and the spool runs free.",),
        ("pops_out",), ("crank_skips", "turns_back"), (*DRAG, "yoke", "yoke_springs", "pinion"),
        (SERVICE,),
        ("yoke_grooved",), (("yoke", "worn"), ("yoke_springs", "worn"), *WORN_SET), often=3,
        verdict="Engages at once and stays engaged under load.",
    ),
    Trouble(
        "salt", "star_drag",
        ("Went over the side and was rinsed the week after. Stiff.", "Stood in the shed for years, stiff with salt.",
         "Green all over and seized. Not used for years.", "Dunked in the surf, hard to turn since."),
        ("bloom", "crank_heavy", "spin_short"), ("teeth_gone",),
        (*DRAG, "main_gear", "pinion", "head_bearing", "spool"),
        ("Salt dissolved, bare metal protected.", SERVICE),
        ("grease_hard", "bloom_inside"), (("head_bearing", "worn"), *WORN_SET), "glazed", (2.5, 16.0), often=4,
        verdict="Turns freely; the pits in the plate stay, and do no harm.",
    ),
    Trouble(
        "level_wind", "star_drag",
        ("Level wind sticks at the left side.", "Line guide stuck, line piles up on one side.",
         "The line guide skips back at the end."),
        ("guide_stops", "pawl_thin"), ("worm_dirty", "pull_weak"), (*DRAG, "pawl"),
        ("Worm cleaned and oiled.", SERVICE),
        (), (("pawl", "worn"), *WORN_SET), "greased woven", often=3, only=("SH2", "L22"),
        verdict="The guide travels the whole width and turns at both ends.",
    ),
    Trouble(
        "clicker", "star_drag",
        ("Clicker is weak, I cannot hear a run.", "No click any more.", "Clicker will not stay on."),
        ("clicker_quiet",), ("pull_weak", "spin_short"), (*DRAG, "tail_plate", "clicker_spring", "clicker_tongue"),
        (SERVICE,),
        (), (("clicker_spring", "worn"), *WORN_SET), "greased woven", (12.0, 15.0), often=2,
        verdict="Clicks loudly both ways.",
    ),
    Trouble(
        "service", "star_drag",
        ("Winter service please, nothing wrong that I know of.", "Just the yearly clean.",
         "Bought at a boot sale, please go through it.", "Service, and tell me if it is worth keeping."),
        ("grease_hard",), ("pull_weak", "turns_back", "crank_grinds"), (*DRAG, "main_gear", "head_bearing"),
        (SERVICE,),
        (), WORN_SET, "greased woven", (10.0, 15.0), often=6, verdict="Nothing was worn but the drag set.",
    ),
)  # fmt: skip

FIXED = (
    Trouble(
        "bail", "fixed_spool",
        ("Bail does not snap over.", "Bail flops open in the cast.", "The bail spring broke.", "Bail sticks half way."),
        ("bail_lazy", "spring_snapped"), ("wire_bent", "turns_back"), ("bail_spring", "spring_rod", *DRAG),
        (SERVICE,), (), (("bail_spring", "broken"), *WORN_SET), "greased woven", often=7,
        verdict="The bail snaps over by itself both ways.",
    ),
    Trouble(
        "twist", "fixed_spool",
        ("Line twist, and the roller squeals.", "Squeaks on the retrieve and twists my line.",
         "Line roller does not turn, braid is fraying."),
        ("roller_still",), ("bail_lazy", "crank_grinds"), ("line_roller", "roller_washers", *DRAG),
        (SERVICE,), (), (("line_roller", "worn"), *WORN_SET), "new woven", often=6,
        verdict="The roller turns under a strand of line.",
    ),
    Trouble(
        "backs_up", "fixed_spool",
        ("Backs up on me, the handle turns back a quarter turn.", "Anti reverse slips in the cold.",
         "Handle turns backwards when I strike."),
        ("turns_back",), ("crank_grinds", "rotor_rocks"), ("clutch", "clutch_sleeve", *DRAG),
        ("Clutch sleeve polished.", SERVICE), ("clutch_greasy",),
        (("clutch", "worn"), *WORN_SET), "greased woven", often=5, verdict="No backward play at the handle.",
    ),
    Trouble(
        "grinds", "fixed_spool",
        ("Grinds when I crank.", "Crunchy on the retrieve since it was in the sand.", "Rough and noisy."),
        ("crank_grinds",), ("stroke_uneven", "shaft_wobbles"), ("main_gear", "cover_bearing", "body_bearing", *DRAG),
        (SERVICE,), ("bearing_catches", "grease_hard"),
        (("cover_bearing", "worn"), ("body_bearing", "worn"), *WORN_SET), "new woven", often=6,
        verdict="Winds without a grain.",
    ),
    Trouble(
        "jerks", "fixed_spool",
        ("Drag sticks, then gives all at once.", "Drag jerks. Lost a good bass.", "Drag locked solid when I set up."),
        ("pull_jerky", "washers_glued"), ("knob_odd", "washers_misplaced"), (*DRAG, "keyed_1", "eared_1", "keyed_2"),
        ("Stack parted wet, metal washers cleaned.", SERVICE), (), WORN_SET, "glazed", often=6,
        verdict="The jerk is gone: it now starts close to where it runs.",
    ),
    Trouble(
        "slips", "fixed_spool",
        ("Drag slips even hard down.", "No drag. Somebody oiled it for me.", "Drag too light for the weed here."),
        ("pull_weak", "washers_wet"), ("washers_residue", "knob_odd"), DRAG,
        ("Metal washers degreased.", SERVICE), (), WORN_SET, "dry leather", often=5,
        verdict="The drag holds again over the whole turn of the knob.",
    ),
    Trouble(
        "knocks", "fixed_spool_vintage",
        ("Knocks once a turn.", "Clunks at the top of the stroke.", "It thumps and the spool wobbles."),
        ("crank_knocks", "stroke_uneven"), ("rotor_rubs", "shaft_wobbles"), ("slider", "crosswind_gear", *DRAG),
        ("Crosswind greased.", SERVICE), ("slider_worn",), (("slider", "worn"), *WORN_SET),
        "greased woven", often=3, only=("V40", "V60"), verdict="The stroke is even to both ends.",
    ),
    Trouble(
        "service", "fixed_spool",
        ("Yearly clean and oil please.", "Nothing wrong, just due.", "Handle loose, and a service while it is in.",
         "Sat in the attic for years, please go through it."),
        ("handle_shakes",), ("crank_grinds", "turns_back", "pull_weak"), ("main_gear", *DRAG),
        ("Handle tightened and locked.", SERVICE), ("grease_hard",), WORN_SET, "greased woven", often=5,
        verdict="Nothing was worn but the drag set.",
    ),
)  # fmt: skip

SELDOM = (
    Trouble(
        "jerks", "lever_drag",
        ("Drag sticks at strike, then lets go with a jerk.", "Drag grabs when the lever goes past half way."),
        ("pull_jerky", "disc_glued"), ("pull_weak", "lever_slack"), ("friction_1", "drive_plate", "drag_springs"),
        ("Drive plate wiped bright and checked for flatness.", SERVICE),
        (), (("friction_1", "worn"),), "glazed",
        verdict="The jerk is gone: it now starts close to where it runs.",
    ),
    Trouble(
        "jerks", "low_profile",
        ("Drag jerks and broke off two fish.", "Drag sticks, then gives all at once."),
        ("pull_jerky",), ("pull_weak", "crank_grinds"), ("friction_1", "under_gear_washer", "keyed_1"),
        (SERVICE,), (), (("friction_1", "worn"),), "glazed",
        verdict="The jerk is gone: it now starts close to where it runs.",
    ),
    Trouble(
        "slips", "fly",
        ("Drag slips, the knob is hard down.", "Drag gives too easily for a good fish: drag too light."),
        ("pull_weak", "disc_dry"), ("knob_odd", "rubs"), ("friction_1", "pressure_plate"),
        (SERVICE,), (), (("friction_1", "worn"),), "dry leather",
        verdict="The drag holds again over the whole turn of the knob.",
    ),
    Trouble(
        "click", "fly_click",
        ("Click weak, the spool overruns.", "No click and the spool backlashes."),
        ("click_weak",), ("rubs", "rocks"), ("click_pawls", "click_springs"),
        ("Pawl turned over to its good side.", SERVICE), ("pawl_rounded",),
        verdict="Clicks sharply and holds the spool on the strike.",
    ),
    Trouble(
        "slips", "fixed_spool_rear",
        ("Drag slips even hard down.", "No drag, however far I turn the knob at the back."),
        ("pull_weak", "washers_wet"), ("knob_odd",), DRAG,
        ("Metal washers degreased.", SERVICE), (), WORN_SET, "dry leather",
        verdict="The drag holds again over the whole turn of the knob.",
    ),
)  # fmt: skip

LATELY = (
    Trouble(
        "shift", "lever_drag_two_speed",
        ("Will not shift into low.", "Low gear drops out under a fish."),
        ("selector_hangs",), ("pull_weak", "turns_back"), ("shaft_springs", "selector_key", "friction_1"),
        (SERVICE,), ("selector_gummed",), (("friction_1", "worn"),), "greased woven",
        verdict="Shifts at once both ways and stays in gear.",
    ),
    Trouble(
        "backs_up", "fixed_spool_vintage",
        ("Handle turns backwards when I strike.", "Anti reverse slips now and then."),
        ("turns_back",), ("pull_weak", "rotor_rubs"), ("ar_lever", "ar_spring", *DRAG),
        ("Dog cleaned, its spring bent back.", SERVICE), ("grease_hard",), WORN_SET, "dry leather",
        verdict="Holds backwards at every tooth.",
    ),
    Trouble(
        "overruns", "round_casting",
        ("Backlashes on every cast.", "Overruns, the brake does nothing."),
        ("blocks_wrong",), ("turns_back", "guide_stops"), ("brake_blocks", "brake_drum", *DRAG),
        ("Brake drum wiped clean.", SERVICE), (), WORN_SET, "greased woven",
        verdict="The brake takes hold at the start of the cast.",
    ),
    Trouble(
        "no_pickup", "closed_face",
        ("Does not pick up the line.", "The pins do not catch the line."),
        ("pin_misses",), ("pull_weak", "turns_back"), ("pickup_pin", "pickup_spring", "pickup_cam"),
        ("Pick-up pins polished.", SERVICE), ("pin_lazy",), (("pickup_spring", "worn"),), "dry leather",
        verdict="Picks the line up at every turn of the handle.",
    ),
    Trouble(
        "motor", "electric",
        ("Motor runs slow and cuts out.", "Motor weak on a full battery."),
        ("motor_labours",), ("lead_drops", "crank_grinds"), ("brushes", "motor", *DRAG),
        (SERVICE,), ("brushes_short",), WORN_SET, "greased woven",
        verdict="The motor lifts its load without stopping.",
    ),
    Trouble(
        "click", "single_action",
        ("Clicker is weak, the spool overruns.", "Click gone on one side."),
        ("click_weak",), ("rubs", "rocks"), ("click_pawls", "click_springs"),
        (SERVICE,), ("pawl_rounded",),
        verdict="Clicks both ways and holds the spool on the strike.",
    ),
    Trouble(
        "stands", "centre_pin",
        ("Spool does not spin freely any more.", "Stops after a few seconds, it used to run on."),
        ("spin_short",), ("rubs", "rim_wanders"), ("spool", "spindle"),
        ("Spindle polished, thin oil.", SERVICE), ("spindle_grey",),
        verdict="The spool runs on by a breath of wind.",
    ),
    Trouble(
        "free_run", "fixed_spool_free_run",
        ("Free run will not engage.", "Free run does not let line go evenly."),
        ("run_stays",), ("pull_weak", "bail_lazy"), ("run_lever", "run_pawl", *DRAG),
        (SERVICE,), ("run_pawl_rounded",), WORN_SET, "greased woven",
        verdict="The free run goes in and out at the lever, and at a turn of the handle.",
    ),
    Trouble(
        "swivel", "side_cast",
        ("Will not swivel back after the cast.", "Swivel is stiff and drifts in the retrieve."),
        ("swivel_stiff",), ("rubs", "rocks"), ("swivel_bolt", "detent_pin", "detent_spring"),
        ("Swivel taken apart, cleaned and greased.", SERVICE), (),
        verdict="Turns over lightly and stays where it is put.",
    ),
)  # fmt: skip

OLD_FIXED = tuple(
    replace(one, family="fixed_spool_vintage") for one in FIXED if one.family == "fixed_spool" and one.key != "backs_up"
)
"""What an old fixed spool reel has as a newer one does; its dog and ratchet are a trouble of its own."""

TROUBLES = (*STAR, *FIXED, *OLD_FIXED, *SELDOM, *LATELY)


def trouble(family: str, key: str) -> Trouble:
    return next(one for one in TROUBLES if (one.family, one.key) == (family, key))


def draw_trouble(rng: Random, family: str, code: str) -> Trouble:
    """Some trouble that such a reel can have, the common ones more often."""
    able = [one for one in TROUBLES if one.family == family and (not one.only or code in one.only)]
    return rng.choices(able, [one.often for one in able])[0]


def complaint(rng: Random, what: Trouble, *, old: bool) -> str:
    """The trouble in an owner's words."""
    tails = (*TAILS, *OLD_TAILS) if old else TAILS
    return " ".join(filter(None, (rng.choice(what.words), rng.choice(tails))))
