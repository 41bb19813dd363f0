"""Common practice of the trade that the families must carry. None of it has a source: common practice, no source."""

import pytest

from levelwind.core.takedown import rebuild
from levelwind.reference.families import family

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
