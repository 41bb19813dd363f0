"""What is said of a computed drag before anyone leans on it: tables, usual hands, and what a lining stands."""

from dataclasses import replace
from math import pi

import pytest

from levelwind.core.drag.model import Coefficient, Stack
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.drag_system.model import GivenForce
from levelwind.core.drag_system.usual import EVER_HELD_N
from levelwind.core.notes import Amount, Note
from levelwind.core.quantities import Quantity
from tests.core.drag_system.systems import DIRECT, GEARED, TWO_LININGS, computed

AREA_M2 = pi * (0.012**2 - 0.006**2)
"""Of each face of TWO_LININGS."""


def _note(result: DragResult, key: str) -> Note | None:
    return next((note for note in result.notes if note.key == key), None)


def _of(material: str) -> Stack:
    bodies = (replace(b, material=material) if b.material == "felt" else b for b in TWO_LININGS.bodies)
    return replace(TWO_LININGS, bodies=tuple(bodies))


@pytest.mark.parametrize(("lining", "pressed_MPa", "stands_MPa"), [("leather", 2.4, 0.25), ("felt", 2.8, 0.06)])
def test_a_lining_pressed_harder_than_its_table_allows_is_told(
    lining: str, pressed_MPa: float, stands_MPa: float
) -> None:
    """Pressure is clamp force over the ring; the limits are the friction table's (clutch and brake linings)."""
    force = Quantity.exact(1e6 * pressed_MPa * AREA_M2)
    note = _note(computed(GEARED, stack=_of(lining), clamp=GivenForce(force)), "lining_pressed")
    assert note is not None
    said = [part.of.value for _, part in note.carried if isinstance(part, Amount)]
    assert said == pytest.approx([pressed_MPa, stands_MPa])
    assert "set it lighter" in note.words() and "wider washers" in note.words()


def test_a_lining_within_its_limit_or_without_one_is_not_warned_of() -> None:
    gently = GivenForce(Quantity.exact(0.05e6 * AREA_M2))
    assert _note(computed(GEARED, clamp=gently), "lining_pressed") is None
    hard = GivenForce(Quantity.exact(5e6 * AREA_M2))
    assert _note(computed(GEARED, stack=_of("woven carbon lining"), clamp=hard), "lining_pressed") is None


def test_an_answer_that_hangs_on_a_table_alone_asks_for_a_pull() -> None:
    note = _note(computed(GEARED), "table_alone")
    assert note is not None and "felt" in note.words() and "measure one pull" in note.words()


def test_a_friction_of_ones_own_asks_for_none() -> None:
    own = Coefficient(Quantity(0.2, 0.18, 0.22), "the shop's own pulls")
    bodies = (replace(b, coefficient=own) if b.material == "felt" else b for b in TWO_LININGS.bodies)
    measured = replace(TWO_LININGS, bodies=tuple(bodies))
    assert _note(computed(GEARED, stack=measured), "table_alone") is None
    assert _note(computed(DIRECT), "table_alone") is None


def test_a_usual_clamp_that_gives_more_than_the_kind_ever_holds_says_so() -> None:
    """The same number that somebody said or measured stands as it is."""
    most = EVER_HELD_N[GEARED.drive.family]
    strong = GivenForce(Quantity.exact(400.0 * 1.5 * most / computed(GEARED).fills[0].run_in_N.value))
    note = _note(computed(GEARED, clamp=strong, usual=True), "beyond_its_kind")
    assert note is not None and "star drag" in note.words() and "measure one pull" in note.words()
    assert _note(computed(GEARED, clamp=strong), "beyond_its_kind") is None
    assert _note(computed(GEARED, usual=True), "beyond_its_kind") is None
