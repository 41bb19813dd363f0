"""Layers over a family: one law for a pattern, a build and a reel; what cannot be is refused in words."""

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.errors import InputError
from levelwind.core.takedown import Piece, Whereabouts, full, open_questions, rebuild, tray_cells
from levelwind.reference.families import families, family
from levelwind.reference.layer_changes import place_freed, row_added, row_gone, row_said
from levelwind.reference.layers import Under, laid_out, refuse_misshapen, values_beneath
from tests.full_size import cases

PIN = {"key": "own_pin", "name": "lock pin", "group": "gear_train", "kind": "pin", "renew": "rarely"}
PIN |= {"clean": "solvent wipe"}
SPRING = {**PIN, "key": "own_spring", "name": "screw spring", "kind": "spring", "hazard": "spring"}
DRAW = {"key": "own_draw_pin", "do": "Draw the pin.", "frees": ["own_pin"], "tool": "pliers", "minutes": 0.2}


def step_row(key: str) -> dict[str, Any]:
    return next(row for row in values_beneath("star_drag", [])["takedown.toml"]["step"] if row["key"] == key)


@pytest.mark.parametrize("key", families())
def test_a_dropped_place_is_gone_as_the_rules_have_it(key: str) -> None:
    """Against `Rules.without`, which tells the same apart from any layer; some places of each family."""
    kin = family(key)
    gone = frozenset(place.key for place in kin.places if place.optional)
    laid = laid_out(key, [{"places": {"drop": {"place": sorted(gone)}}}])
    assert laid.rules.steps == kin.rules.without(gone).steps
    assert {place.key for place in laid.places} == {place.key for place in kin.places} - gone


def test_layers_lie_over_one_another_and_none_is_touched() -> None:
    pattern = row_added(row_added({}, "places", PIN), "takedown", {**DRAW, "behind": "lift_main_gear"})
    kept = copy.deepcopy(pattern)
    build = row_said({}, "places", "own_pin", {"name": "short pin", "count": 2}, beneath=PIN)
    reel = place_freed({}, SPRING, DRAW)
    laid = laid_out("star_drag", [pattern, build, reel])
    assert (laid.place("own_pin").name, laid.place("own_pin").count) == ("short pin", 2)
    step = next(step for step in laid.rules.steps if step.key == "own_draw_pin")
    assert step.frees == ("own_pin", "own_spring") and step.cautions == ("springs",)
    keys = [step.key for step in laid.rules.steps]
    assert keys.index("own_draw_pin") == keys.index("lift_main_gear") + 1
    assert pattern == kept
    # A layer that speaks of what is not there any more holds as far as it goes, and one that is kept twice counts once.
    assert laid_out("star_drag", [build]) == family("star_drag")
    assert laid_out("star_drag", [pattern, reel, reel]) == laid_out("star_drag", [pattern, reel])
    assert laid_out("star_drag", [row_gone(pattern, "places", "own_pin")]) == family("star_drag")


def test_a_step_moves_and_a_list_is_told_by_what_is_more_and_less() -> None:
    lift = step_row("lift_main_gear")
    told = {"cautions": [*lift["cautions"], "springs"], "tool": lift["tool"]}
    layer = row_said({}, "takedown", "lift_main_gear", told, beneath=lift)
    assert "tool" not in layer["takedown"]["change"]["step"]["lift_main_gear"]
    layer = row_said(layer, "takedown", "lift_main_gear", {"before": "undo_handle_screw"}, beneath=lift)
    first = Under("star_drag").checked(layer, "this").rules.steps[0]
    assert (first.key, first.cautions) == ("lift_main_gear", (*lift["cautions"], "springs"))


@pytest.mark.parametrize(
    ("layer", "complaint"),
    [
        (row_added({}, "places", PIN), "the way to lock pin was out of reach, because no step frees lock pin"),
        (row_gone({}, "takedown", "lift_main_gear"), "no step frees main gear"),
        (
            row_said({}, "takedown", "lift_main_gear", {"after": ["dog"]}, beneath=step_row("lift_main_gear")),
            "in a circle: .* waits for ",
        ),
        (row_added(row_added({}, "places", SPRING), "takedown", {**DRAW, "frees": ["own_spring"]}), "with springs"),
        (row_added(row_added({}, "places", PIN), "places", PIN), "own_pin was there already"),
        (row_added(row_added({}, "places", PIN), "takedown", {**DRAW, "frees": ["own_pin"] * 2}), "own_pin twice"),
        (row_said({}, "places", "nothing", {"count": 2}), "change.place was nothing"),
        (row_said({}, "places", "spool", {"count": 0}), "count was 0"),
        (
            {"places": {"place": [{**PIN, "key": f"own_{number}"} for number in range(2000)]}},
            "number of places was 20.*; allowed is up to 600",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(layer: dict[str, Any], complaint: str) -> None:
    refuse_misshapen(layer, "the pattern")
    with pytest.raises(InputError, match=complaint):
        Under("star_drag").checked(layer, "the pattern")


@pytest.mark.parametrize(
    "layer",
    [
        3,
        {"places": []},
        {"drag": {}},
        {"places": {"place": [{"key": "a b"}]}},
        {"places": {"place": [{"key": 3}]}},
        {"places": {"place": [{**PIN, "key": "k" * 61}]}},
        {"places": {"place": [{**PIN, "name": "n" * 121}]}},
        {"takedown": {"step": [{**DRAW, "frees": [{}]}]}},
        {"takedown": {"drop": {"step": [{}]}}},
        {"takedown": {"change": {"step": {"a": {"frees": [[["deep"]]]}}}}},
    ],
)
def test_a_misshapen_layer_is_refused(layer: object) -> None:
    with pytest.raises(InputError, match="the file"):
        refuse_misshapen(layer, "the file")


KEYS = [step.key for step in family("star_drag").rules.steps]


@pytest.mark.sampled
@settings(max_examples=cases(6, 200), deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(KEYS), st.sampled_from(["pin", "spring", "friction_washer"]), st.booleans()),
        min_size=1,
        max_size=8,
    ),
    st.sets(st.sampled_from([place.key for place in family("star_drag").places if place.optional])),
)
def test_with_places_and_steps_of_its_own_the_tray_balances(
    more: list[tuple[str, str, bool]], absent: set[str]
) -> None:
    """Every place comes free once into one cell, and the way back fills each again."""
    layer: dict[str, Any] = {"places": {"drop": {"place": sorted(absent)}}} if absent else {}
    for number, (step, kind, apart) in enumerate(more):
        place = {**PIN, "key": f"own_{number}", "kind": kind, "hazard": "spring" if kind == "spring" else "none"}
        row = step_row(step)
        if apart:
            row = {**DRAW, "key": f"own_step_{number}", "frees": [], "after": row["frees"]}
            layer = row_added(layer, "takedown", row)
        layer = place_freed(layer, place, row)
    laid = laid_out("star_drag", [layer])
    way = full(laid.rules)
    cells = tray_cells(laid.rules, way.steps)
    places = {place.key for place in laid.places}
    assert set(cells) == places and len([key for step in way.steps for key in step.frees]) == len(places)
    back = [key for refit in rebuild(laid.rules, frozenset(places)).steps for key in refit.places]
    assert sorted(back) == sorted(places)
    pieces = [Piece(place=key, name=key, where=Whereabouts.REEL) for key in back]
    assert open_questions(pieces) == ()
