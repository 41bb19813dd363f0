"""A pattern's own places and steps on its pages: kept when they hold, and what stands in the way said while typing."""

import pytest
from django.urls import reverse

from levelwind.shop.models import Build, Pattern, PatternPlace
from levelwind.shop.patterns.selectors.layouts import pattern_family, pattern_layout
from levelwind.shop.patterns.services.patterns import pattern_add
from tests.shop.takedown.pieces_jobs import a_pattern
from tests.web.test_apart import HTMX, lines

pytestmark = pytest.mark.django_db

PLACE = {"name": "sleeve lock", "kind": "spring", "group": "gear_train", "count": "1", "hazard": "spring"}
PLACE |= {"renew": "rarely", "cleaning": "solvent wipe", "step": "lift_gear_sleeve"}


def step_as_shown(client, address):
    """What a step's form holds, as a browser would send it back."""
    form = client.get(address).context["page"].form
    names = ("do", "tool", "minutes", "cautions", "frees", "after", "photo", "back")
    return {name: form.initial[name] for name in names}


def test_a_place_of_its_own_comes_off_in_a_step_that_is_there_or_in_one_of_its_own(client):
    pattern = a_pattern()
    address = reverse("pattern_place_add", args=[pattern.pk])
    assert "It comes apart and goes together again" in lines(client.post(f"{address}?check", PLACE, headers=HTMX))
    assert Pattern.objects.get().says == {}
    assert client.post(address, PLACE).status_code == 302
    own = {**PLACE, "kind": "screw", "hazard": "none", "name": "lock screw", "do": "Undo the lock.", "minutes": "0.4"}
    assert client.post(address, {**own, "look_alikes": ["dog_screw"]}).status_code == 302
    layout = pattern_layout(Pattern.objects.get())
    steps = {step.key: step for step in layout.rules.steps}
    assert steps["lift_gear_sleeve"].frees[-1] == "own_sleeve_lock" and "springs" in steps["lift_gear_sleeve"].cautions
    assert steps["own_undo_the_lock"].frees == ("own_lock_screw",)
    assert steps["own_undo_the_lock"].after == frozenset(steps["lift_gear_sleeve"].frees)
    assert "own_lock_screw" in layout.by_key()["dog_screw"].look_alikes
    shown = lines(client.get(reverse("pattern_takedown", args=[pattern.pk])))
    assert "“Undo the lock.” names no tool." in shown and "Of its own." in shown
    twice = reverse("pattern_place_act", args=[pattern.pk, "friction_2"])
    assert client.post(twice, {"act": "twice"})["Location"].endswith("#own_second_drag_washer")
    twin = pattern_layout(Pattern.objects.get()).by_key()["own_second_drag_washer"]
    assert "friction_2" in twin.look_alikes and twin.kind == "friction_washer"
    out = reverse("pattern_place_act", args=[pattern.pk, "own_lock_screw"])
    PatternPlace.objects.create(pattern=pattern, key="own_lock_screw", part_number="TB-3")
    client.post(out, {"act": "out"})
    assert "own_undo_the_lock" not in {step.key for step in pattern_family(Pattern.objects.get()).rules.steps}
    assert client.post(address, own)["Location"].endswith("#own_lock_screw_2"), "a key is never given twice"


def test_a_step_is_changed_moved_and_refused_in_words(client):
    pattern = a_pattern()
    address = reverse("pattern_step", args=[pattern.pk, "lift_drag_washers"])
    shown = step_as_shown(client, address)
    answer = client.post(f"{address}?check", {**shown, "cautions": []}, headers=HTMX)
    assert "without the caution on old friction ahead of it" in lines(answer)
    bridge = reverse("pattern_step", args=[pattern.pk, "undo_bridge_screws"])
    answer = client.post(bridge, {**step_as_shown(client, bridge), "after": ["bridge"]})
    assert answer.status_code == 422 and "in a circle: " in lines(answer) and " waits for " in lines(answer)
    answer = client.post(address, {**shown, "frees": shown["frees"][:-1]})
    assert answer.status_code == 422 and "because no step frees" in lines(answer)
    question = {"gate_ask": "Is the lock flush?", "gate_why": "It scores the plate.", "gate_ahead": "on"}
    assert client.post(address, {**shown, "minutes": "2.5", "tool": "hook", **question}).status_code == 302
    step = next(step for step in pattern_family(Pattern.objects.get()).rules.steps if step.key == "lift_drag_washers")
    assert (step.minutes, step.tool, step.gates[-1].ask, step.gates[-1].ahead) == (
        2.5,
        "hook",
        "Is the lock flush?",
        True,
    )
    assert Pattern.objects.get().says["takedown"]["change"]["step"]["lift_drag_washers"].keys() == {
        *("minutes", "tool", "gate")
    }
    out = {"gates_out": [step.gates[-1].key, step.gates[0].key]}
    assert client.post(address, {**step_as_shown(client, address), **out}).status_code == 302
    steps = pattern_family(Pattern.objects.get()).rules.steps
    number, step = next((n, step) for n, step in enumerate(steps) if step.key == "lift_drag_washers")
    assert not {"own_is_the_lock_flush", *out["gates_out"]} & {gate.key for gate in step.gates}
    act = reverse("pattern_step_act", args=[pattern.pk, "lift_drag_washers"])
    client.post(act, {"above": steps[number - 1].key})
    assert pattern_family(Pattern.objects.get()).rules.steps[number - 1].key == "lift_drag_washers"
    assert "no step frees" in lines(client.post(act, {"act": "drop"}))


def test_a_step_of_its_own_takes_places_over_and_a_place_is_renamed(client):
    pattern = a_pattern()
    address = reverse("pattern_step_add", args=[pattern.pk])
    step = {"do": "Draw the head bearing with its clip.", "tool": "puller", "minutes": "1", "cautions": ["clips"]}
    assert client.post(address, {**step, "frees": []}).status_code == 422
    assert (
        client.post(address, {**step, "frees": ["bearing_clip", "head_bearing"], "after": ["spool"]}).status_code == 302
    )
    keys = {one.key for one in pattern_layout(Pattern.objects.get()).rules.steps}
    assert "own_draw_the_head_bearing_with_its_clip" in keys and not {"ease_bearing_clip", "draw_head_bearing"} & keys
    what = reverse("pattern_what", args=[pattern.pk, "dog"])
    shown = client.get(what).context["page"].form.initial
    assert client.post(what, {**shown, "name": "pawl"}).status_code == 302
    assert Pattern.objects.get().says["places"] == {"change": {"place": {"dog": {"name": "pawl"}}}}
    client.post(what, shown)
    assert pattern_layout(Pattern.objects.get()).by_key()["dog"].name == "dog"
    for address in (reverse("pattern_what", args=[pattern.pk, "x"]), reverse("pattern_step", args=[pattern.pk, "x"])):
        assert client.get(address).status_code == 404


def test_no_level_wind_is_one_press(client):
    pattern = pattern_add(maker="Tarnbeck", model="Harrier", family_key="round_casting")
    page = reverse("pattern", args=[pattern.pk])
    press = reverse("pattern_level_wind", args=[pattern.pk])
    assert "No level wind" in lines(client.get(page))
    client.post(press, {"has": "no"})
    assert "worm" not in pattern_layout(pattern).by_key() and "It has one" in lines(client.get(page))
    client.post(press, {"has": "yes"})
    assert "worm" in pattern_layout(pattern).by_key()


def test_pieces_change_their_order_ways_are_ticked_and_what_was_taken_out_comes_back(client):
    pattern = a_pattern()
    page, act = (reverse(name, args=[pattern.pk, "lift_drag_washers"]) for name in ("pattern_step", "pattern_step_act"))

    def step(key="lift_drag_washers"):
        return next(one for one in pattern_layout(Pattern.objects.get()).rules.steps if one.key == key)

    first, second, *rest = step().frees
    assert client.post(act, {"later": first})["Location"].endswith("/takedown/lift_drag_washers/#order")
    assert step().frees == (second, first, *rest)
    client.post(act, {"earlier": second})
    assert step().frees == (second, first, *rest), "the first stays the first"
    said = Pattern.objects.get().says["takedown"]["change"]["step"]["lift_drag_washers"]
    assert set(said) == {"frees"} and set(said["frees"]) == {"order"}, "what the family learns later still counts"
    twice = reverse("pattern_place_act", args=[pattern.pk, first])
    twin = client.post(twice, {"act": "twice"})["Location"].partition("#")[2]
    assert step().frees == (second, first, twin, *rest) or step().frees == (second, twin, first, *rest)
    client.post(twice.replace(first, twin), {"act": "out"})
    assert "one that comes off in this step" in lines(client.post(act, {"earlier": "spool"}))
    shown = {**step_as_shown(client, page), "way_0": ["spool"]}
    answer = client.post(page, shown)
    assert answer.status_code == 422 and "One way alone is no choice" in lines(answer)
    assert client.post(page, {**shown, "way_1": ["handle"]}).status_code == 302
    assert set(step().after_any) == {frozenset({"spool"}), frozenset({"handle"})}
    assert step().frees[:2] == (second, first), "saved again, the order stays"
    assert client.get(page).context["page"].form.ways()[2].initial == []
    client.post(page, {**shown, "way_0": []})
    client.post(act, {"later": second})
    assert "frees" not in str(Pattern.objects.get().says) and step().after_any == ()
    add = {"do": "Draw it with its clip.", "minutes": "1", "cautions": ["clips"], "frees": ["bearing_clip"]}
    client.post(reverse("pattern_step_add", args=[pattern.pk]), add)
    shown = lines(client.get(reverse("pattern_takedown", args=[pattern.pk])))
    assert "Taken out" in shown and "Back in" in shown
    back = reverse("pattern_step_act", args=[pattern.pk, "ease_bearing_clip"])
    assert client.post(back, {"act": "back"}).status_code == 302
    keys = {one.key for one in pattern_layout(Pattern.objects.get()).rules.steps}
    assert "ease_bearing_clip" in keys and "own_draw_it_with_its_clip" not in keys
    assert step("ease_bearing_clip").frees == ("bearing_clip",)
    PatternPlace.objects.create(pattern=pattern, key="worm", absent=True, part_number="TB-9")
    client.post(reverse("pattern_place_act", args=[pattern.pk, "worm"]), {"act": "in"})
    assert pattern_layout(Pattern.objects.get()).by_key()["worm"].part_number == "TB-9"


def test_a_place_or_a_step_of_its_own_that_was_taken_out_comes_back_in_one_press(client):
    """With the step that came for it, in its place, and alike to what it was alike to; its key is not given anew."""
    pattern = a_pattern()
    build = Build.objects.create(pattern=pattern, name="late")
    for one, kind in ((pattern, "pattern"), (build, "build")):
        keys = [pattern.pk] if one is pattern else [pattern.pk, build.pk]
        home, takedown = reverse(kind, args=keys), reverse(f"{kind}_takedown", args=keys)

        def act(what, key, said, kind=kind, keys=keys):
            return client.post(reverse(f"{kind}_{what}_act", args=[*keys, key]), {"act": said})

        new = {**PLACE, "name": "sleeve pin", "do": "Push the pin out.", "tool": "punch", "minutes": "2"}
        pin = client.post(reverse(f"{kind}_place_add", args=keys), new)["Location"].partition("#")[2]
        twin = act("place", "friction_1", "twice")["Location"].partition("#")[2]
        before = _laid(one)
        for place in (pin, twin):
            assert act("place", place, "out").status_code == 302
            assert place not in _laid(one)[0]
        assert "Back in: sleeve pin" in client.get(home).content.decode()
        assert "Back in: Push the pin out." in client.get(takedown).content.decode()
        again = client.post(reverse(f"{kind}_place_add", args=keys), {**new, "do": ""})["Location"].partition("#")[2]
        assert again != pin
        act("place", again, "out")
        for place in (twin, pin):
            assert act("place", place, "in").status_code == 302
        assert act("place", pin, "in").status_code == 302, "pressed twice"
        assert _laid(one) == before and "Back in: sleeve pin" in client.get(home).content.decode(), "the other one"
        step = next(key for key in before[1] if key.startswith("own_push"))
        act("place", pin, "out")
        assert act("step", step, "back").status_code == 302 and _laid(one) == before
    client.post(reverse("pattern_place_act", args=[pattern.pk, "own_never"]), {"act": "in"})
    assert "own_never" not in _laid(pattern)[0]


def _laid(one):
    pattern = Pattern.objects.get()
    laid = pattern_layout(pattern, None if isinstance(one, Pattern) else Build.objects.get())
    places = {place.key: (place.name, place.count, set(place.look_alikes)) for place in laid.places}
    return places, {step.key: step.frees for step in laid.rules.steps}
