"""The builds that ship are held to what a family is held to; facts of the trade: common practice, no source."""

import pytest

from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.drag.torque import idle_bodies
from levelwind.core.errors import InputError
from levelwind.core.takedown import full, tray_cells
from levelwind.reference.builds import layers_of, refuse_unknown_builds, shipped_builds
from levelwind.reference.families import Family, families
from levelwind.reference.layer_edits import remarks
from levelwind.reference.layers import laid_out
from levelwind.reference.materials import coefficient, known_materials

SHIPPED = [(family, key) for family in families() for key in shipped_builds(family)]


def built(family: str, *keys: str) -> Family:
    return laid_out(family, layers_of(family, keys))


@pytest.mark.parametrize(("family", "key"), SHIPPED)
def test_a_build_is_held_to_what_a_family_is_held_to(family: str, key: str) -> None:
    kin = built(family, key)
    way = full(kin.rules)
    cells = tray_cells(kin.rules, way.steps)
    assert set(cells) == {place.key for place in kin.places} and remarks(kin) == ()
    for place in kin.places:
        assert all(cells[place.key] != cells[other] for other in place.look_alikes)
        step = next(step for step in kin.rules.steps if place.key in step.frees)
        if place.look_alikes:
            assert any(gate.ahead for gate in step.gates), f"{place.key} goes in without being told apart"
    stack = shipped_builds(family)[key].stack
    if stack is not None:
        laid = stack_from_dict(stack)
        find_contacts(laid, coefficient)
        assert {body.material for body in laid.bodies if body.material} <= set(known_materials())
        assert idle_bodies(laid) == ()


def test_the_facts_of_each_build() -> None:
    plate = built("star_drag", "single_screw_plate")
    steps = {step.key: step for step in plate.rules.steps}
    assert "head_screws" not in {place.key for place in plate.places} and "undo_head_screws" not in steps
    assert "take_apart_screw" not in steps["lift_head_plate"].frees, "its screw backs out without leaving"
    assert steps["push_out_take_apart_screw"].cautions == ("springs",)
    bridge = {step.key: step for step in built("star_drag", "dog_under_bridge").rules.steps}["lift_bridge"]
    assert bridge.frees[-2:] == ("dog_spring", "dog") and "springs" in bridge.cautions
    assert built("star_drag", "bushings").place("head_bearing").kind == "sleeve"
    both = built("star_drag", "bushings", "single_screw_plate", "dog_under_bridge")
    assert len(full(both.rules).steps) == len(both.rules.steps)
    assert built("fly", "sealed_drag").place("sealed_unit").clean == "leave closed"
    solid = built("fly_click", "solid_spindle")
    assert not [place.key for place in solid.places if "latch" in place.key]
    assert not [gate for step in solid.rules.steps for gate in step.gates if "latch" in gate.ask + step.do + step.back]
    lift = next(step for step in solid.rules.steps if step.frees == ("spool",))
    assert "spool_screw" in lift.after, "common practice, no source: its screw holds the spool"
    assert "friction_3" in built("fly", "stacked_drag").place("friction_2").look_alikes


def test_a_build_that_does_not_ship_is_refused_or_passed_over() -> None:
    assert layers_of("fly", ["no_such"]) == [] and shipped_builds("fixed_spool") == {}
    with pytest.raises(InputError, match="built as was 'x'; allowed is one of sealed_drag, stacked_drag"):
        refuse_unknown_builds("fly", ["x"])
