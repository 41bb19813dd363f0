"""What the bench is told: torque with its interval, idle washers, the cure, the drawing, how worked out."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from levelwind.core.codec import as_shown
from levelwind.core.drag.chain import torque_per_N
from levelwind.core.drag.contacts import find_contacts
from levelwind.core.drag.draws import sampled
from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.model import Coefficient, Stack
from levelwind.core.drag.order import right_order
from levelwind.core.drag.report import DragReport, at_the_spool, drag_report
from levelwind.core.drag.rings import Assumption, friction_radius_m
from levelwind.core.drag.torque import coefficient_draws, evaluate, torque_draws_Nm, torque_Nm
from levelwind.core.errors import InputError
from levelwind.core.quantities import Quantity
from tests.core.drag.stacks import THREE_BETWEEN_ALTERNATE_PLATES, body, stack

WIDE = {"value": 0.21, "low": 0.15, "high": 0.30}
CLAMP = Quantity(200.0, 180.0, 225.0)


def dice() -> np.random.Generator:
    return np.random.default_rng(7)


def report_of(built: Stack) -> DragReport:
    contacts = find_contacts(built)
    torque = evaluate(built, contacts, CLAMP, dice())
    return drag_report(built, contacts, CLAMP, torque, right_order(built))


def wide_stack():
    return stack(*(body(k, friction=WIDE) if k == "friction" else k for k in THREE_BETWEEN_ALTERNATE_PLATES))


@given(st.floats(0.0, 0.999), st.floats(1e-3, 0.2))
def test_wear_never_gives_more_than_pressure(ratio: float, outer: float) -> None:
    wear, pressure = (
        friction_radius_m(ratio * outer, outer, assumption) for assumption in (Assumption.WEAR, Assumption.PRESSURE)
    )
    assert ratio * outer <= wear <= pressure * (1 + 1e-12) <= outer * (1 + 1e-12)


@given(st.floats(0.01, 1.0), st.floats(1.0, 1e4), st.floats(0.1, 10.0))
def test_torque_is_linear_in_force_and_coefficient(mu: float, force: float, factor: float) -> None:
    def torque(mu: float, newtons: float) -> float:
        return newtons * float(torque_per_N([1, -1], np.array([mu]), 0.004, 0.012, Assumption.PRESSURE))

    once = torque(mu, force)
    assert torque(factor * mu, force) == pytest.approx(factor * once, rel=1e-12)
    assert torque(mu, factor * force) == pytest.approx(factor * once, rel=1e-12)


@pytest.mark.parametrize("radii", [(0.012, 0.010), (-0.001, 0.010), (0.0, 0.0), (float("nan"), 0.01)])
def test_a_ring_that_cannot_be_is_refused(radii: tuple[float, float]) -> None:
    with pytest.raises(InputError, match="inner radius"):
        friction_radius_m(*radii, Assumption.WEAR)


@given(st.floats(0.01, 10.0), st.floats(1.01, 5.0), st.floats(1.01, 5.0))
def test_a_spread_has_its_value_in_the_middle_and_its_ends_at_the_ends(value: float, down: float, up: float) -> None:
    quantity = Quantity(value, value / down, value * up)
    drawn = sampled(quantity, np.random.default_rng(1).standard_normal(4000))
    assert np.median(drawn) == pytest.approx(value, rel=0.1 * max(down, up))
    # 4000 draws: the share outside 90 % is 400 of them, give or take 3 * 19.
    assert np.sum((drawn < quantity.low) | (drawn > quantity.high)) == pytest.approx(400, abs=57)


def test_the_value_is_at_the_middle_and_the_interval_from_the_draws() -> None:
    built = wide_stack()
    contacts = find_contacts(built)
    found = evaluate(built, contacts, CLAMP, dice())
    assert found.run_in_Nm.value == pytest.approx(torque_Nm(built, contacts, 200.0, Assumption.WEAR))
    assert found.new_Nm.value > found.run_in_Nm.value
    drawn = torque_draws_Nm(built, contacts, CLAMP, dice(), 50_000)[Assumption.WEAR]
    inside = np.mean((drawn >= found.run_in_Nm.low) & (drawn <= found.run_in_Nm.high))
    # Ends from 4,000 draws: each end's share has a standard error of 0.0034.
    assert inside == pytest.approx(0.9, abs=0.015)


def test_what_is_not_known_of_a_material_is_not_averaged_away_over_its_washers() -> None:
    """Three washers of one material vary together: the interval's ratio is the coefficient's, not narrower."""
    found = evaluate(wide_stack(), find_contacts(wide_stack()), Quantity.exact(200.0), dice(), draws=50_000)
    assert found.run_in_Nm.high / found.run_in_Nm.low == pytest.approx(0.30 / 0.15, rel=0.03)


def test_a_washer_on_brass_shares_the_draw_of_its_material_on_steel() -> None:
    """Two and four times less known together, not apart: the sum is out by the ratio that each of them is out by."""
    figures = {"steel": Quantity(0.2, 0.1, 0.4), "brass": Quantity(0.1, 0.05, 0.2)}

    def lookup(one: str, other: str, condition: str) -> Coefficient:
        return Coefficient(next(figures[name] for name in (one, other) if name in figures), "made up")

    lining = {**body("friction"), "friction": None, "material": "felt"}
    gear, plate = body("gear", material="brass"), body("keyed", material="steel", inner_diameter_mm=12.0)
    built = stack(plate, lining, body("eared", material="steel"), lining, gear, lining, body("cap", material="brass"))
    contacts = find_contacts(built, lookup)
    drawn = coefficient_draws(contacts, dice(), 2000)
    assert contacts[0].coefficient != contacts[5].coefficient
    assert drawn[:, 0] == pytest.approx(2 * drawn[:, 5], rel=1e-12)
    found = evaluate(built, contacts, Quantity.exact(200.0), dice(), draws=50_000)
    assert found.run_in_Nm.high / found.run_in_Nm.low == pytest.approx(4.0, rel=0.03)


def test_two_materials_do_not_share_a_draw() -> None:
    """Nor does metal on metal with the lining beside it."""
    wide = Coefficient(Quantity(0.2, 0.1, 0.4), "made up")
    felt, cork = ({**body("friction"), "friction": None, "material": name} for name in ("felt", "cork"))
    steel = {"material": "steel"}
    built = stack(
        body("gear", **steel), felt, body("keyed", **steel), cork, body("eared", **steel), body("cap", **steel)
    )
    drawn = coefficient_draws(find_contacts(built, lambda *_: wide), dice(), 4000)
    assert drawn[:, 0] == pytest.approx(drawn[:, 1], rel=1e-12)
    together = np.corrcoef(np.log(drawn[:, [0, 2, 4]]).T)[np.triu_indices(3, 1)]
    # Of 4000 independent pairs: a standard error of 0.016.
    assert np.abs(together).max() < 0.06


def test_the_same_dice_give_the_same_answer() -> None:
    built = wide_stack()
    assert evaluate(built, find_contacts(built), CLAMP, dice()) == evaluate(built, find_contacts(built), CLAMP, dice())


def test_a_wrong_order_is_told_with_its_cost_and_its_cure() -> None:
    told = report_of(stack("gear", "friction", "eared", "friction", "keyed", "friction", "cap"))
    assert told.sentences[0].startswith("1 surface slips")
    assert told.sentences[1] == "Idle, only taking up room: friction, friction."
    assert told.sentences[2] == "This order loses 67 % of the drag the same washers could give."
    assert told.sentences[3].startswith("Right order, from the far end: gear, friction,")


def test_an_order_that_is_only_the_best_of_those_tried_is_not_called_the_right_one() -> None:
    built = stack("gear", "friction", "eared", "friction", "keyed", "friction", "cap")
    contacts = find_contacts(built)
    torque, found = evaluate(built, contacts, CLAMP, dice()), right_order(built)
    told = drag_report(built, contacts, CLAMP, torque, replace(found, proven=False))
    assert told.sentences[3].startswith("Better order, the best of those tried, as there are too many to try them all")


def test_metal_on_metal_is_warned_of() -> None:
    told = report_of(stack("gear", body("cap", friction=0.4)))
    assert "cap rubs on gear, metal on metal: it will gall and grab." in told.torque.cautions


def test_the_drawing_is_to_scale_with_idle_washers_and_slip_surfaces_marked() -> None:
    told = report_of(stack("gear", "friction", "keyed", "friction", "cap"))
    drawn = told.section
    assert [piece.x1_mm - piece.x0_mm for piece in drawn.pieces] == [1.0] * 5
    assert all(before.x1_mm == after.x0_mm for before, after in zip(drawn.pieces, drawn.pieces[1:], strict=False))
    assert (drawn.length_mm, drawn.radius_mm) == (5.0, 12.0)
    assert [piece.idle for piece in drawn.pieces] == [False, False, False, True, False]
    assert [face.carries for face in drawn.faces] == [True, True, False, False]
    assert sum(face.slips for face in drawn.faces) == len(told.torque.slipping) == 1


def test_the_report_is_plain_data() -> None:
    told = report_of(wide_stack())
    plain = json.loads(json.dumps(as_shown(told)))
    assert plain["slip_surfaces"] == 3
    assert plain["section"]["pieces"][1]["kind"] == "friction"
    assert "200 N" in told.worked[0].numbers


@pytest.mark.parametrize("family", Family)
def test_every_family_says_where_its_drag_sits(family: Family) -> None:
    drive = Drive(family, 4.0)
    per_drag = drive.spool_per_drag()
    assert per_drag.low <= per_drag.value <= per_drag.high
    # The fish turns the gears: through them, the line is held by about a quarter of the drag's own torque.
    assert per_drag.value == (pytest.approx(1 / (4.0 * 0.97)) if drive.geared else 1.0)
    assert at_the_spool(Quantity.exact(2.0), drive).numbers.startswith("2 N m")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Drive(Family.STAR, 0.5), "gear ratio was 0.5"),
        (lambda: Drive(Family.STAR, 4.0, Quantity(0.4, 0.3, 0.5)), "mesh efficiency"),
    ],
)
def test_gears_that_cannot_be_are_refused(make, says: str) -> None:
    with pytest.raises(InputError) as refused:
        make()
    assert says in str(refused.value)
