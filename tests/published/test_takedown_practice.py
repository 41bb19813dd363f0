"""Common practice of the trade that the families must carry. None of it has a source: common practice, no source."""

import pytest

from levelwind.core.takedown import Refit, goes, goes_back, reach, rebuild
from levelwind.reference.cautions import cautions
from levelwind.reference.families import families, family
from levelwind.reference.faults import load_net

EVERY = pytest.mark.parametrize(
    "reel", [family(key) for key in ("star_drag", "fixed_spool")], ids=lambda reel: reel.key
)


@EVERY
def test_a_drag_set_is_renewed_on_any_reel_that_is_open(reel):
    """Common practice, no source: it costs about ten dollars, so it is renewed even if it looks sound."""
    drag = [place for place in reel.places if place.kind == "friction_washer"]
    assert len(drag) >= 3
    assert {place.renew for place in drag} == {"whenever open"}


def test_some_end_float_must_remain_in_the_spool():
    """Common practice, no source."""
    asked = {gate.key: gate for gate in rebuild(family("star_drag").rules, frozenset()).gates}
    assert "Some end float must remain" in asked["end_float_felt"].why


@EVERY
def test_residue_of_an_old_washer_comes_off_the_metal_ones_before_the_new_go_in(reel):
    """Common practice, no source: a stuck or broken leather washer leaves residue on the metal ones."""
    [step] = [step for step in reel.rules.steps if "friction_1" in step.frees]
    assert "every trace" in step.back and "first" in step.back


@EVERY
def test_bearings_are_oiled_and_gear_teeth_greased(reel):
    """Common practice, no source."""
    for point in reel.lubrication:
        if reel.place(point.place).kind == "bearing" and point.kind != "nothing":
            assert point.kind == "light oil"
        if "teeth" in point.point:
            assert point.kind == "reel grease"


def test_the_anti_reverse_clutch_is_never_greased():
    """Common practice, no source: its rollers grip by friction."""
    [point] = [point for point in family("fixed_spool").lubrication if point.place == "clutch"]
    assert point.kind == "nothing" and "never grease" in point.how_much


def place_of(family_key, place):
    return family(family_key).place(place)


def freed_with(family_key, place):
    """The step that frees this place."""
    [step] = [step for step in family(family_key).rules.steps if place in step.frees]
    return step


def test_bridge_screws_are_two_kinds_in_two_places():
    """Common practice, no source: the partly threaded pair carries the yoke springs above, the other goes below."""
    pairs = ("bridge_screws", "yoke_screws")
    assert [place_of("star_drag", key).count for key in pairs] == [2, 2]
    assert "yoke_screws" in place_of("star_drag", "bridge_screws").look_alikes
    [gate] = [gate for gate in freed_with("star_drag", "bridge_screws").gates if gate.ahead]
    assert "Partly threaded pair above, under the yoke springs" in gate.ask
    assert "the reel works" in gate.why and "catch a thread" in gate.why


def test_the_sleeve_s_pin_is_pushed_through_and_goes_back_at_once_and_flush():
    """Common practice, no source."""
    step = freed_with("star_drag", "gear_sleeve")
    assert step.frees[0] == "sleeve_pin" and "at once" in step.back
    assert any("flush" in gate.ask for gate in step.gates)


def test_a_hard_washer_under_the_stack_is_no_lining():
    """Common practice, no source."""
    washer = place_of("star_drag", "hard_washer")
    assert washer.kind == "washer" and washer.look_alikes == {"under_gear_washer"}
    assert washer.key not in family("star_drag").drag_places


def test_metal_faces_are_free_of_ruts_and_old_residue_before_a_washer_goes_on():
    """Common practice, no source."""
    gates = {gate.key: gate for gate in freed_with("star_drag", "friction_1").gates}
    assert gates["metal_faces_clean"].ahead and "ruts" in gates["metal_faces_clean"].ask


OILED = [
    ("star_drag", "pawl", "light oil"),
    ("star_drag", "guide_bar", "light oil"),
    *(("star_drag", place, "reel grease") for place in ("head_ring", "tail_ring", "head_plate", "foot")),
    ("low_profile", "shaft_bearing", "light oil"),
    ("fixed_spool", "rotor_brake", "nothing"),
]


@pytest.mark.parametrize(("family_key", "place", "kind"), OILED)
def test_what_salt_and_wear_ask_for(family_key, place, kind):
    """Common practice, no source."""
    assert kind in {point.kind for point in family(family_key).lubrication if point.place == place}


def how_much(family_key, place):
    return " ".join(point.how_much for point in family(family_key).lubrication if point.place == place)


def test_leather_is_soaked_and_bearings_are_greased_where_the_reel_trolls_or_fishes_in_salt():
    """Common practice, no source."""
    assert "leather is soaked, not filmed" in how_much("star_drag", "friction_1")
    assert "where it casts" in how_much("lever_drag", "tail_bearing") and "trolls" in how_much(
        "lever_drag", "tail_bearing"
    )
    assert "reel grease" in how_much("fixed_spool", "cover_bearing")


WHERE_THERE_IS_ONE = {
    "star_drag": {"sleeve_pin", "hard_washer", "override_lever", "head_bushing"},
    "low_profile": {"shaft_bearing", "shaft_bushing", "backup_pawl", "idler", "spool_pin"},
    "fixed_spool": {"kick_ramp", "rotor_brake", "line_clip", "body_seals", "pinion_bushing", "ar_switch"},
    "fly_click": {"latch", "latch_spring", "latch_screws", "latch_cover"},
}


@pytest.mark.parametrize("family_key", WHERE_THERE_IS_ONE)
def test_pieces_that_some_reels_have_and_others_lack(family_key):
    """Common practice, no source; a fly reel on a solid spindle has no latch."""
    places = {place.key: place for place in family(family_key).places}
    assert all(places[key].optional for key in WHERE_THERE_IS_ONE[family_key])


@pytest.mark.parametrize("family_key", families())
def test_no_gate_asks_for_a_photo_that_nobody_may_have_taken(family_key):
    rules = family(family_key).rules
    assert not [gate.key for step in rules.steps for gate in step.gates if "photo" in gate.ask]


@pytest.mark.parametrize("family_key", ["star_drag", "low_profile", "lever_drag", "fixed_spool", "fly", "fly_click"])
def test_salt_takes_an_hour_and_a_half_to_three_hours(family_key):
    """Common practice, no source: 90 to 180 minutes."""
    assert 90 <= load_net(family_key).fault("salt_corrosion").minutes <= 180


ELECTRICAL = ("counter", "palm_plate", "motor", "power_socket", "motor_switch")


@pytest.mark.parametrize("place", ELECTRICAL)
def test_nothing_electrical_is_opened_before_the_power_lead_is_off(place):
    """Common practice, no source."""
    electric = family("electric").rules
    way = reach(electric, [place]).steps
    assert way.index(electric_step("power_lead")) < way.index(electric_step(place))
    assert "power_off" in electric_step(place).cautions


def electric_step(place):
    return freed_with("electric", place)


def test_what_is_left_to_licensed_practice_is_said_where_the_power_is():
    """Common practice, no source; local rules decide."""
    assert "licensed_electrics" in electric_step("power_lead").cautions
    assert "licensed_electrics" in electric_step("motor").cautions
    assert "Chargers, mains leads" in cautions()["licensed_electrics"].text
    asked = {gate.key for gate in rebuild(family("electric").rules, frozenset()).gates}
    assert {"runs_on_a_fused_supply", "counter_counts"} <= asked


def test_a_motor_and_a_counter_stay_shut():
    """Common practice, no source: a sealed case that was opened is no longer sealed."""
    assert {place_of("electric", key).clean for key in ("motor", "counter")} == {"leave closed"}


def test_an_old_fixed_spool_has_a_dog_and_no_roller_clutch():
    """Common practice, no source: a reel of 1955 is not shown a roller clutch."""
    kinds = {place.key: place.kind for place in family("fixed_spool_vintage").places}
    assert "clutch" not in kinds and (kinds["ar_lever"], kinds["ar_ratchet"]) == ("dog", "ratchet")
    assert "manual_pickup" in kinds and "roller_bearing" not in kinds


def test_a_closed_face_winds_by_a_pick_up_pin_and_has_no_bail():
    """Common practice, no source."""
    places = {place.key for place in family("closed_face").places}
    assert {"front_cover", "pickup_pin", "thumb_button"} <= places and not {"bail_arm", "bail_spring"} & places
    asked = {gate.key for gate in rebuild(family("closed_face").rules, frozenset()).gates}
    assert "line_lets_go_felt" in asked


@pytest.mark.parametrize(
    ("family_key", "has"),
    [
        ("lever_drag_two_speed", {"low_gear", "low_pinion", "selector_button", "selector_key", "shaft_springs"}),
        ("round_casting", {"brake_blocks", "cast_cap", "free_spool_lever", "worm"}),
        ("single_action", {"spool_screw", "click_wheel"}),
        ("centre_pin", {"pin_bearings", "click_button"}),
        ("side_cast", {"swivel_bolt", "detent_spring"}),
        ("fixed_spool_free_run", {"run_friction", "run_lever", "run_knob"}),
    ],
)
def test_each_kind_has_what_makes_it_one_and_a_last_gate_that_feels_for_it(family_key, has):
    """Common practice, no source."""
    reel = family(family_key)
    assert has <= {place.key for place in reel.places}
    assert len({gate.key for gate in reel.rules.finish}) >= 3


def test_two_speeds_have_twin_dogs():
    """Common practice, no source."""
    assert [place_of("lever_drag_two_speed", key).count for key in ("dog", "dog_screw", "dog_spring_1")] == [2, 2, 2]


def test_blocks_are_never_oiled_and_a_centre_pin_gets_the_thinnest():
    """Common practice, no source."""
    assert "dry" in how_much("round_casting", "brake_blocks")
    assert "thinnest" in how_much("centre_pin", "spindle")


def test_any_reel_comes_apart_and_goes_together_in_about_as_many_presses_as_it_has_steps():
    """One by one it would be a press a step, a press a step back and a press a gate: three times as many."""
    for key in families():
        steps = family(key).rules.steps
        back = goes_back(Refit(step, tuple(reversed(step.frees))) for step in reversed(steps))
        assert len(goes(steps)) + len(back) + 1 <= 1.15 * len(steps), key
