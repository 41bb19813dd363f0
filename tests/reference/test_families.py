import re
import shutil
from importlib import resources

import numpy as np
import pytest

from levelwind.core.drag.click import ripple
from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.lever import force_at_lever_N
from levelwind.core.drag.model import Kind, stack_from_dict
from levelwind.core.drag.order import right_order
from levelwind.core.drag.torque import evaluate
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from levelwind.core.takedown import full, reach, rebuild, tray_cells
from levelwind.reference.families import CAUTION_OF_HAZARD, families, family, read_family, rules_from_toml
from levelwind.reference.materials import coefficient

EVERY = pytest.mark.parametrize("reel", [family(key) for key in families()], ids=families())
STACKED = [key for key in families() if family(key).drag["bodies"]]
WITH_A_STACK = pytest.mark.parametrize("reel", [family(key) for key in STACKED], ids=STACKED)


def keys_of(reel):
    return frozenset(place.key for place in reel.places)


def test_the_families_are_there_and_an_unknown_one_is_refused():
    assert families() == (
        *("centre_pin", "closed_face", "electric"),
        *("fixed_spool", "fixed_spool_free_run", "fixed_spool_rear", "fixed_spool_vintage", "fly", "fly_click"),
        *("lever_drag", "lever_drag_two_speed", "low_profile", "round_casting", "side_cast", "single_action"),
        "star_drag",
    )
    with pytest.raises(InputError, match=r"'../secrets'.*star_drag"):
        family("../secrets")


@EVERY
def test_every_place_comes_free_and_goes_back(reel):
    for key in keys_of(reel):
        assert reach(reel.rules, [key]).minutes > 0
    freed = [key for step in full(reel.rules).steps for key in step.frees]
    assert sorted(freed) == sorted(keys_of(reel)), "a place is freed twice or not at all"
    back = [key for refit in rebuild(reel.rules, keys_of(reel)).steps for key in refit.places]
    assert sorted(back) == sorted(keys_of(reel))


@EVERY
def test_the_reel_without_its_optional_places_comes_apart_too(reel):
    optional = frozenset(place.key for place in reel.places if place.optional)
    freed = {key for step in full(reel.rules.without(optional)).steps for key in step.frees}
    assert freed == keys_of(reel) - optional
    for step in reel.rules.steps:
        assert not optional & frozenset().union(*step.after_any), "an absent place would open a way that is not there"


@EVERY
def test_springs_and_clips_are_marked_and_warned_of_before_their_step(reel):
    for place in reel.places:
        if place.kind in ("spring", "clip"):
            assert place.hazard == place.kind
    for step in reel.rules.steps:
        for place in map(reel.place, step.frees):
            if place.hazard != "none":
                assert CAUTION_OF_HAZARD[place.hazard] in step.cautions
            if place.kind == "friction_washer":
                assert "old_friction" in step.cautions
    assert {"springs", "clips"} <= set(reel.cautions)


@EVERY
def test_look_alikes_name_each_other_and_never_share_a_cell(reel):
    cells = tray_cells(reel.rules, full(reel.rules).steps)
    for place in reel.places:
        for other in map(reel.place, place.look_alikes):
            assert place.key in other.look_alikes
            assert cells[place.key] != cells[other.key]


@EVERY
def test_gates_stand_where_the_rebuild_can_go_wrong(reel):
    """Look-alikes are asked about before they go in, screws before they are tightened, and what is felt at the end."""
    for step in reel.rules.steps:
        places = [reel.place(key) for key in step.frees]
        asked = {gate.key: gate for gate in step.gates}
        if any(place.look_alikes for place in places):
            assert any("told_apart" in key and gate.ahead for key, gate in asked.items()), step.key
        if any(place.kind == "screw" and place.count > 1 for place in places):
            assert any(key.endswith("_started") and not gate.ahead for key, gate in asked.items()), step.key
        if any(place.kind == "friction_washer" and place.group == "drag" for place in places):
            assert "drag_washers_in_order" in asked
    last = rebuild(reel.rules, frozenset()).gates
    assert any("felt" in gate.key for gate in last)
    assert last[-1].key == "tray_empty"


@WITH_A_STACK
def test_the_drag_is_one_the_drag_computation_reads(reel):
    stack = stack_from_dict(reel.drag)
    assert len(reel.drag_places) == len(stack.bodies)
    for key, body in zip(reel.drag_places, stack.bodies, strict=True):
        kind = reel.place(key).kind
        if kind.endswith("ed_washer"):
            assert body.kind.value == kind.removesuffix("_washer")
        if kind == "friction_washer":
            assert body.kind.value == "friction"


@WITH_A_STACK
def test_the_drag_lies_in_the_order_its_washers_go_in(reel):
    [step] = [step for step in reel.rules.steps if "friction_1" in step.frees]
    in_drag = [key for key in reel.drag_places if key in step.frees]
    assert in_drag == list(reversed(step.frees))


@WITH_A_STACK
def test_every_friction_washer_does_its_share_with_friction_from_the_tables(reel):
    """Nothing idle, and no order of the same washers holds more: the stack a family shows is the right one."""
    stack = stack_from_dict(reel.drag)
    told = evaluate(stack, find_contacts(stack, coefficient), Quantity.exact(100.0), np.random.default_rng(1), 100)
    assert told.idle == ()
    assert len(told.slipping) == sum(body.kind is Kind.FRICTION for body in stack.bodies)
    order = right_order(stack, coefficient)
    assert order is None or order.share_lost == 0
    assert not any(body.coefficient for body in stack.bodies)


@WITH_A_STACK
def test_a_drag_is_geared_where_the_fish_turns_its_washers_by_the_main_gear(reel):
    bodies = zip(reel.drag["bodies"], reel.drag_places, strict=True)
    turned = [reel.place(place).kind for body, place in bodies if body["kind"] == "gear"]
    assert reel.is_geared == ("gear" in turned)


def test_every_way_a_drag_can_sit_has_a_family():
    assert {family(key).drag_family for key in families()} == set(DragFamily)


def test_a_lever_s_cam_gives_nothing_at_free_and_rises_past_the_strike():
    lever = family("lever_drag").lever
    free, strike, full = (
        float(force_at_lever_N(lever.cam, lever.springs, angle))
        for angle in (lever.cam.angles_deg[0], lever.angle_deg, lever.cam.angles_deg[-1])
    )
    assert free == 0 < strike < full
    assert [key for key in families() if family(key).lever] == ["lever_drag", "lever_drag_two_speed"]


def test_a_reel_held_by_its_click_alone_has_no_stack_and_ripples():
    clicks_alone = ["centre_pin", "fly_click", "side_cast", "single_action"]
    assert [key for key in families() if family(key).click] == sorted([*clicks_alone, "fly"])
    assert [key for key in families() if key not in STACKED] == clicks_alone
    turned = ripple(family("fly_click").click)
    assert 0 < turned.mean_Nm < turned.peak_Nm
    assert turned.mean_Nm > 3 * ripple(family("fly").click).mean_Nm


@EVERY
def test_what_wears_can_be_measured_and_old_friction_is_never_cleaned_dry(reel):
    for place in reel.places:
        if place.kind in ("friction_washer", "bearing"):
            assert {"inner diameter", "outer diameter"} <= set(place.measure)
        if place.kind == "friction_washer":
            assert (place.renew, place.clean) == ("whenever open", "wet, wipe, bag")


@EVERY
def test_every_text_is_a_sentence_for_a_phone(reel):
    for step in reel.rules.steps:
        assert step.do.endswith(".") and len(step.do) <= 130
        for gate in step.gates:
            assert gate.ask.endswith("?") and gate.why.endswith(".")


@pytest.fixture
def copy_of(tmp_path):
    def copy(key):
        source = resources.files("levelwind.reference").joinpath("families", key)
        with resources.as_file(source) as folder:
            return shutil.copytree(folder, tmp_path / key)

    return copy


@pytest.mark.parametrize(
    ("key", "old", "new", "complaint"),
    [
        (
            "lever_drag",
            "strike_deg = 70",
            "strike_deg = 170",
            r"angle of the lever was 170 degrees",
        ),
        ("lever_drag", "strike_deg = 70", "", r"drag\.toml, clamp: strike_deg was absent"),
        ("lever_drag", "0.30, 1.00", "1.30, 1.00", r"points of the cam"),
        ("lever_drag", 'din_2093 = "B 20"', 'din_2093 = "B 21"', r"disc spring was B 21"),
        ("lever_drag", "gap_mm = 0.20", "gpa_mm = 0.20", r"clamp, cam was gpa_mm"),
        ("fly", 'thread = "M5x0.8"', 'thread = "M5x0.9"', r"thread was 'M5x0.9'; .* M5x0.8"),
        ("fly_click", "teeth = 32", "teeth = 2", r"teeth of the click wheel was 2"),
        ("fly_click", "[click]", "[clack]", r"fly_click/drag\.toml was clack"),
    ],
)
def test_a_slip_in_a_cam_a_thread_or_a_click_is_refused(copy_of, key, old, new, complaint):
    folder = copy_of(key)
    text = (folder / "drag.toml").read_text()
    assert old in text
    (folder / "drag.toml").write_text(text.replace(old, new, 1))
    with pytest.raises(InputError, match=complaint):
        read_family(folder)


def test_a_family_without_stack_and_without_click_is_refused(copy_of):
    folder = copy_of("fly_click")
    (folder / "drag.toml").write_text(
        "family = 'fly, click and pawl'\nbasis = 'judgement'\ngear_ratio = 1.0\n[clamp]\nkind = 'none'\n"
    )
    with pytest.raises(InputError, match="without a body and without a click"):
        read_family(folder)


@pytest.fixture
def star_drag_copy(copy_of):
    return copy_of("star_drag")


@pytest.mark.parametrize(
    ("file", "old", "new", "complaint"),
    [
        (
            "family.toml",
            'key = "star_drag"',
            'key = "stardrag"',
            r"family\.toml: key was 'stardrag'; allowed is one of star_drag",
        ),
        (
            "places.toml",
            'kind = "dog"',
            'kind = "pawl"',
            r"places\.toml, place dog: kind was 'pawl'; allowed .*ratchet",
        ),
        ("places.toml", 'group = "drag"', 'group = "brake"', r"place keyed_2: group was 'brake'"),
        ("places.toml", "count = 6", "count = 0", r"place head_screws: count was 0"),
        ("places.toml", "count = 6", "cuont = 6", r"place head_screws was cuont; allowed is one of clean, count"),
        (
            "places.toml",
            'look_alikes = ["tail_ring"]',
            "look_alikes = []",
            r"place tail_ring: look_alikes was head_ring",
        ),
        ("takedown.toml", 'cautions = ["springs"]', "cautions = []", r"step lift_bridge: cautions .* with springs"),
        (
            "takedown.toml",
            'cautions = ["clips"]',
            'cautions = ["clip"]',
            r"step ease_bearing_clip: cautions was 'clip'",
        ),
        ("takedown.toml", "minutes = 0.3", 'minutes = "short"', r"step undo_handle_screw: minutes was 'short'"),
        (
            "takedown.toml",
            'frees = ["handle_screw"]',
            'frees = ["screw"]',
            r"star_drag/takedown\.toml: places freed by undo_handle_screw was screw",
        ),
        (
            "takedown.toml",
            'after = ["handle_screw"]',
            'after = ["handle"]',
            r"takedown\.toml: the way to .* in a circle: handle arm waits for handle nut waits for handle arm",
        ),
        ("takedown.toml", "ahead = true", "ahead = 1", r"ahead was 1; allowed is true or false"),
        ("takedown.toml", "after_any = [[", "after_any = [", r"not readable as TOML"),
        (
            "takedown.toml",
            "after = ",
            "needs.all_of = ",
            r"takedown\.toml, step .*: needs\.all_of is now called after$",
        ),
        (
            "takedown.toml",
            "after_any = ",
            "needs.any_of = ",
            r"takedown\.toml, step .*: needs\.any_of is now called after_any$",
        ),
        ("takedown.toml", "after = ", "needs.all = ", r"takedown\.toml, step .* was needs; allowed is one of after,"),
        (
            "lubrication.toml",
            'kind = "light oil"',
            'kind = "butter"',
            r"kind was 'butter'; allowed is one of light oil",
        ),
        ("drag.toml", 'place = "friction_1"', 'place = "friction_9"', r"drag\.toml.*place was 'friction_9'"),
        ("drag.toml", "gear_ratio = 3.3", "", r"drag\.toml: gear_ratio was absent"),
        ("drag.toml", 'family = "star drag"', 'family = "star"', r"family was 'star'; allowed is one of star drag,"),
        ("drag.toml", 'basis = "judgement"', 'basis = "guess"', r"basis was 'guess'; allowed is one of judgement"),
        ("drag.toml", "thread_pitch_mm = 1.0", "thread_pitch_mm = 0", r"drag\.toml, clamp: thread_pitch_mm was 0"),
        ("drag.toml", "thread_pitch_mm = 1.0", "", r"drag\.toml, clamp: thread_pitch_mm was absent"),
    ],
)
def test_a_slip_in_the_data_is_refused_with_file_key_and_what_is_allowed(star_drag_copy, file, old, new, complaint):
    path = star_drag_copy / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    with pytest.raises(InputError, match=complaint):
        read_family(star_drag_copy)


def test_a_new_family_needs_no_code(tmp_path):
    folder = tmp_path / "single_action"
    folder.mkdir()
    (folder / "family.toml").write_text(
        'key = "single_action"\nname = "Single action"\nsentence = "A spool on a spindle, turned by its own rim."\n'
        '[[assembly]]\nkey = "spool"\nname = "Spool"\n'
    )
    (folder / "places.toml").write_text(
        '[[place]]\nkey = "cap"\nname = "spindle cap"\ngroup = "spool"\nkind = "cap"\nrenew = "rarely"\n'
        'clean = "solvent wipe"\n'
        '[[place]]\nkey = "spool"\nname = "spool"\ngroup = "spool"\nkind = "spool"\nrenew = "rarely"\n'
        'clean = "dry wipe"\n'
    )
    (folder / "takedown.toml").write_text(
        '[[step]]\nkey = "undo_cap"\ndo = "Undo the cap."\nfrees = ["cap"]\nminutes = 0.2\n'
        '[[step]]\nkey = "lift_spool"\ndo = "Lift the spool."\nfrees = ["spool"]\nminutes = 0.1\n'
        'after = ["cap"]\n'
    )
    (folder / "lubrication.toml").write_text(
        '[[point]]\npoint = "Spindle"\nplace = "spool"\nkind = "light oil"\nhow_much = "a film"\nwhy = "It turns."\n'
    )
    (folder / "drag.toml").write_text(
        "family = 'fly, disc drag'\nbasis = 'measured'\ngear_ratio = 1.0\n[clamp]\nkind = 'none'\n[stack]\n"
        + "".join(
            f"[[stack.bodies]]\nplace = '{place}'\nname = '{place}'\nkind = '{kind}'\nouter_diameter_mm = 20\n"
            "inner_diameter_mm = 5\nthickness_mm = 1\n"
            for place, kind in (("spool", "gear"), ("cap", "cap"))
        )
    )
    reel = read_family(folder)
    assert reach(reel.rules, ["spool"]).minutes == pytest.approx(0.3)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "odd.toml was without places"),
        ("place = 3", r"odd.toml: place was 3; allowed is tables headed \[\[place\]\]"),
        ("[[place]]\nname = 'x'", "odd.toml, place 1: key was absent"),
        ("[[place]]\nkey = 'x'\nname = 'x'", "no step frees x"),
        ("[[place]]\nkey = 'x'\nname = 'x'\n[[step]]\nkey = 's'\ndo = 'd'\nfrees = 'x'\nminutes = 1", "frees was 'x'"),
        ("[[place]]\nkey = 'x'\nname = 'x'\n[[setp]]", "odd.toml was setp; allowed is one of finish, place, step"),
        ("a = " + "[" * 100_000, "not readable as TOML"),
        ("\0", "not readable as TOML"),
    ],
)
def test_a_takedown_file_from_outside_is_refused_by_what_is_wrong_with_it(text, complaint):
    with pytest.raises(InputError, match=complaint):
        rules_from_toml("odd.toml", text)


def test_place_keys_are_plain_words():
    """They stand in addresses and in files."""
    for key in families():
        assert all(re.fullmatch(r"[a-z][a-z0-9_]*", place.key) for place in family(key).places)
