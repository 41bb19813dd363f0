"""What else is told of a stack: turns of the star, a run, what gives first, height, the shelf, the pull."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from levelwind.core.drag.families import Drive
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.model import Kind, Stack, stack_from_dict
from levelwind.core.errors import NotDeterminedError
from levelwind.core.line import Filled, Line, Spool, capacity_m, run_steps
from levelwind.core.quantities import Quantity
from levelwind.reference.families import family
from levelwind.reference.materials import solids
from levelwind.shop.drag.selectors.choices import body_of, shelf_choices, washers_at_hand
from levelwind.shop.drag.selectors.drags import Reckoning, Reel, reckon
from levelwind.shop.drag.selectors.runs import lumps, run_section
from levelwind.shop.drag.selectors.sections import height_section, sections, strength_section
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.drag.selectors.turns import turns_section
from levelwind.shop.models import Part
from levelwind.shop.parts.services.shelf import part_add

RING = {"outer_diameter_mm": 24, "inner_diameter_mm": 12, "thickness_mm": 1, "material": "steel"}
LINING = {**RING, "kind": "friction", "material": "felt"}
STACK = stack_from_dict(
    {
        "condition": "dry",
        "bodies": [
            {"name": "gear floor", "kind": "gear", **RING},
            {"name": "first", **LINING},
            {"name": "key washer", "kind": "keyed", **RING},
            {"name": "second", **LINING},
            {"name": "eared washer", "kind": "eared", **RING},
        ],
    }
)
SPOOL = Spool(0.010, 0.025, 0.030)
REEL = Reel(
    family("star_drag"),
    Drive(DragFamily.STAR, 4.0),
    True,
    SPOOL,
    Line("30 lb nylon", 0.55e-3, 133.4),
    True,
    133.4,
)
SPRINGS = {"spring_outer_mm": 20.0, "spring_inner_mm": 10.2, "spring_thick_mm": 1.1, "spring_cone_mm": 0.45}


def _reckoned(stack: Stack = STACK, **numbers: float) -> Reckoning:
    return reckon(stack=stack, setup=Setup({"clamp_N": 400.0} | numbers), reel=REEL)


def test_turns_press_the_springs_by_the_threads_pitch() -> None:
    """DIN 2093 A 20 presses 1531 N at 0.34 mm (DIN 2092 by its printed deflection): 0.34 turns of a 1 mm pitch."""
    reckoning = reckon(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.34}), reel=REEL)
    assert reckoning.clamp_N.value == pytest.approx(1531.0, rel=1e-3)
    found = turns_section(reckoning)
    at_034 = np.interp(0.34, found.turns, found.tension_N)
    assert at_034 == pytest.approx(reckoning.fills[0].run_in_N.value, rel=2e-3)
    assert found.flat_at == pytest.approx(0.45)
    assert np.all(found.low_N <= found.tension_N) and np.all(found.tension_N <= found.high_N)


def test_a_finer_turn_is_a_smaller_step_further_from_flat() -> None:
    one = turns_section(reckon(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.2}), reel=REEL))
    two = turns_section(reckon(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.2, "spring_series": 2.0}), reel=REEL))
    assert one.step_N is not None and two.step_N is not None and two.step_N < one.step_N


def test_a_coil_spring_presses_by_its_rate() -> None:
    """Hooke: 30 N/mm pressed 2 turns of a 1 mm pitch is 60 N; 5 degrees of a turn change it by 30 x 5/360 N."""
    reckoning = reckon(stack=STACK, setup=Setup({"coil_N_mm": 30.0, "turns": 2.0}), reel=REEL)
    assert reckoning.clamp_N == Quantity(60.0, 54.0, 66.0)
    found = turns_section(reckoning)
    assert found.flat_at is None and found.step_N is not None
    assert found.step_N / reckoning.fills[0].run_in_N.value == pytest.approx(30 * 5 / 360 / 60)


def test_springs_pressed_past_flat_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"deflection of a disc spring was 0\.6 mm"):
        reckon(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.6}), reel=REEL)


def test_a_run_puts_its_work_into_the_stack() -> None:
    """Energy is torque times slip, the drag slipping once for 4 turns of the spool; all of it is stored, to 1e-9."""
    found = run_section(_reckoned(run_m=50.0, run_m_s=3.0))
    warming = found.told.warming
    filled = Filled(SPOOL, REEL.line, 0.95 * capacity_m(SPOOL, REEL.line, pi / 4))
    _, spool_rad = run_steps(filled, filled.length_m, 50.0, 3.0, len(warming.seconds))
    assert warming.energy_J == pytest.approx(float(warming.torque_Nm @ (spool_rad / 4.0)), rel=1e-9)
    assert warming.lost_J == 0
    assert warming.stored_J == pytest.approx(warming.energy_J, rel=1e-9)
    assert found.out_m[-1] == pytest.approx(50.0)
    assert found.warm_N[-1] < found.cold_N[-1] and found.warm_N[0] == pytest.approx(found.cold_N[0])


def test_a_faster_run_is_no_more_heat_and_a_longer_one_is() -> None:
    slow, fast, long = (
        run_section(_reckoned(run_m=m, run_m_s=v)).told.warming.energy_J for m, v in ((50, 1), (50, 4), (100, 4))
    )
    assert fast == pytest.approx(slow, rel=0.1) and long > fast


def test_the_dog_gives_before_a_thicker_sleeve() -> None:
    """Shear of 0.577 sigma A r = 0.577 x sigma x 2 mm2 x 10 mm."""
    given = {"dog_mm2": 2.0, "dog_radius_mm": 10.0, "sleeve_outer_mm": 12.0, "sleeve_bore_mm": 6.0}
    found = strength_section(_reckoned(**given))
    assert [link.name for link in found.links] == ["dog", "gear sleeve"]
    low, high = 250e6, 600e6
    assert found.first.yields_at_Nm.low <= 0.577 * high * 2e-6 * 10e-3
    assert found.first.yields_at_Nm.high >= 0.577 * low * 2e-6 * 10e-3
    tube = 0.577 * pi * (0.012**4 - 0.006**4) / (16 * 0.012)
    assert found.links[1].yields_at_Nm.low / found.first.yields_at_Nm.low == pytest.approx(tube / (0.577 * 2e-8))


def test_a_thicker_washer_stands_outside_what_the_star_takes_up_and_a_shim_mends_a_thinner() -> None:
    def stack(mm: float) -> Stack:
        bodies = [
            {**body, "thickness_mm": mm} if body["kind"] == "friction" else body for body in STACK.as_dict()["bodies"]
        ]
        return stack_from_dict({"condition": "dry", "bodies": bodies})

    thick = height_section(_reckoned(stack(1.5), lower_mm=0.2, higher_mm=0.2, off_mm=0.0), STACK)
    assert thick.fits == 0.0 and thick.difference_m.value == pytest.approx(1.0e-3)
    setup = Setup({"clamp_N": 400.0, "lower_mm": 0.2, "higher_mm": 0.2, "off_mm": 0.0}, shims_mm=(0.5,))
    thin = height_section(reckon(stack=stack(0.75), setup=setup, reel=REEL), STACK)
    assert [shim.name for shim in thin.shims] == ["0.5 mm shim"]


def test_a_pinion_of_the_main_gears_module_bears_the_spools_own_torque() -> None:
    """Lewis, W = sigma b m Y and T = W m z / 2, at the spool itself: Y of 12 teeth is 0.245 in both editions."""
    gear = {"gear_teeth": 48.0, "gear_module_mm": 0.6, "gear_face_mm": 4.5}
    alone = strength_section(_reckoned(**gear))
    both = strength_section(_reckoned(**gear, pinion_teeth=12.0))
    assert len(alone.links) == 1 and {link.name for link in both.links} == {"main gear teeth", "pinion teeth"}
    pinion = next(link for link in both.links if link.name == "pinion teeth")
    steel = solids()["stainless steel"].yield_MPa
    assert steel is not None and pinion.per_spool == 1.0
    low, high = (1e6 * end * 4.5e-3 * 0.6e-3 * 0.245 * 0.6e-3 * 12 / 2 for end in steel)
    assert (pinion.yields_at_Nm.low, pinion.yields_at_Nm.high) == pytest.approx((low, high), rel=1e-2)


def test_without_the_gears_module_a_pinion_is_not_judged() -> None:
    with pytest.raises(NotDeterminedError):
        strength_section(_reckoned(pinion_teeth=12.0))


def test_gear_and_spool_take_their_share_of_the_heat() -> None:
    """What goes in is stored in stack, gear and spool, to 1e-9; the stack is cooler for it."""
    usual = stack_from_dict(family("star_drag").drag)
    bare, beside = (run_section(_reckoned(usual, **weighed)) for weighed in ({}, {"gear_g": 60.0, "spool_g": 150.0}))
    assert bare.takes_up == () and beside.takes_up == ("rest of the main gear", "spool")
    assert beside.told.warming.hottest[1] < bare.told.warming.hottest[1]
    assert beside.told.warming.stored_J == pytest.approx(beside.told.warming.energy_J, rel=1e-9)


def test_the_rest_of_a_gear_is_its_weight_less_its_floor_in_the_stack() -> None:
    """The floor is a steel ring: pi/4 (24^2 - 12^2) mm2 x 1 mm x 7850 kg/m3 = 2.66 g."""
    (rest,) = lumps(STACK, Setup({"gear_g": 60.0}), geared=True)
    density = solids()["steel"].solid.density_kg_m3
    assert rest.mass_kg == pytest.approx(0.060 - pi / 4 * (24**2 - 12**2) * 1e-9 * density, rel=1e-9)
    with pytest.raises(
        ValueError, match=r"weight of the main gear was 2 g; allowed is more than the 3 g that gear floor weighs"
    ):
        lumps(STACK, Setup({"gear_g": 2.0}), geared=True)


def test_a_direct_drags_floor_is_the_spools() -> None:
    (rest,) = lumps(STACK, Setup({"gear_g": 60.0, "spool_g": 100.0}), geared=False)
    assert rest.name == "rest of the spool"


def test_what_is_missing_is_said_section_by_section() -> None:
    found = sections(_reckoned(), STACK)
    assert found.run is not None and found.turns is None and found.strength is None and found.height is None
    assert "Measure one disc spring" in found.lacks["turns"]
    assert "any one will do" in found.lacks["strength"]
    assert "how much lower" in found.lacks["height"]


def _washer(number: str, material: str = "felt", outer: float = 24.0, thickness: float = 1.0, count: int = 4) -> Part:
    part = part_add(number=number, name=f"washer {number}", kind="friction_washer", count=count)
    sizes = {"outer diameter": outer, "inner diameter": 12.0, "thickness": thickness}
    Part.objects.filter(pk=part.pk).update(material=material, sizes_mm=sizes)
    return part


@pytest.mark.django_db
def test_the_shelf_is_searched_for_the_stack_nearest_the_drag_wanted() -> None:
    """Felt dry holds less than is wanted here and leather more; the clamp is set so that leather is the nearer."""
    _washer("F", "felt")
    leather = _washer("L", "leather")
    _washer("W", outer=40.0)
    now = _reckoned(lower_mm=0.2, higher_mm=0.2)
    assert now.line is not None and now.line.setting is not None
    wanted = sum(now.line.setting.strike_N) / 2
    reckoning = _reckoned(lower_mm=0.2, higher_mm=0.2, clamp_N=400.0 * wanted / now.fills[0].run_in_N.value / 1.6)
    best = shelf_choices(reckoning, STACK, washers_at_hand())
    assert best[0].parts == (leather, leather)
    assert not any(part and part.number == "W" for choice in best for part in choice.parts)
    assert [choice.choice.score for choice in best] == sorted(choice.choice.score for choice in best)
    assert len({tuple(sorted(choice.choice.keys)) for choice in best}) == len(best)


@pytest.mark.django_db
def test_the_search_takes_no_more_than_lie_there() -> None:
    _washer("L", "leather", count=1)
    reckoning = _reckoned(lower_mm=0.2, higher_mm=0.2, clamp_N=100.0)
    found = shelf_choices(reckoning, STACK, washers_at_hand())
    assert found and all(sum(part is not None for part in choice.parts) <= 1 for choice in found)


@pytest.mark.django_db
def test_another_of_the_washer_that_lies_there_is_no_other_choice() -> None:
    laid = _washer("F", "felt")
    _washer("L", "leather")
    where = tuple(str(laid.pk) if body.kind is Kind.FRICTION else "" for body in STACK.bodies)
    setup = Setup({"clamp_N": 100.0, "lower_mm": 0.2, "higher_mm": 0.2}, parts=where)
    found = shelf_choices(reckon(stack=STACK, setup=setup, reel=REEL), STACK, washers_at_hand())
    sets = [sorted(part.number if part else "F" for part in choice.parts) for choice in found]
    assert sorted(sets) == [["F", "F"], ["F", "L"], ["L", "L"]]


@pytest.mark.django_db
def test_a_search_says_what_it_lacks() -> None:
    with pytest.raises(NotDeterminedError, match="lower and higher"):
        shelf_choices(_reckoned(), STACK, [])
    with pytest.raises(NotDeterminedError, match="No washer on the shelf"):
        shelf_choices(_reckoned(lower_mm=0.1, higher_mm=0.1), STACK, washers_at_hand())


@pytest.mark.django_db
def test_a_part_without_sizes_or_of_strange_stuff_is_no_body() -> None:
    part = _washer("X", material="cheese")
    part.refresh_from_db()
    assert body_of(part, STACK.bodies[1], "dry") is None
    part.material, part.sizes_mm = "felt", {"outer diameter": 10.0, "inner diameter": 12.0, "thickness": 1.0}
    assert body_of(part, STACK.bodies[1], "dry") is None
    part.sizes_mm = {}
    assert body_of(part, STACK.bodies[1], "dry") is None


def test_a_reel_of_no_known_spool_says_so() -> None:
    bare = reckon(stack=STACK, setup=Setup({"clamp_N": 400.0}), reel=replace(REEL, spool=None))
    assert {"run", "strength"} <= sections(bare, STACK).lacks.keys()
