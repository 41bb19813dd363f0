"""What else is told of a stack: turns of the star, a run, what gives first, height, the shelf, the pull."""

from dataclasses import replace
from math import pi

import pytest

from levelwind.core.drag.families import Drive
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.model import Kind, Stack, stack_from_dict
from levelwind.core.drag.weakest import Weakest
from levelwind.core.drag_system.report import against_old
from levelwind.core.errors import NotDeterminedError
from levelwind.core.line import Line, Spool
from levelwind.core.notes import Amount
from levelwind.core.quantities import Quantity
from levelwind.reference.families import family
from levelwind.reference.materials import solids
from levelwind.shop.drag.selectors.choices import body_of, shelf_choices, washers_at_hand
from levelwind.shop.drag.selectors.drags import JobDrag, drag_computed, lumps
from levelwind.shop.drag.selectors.reels import Reel
from levelwind.shop.drag.selectors.setup import Setup
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
)
SPRINGS = {"spring_outer_mm": 20.0, "spring_inner_mm": 10.2, "spring_thick_mm": 1.1, "spring_cone_mm": 0.45}


def _laid(stack: Stack = STACK, **numbers: float) -> JobDrag:
    return drag_computed(stack=stack, setup=Setup({"clamp_N": 400.0} | numbers), reel=REEL)


def test_turns_press_the_springs_by_the_threads_pitch() -> None:
    """DIN 2093 A 20 presses 1531 N at 0.34 mm (DIN 2092 by its printed deflection): 0.34 turns of a 1 mm pitch."""
    found = drag_computed(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.34}), reel=REEL).result
    assert found.clamp_N.value == pytest.approx(1531.0, rel=1e-3)
    assert found.turns is not None and found.turns.here == 0.34 and found.turns.flat_at == pytest.approx(0.45)
    series = drag_computed(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.2, "spring_series": 2.0}), reel=REEL).result
    assert series.turns is not None and series.turns.flat_at == pytest.approx(0.90)


def test_a_coil_spring_presses_by_its_rate() -> None:
    """Hooke: 30 N/mm pressed 2 turns of a 1 mm pitch is 60 N; 5 degrees of a turn change it by 30 x 5/360 N."""
    found = drag_computed(stack=STACK, setup=Setup({"coil_N_mm": 30.0, "turns": 2.0}), reel=REEL).result
    assert found.clamp_N == Quantity(60.0, 54.0, 66.0)
    assert found.turns is not None and found.turns.flat_at is None and found.turns.step_N is not None
    assert found.turns.step_N / found.clamp_N.value == pytest.approx(30 * 5 / 360 / 60)


def test_springs_pressed_past_flat_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"deflection of a disc spring was 0\.6 mm"):
        drag_computed(stack=STACK, setup=Setup(SPRINGS | {"turns": 0.6}), reel=REEL)


def test_a_pinion_of_the_main_gears_module_bears_the_spools_own_torque() -> None:
    """Lewis, W = sigma b m Y and T = W m z / 2, at the spool itself: Y of 12 teeth is 0.245 in both editions.

    Yielding right through is 1.5 times that; 48 on 12 teeth have a contact ratio of 1.405, so 0.25 + 0.75/1.405 of the
    load counts (ISO 6336-3, method C).
    """
    gear = {"gear_teeth": 48.0, "gear_module_mm": 0.6, "gear_face_mm": 4.5}
    metals = {"gear_of": "brass", "pinion_of": "stainless steel"}
    alone, both = _strong(metals, **gear), _strong(metals, **gear, pinion_teeth=12.0)
    assert alone is not None and both is not None
    assert len(alone.links) == 1 and {link.name for link in both.links} == {"main gear teeth", "pinion teeth"}
    pinion = next(link for link in both.links if link.name == "pinion teeth")
    steel = solids()["stainless steel"].yield_MPa
    assert steel is not None and pinion.per_spool == 1.0
    share = 0.25 + 0.75 / 1.405
    low, high = (1.5 / share * 1e6 * end * 4.5e-3 * 0.6e-3 * 0.245 * 0.6e-3 * 12 / 2 for end in steel)
    assert (pinion.gives_at_Nm.low, pinion.gives_at_Nm.high) == pytest.approx((low, high), rel=1e-2)


def _strong(metals: dict[str, str], **numbers: float) -> Weakest | None:
    setup = Setup({"clamp_N": 400.0} | numbers, materials=metals)
    return drag_computed(stack=STACK, setup=setup, reel=REEL).result.strength


def test_a_limit_is_named_only_where_teeth_and_metal_were_said() -> None:
    gear = {"gear_teeth": 48.0, "gear_module_mm": 0.6, "gear_face_mm": 4.5}
    dog = {"dog_mm2": 2.0, "dog_radius_mm": 10.0}
    said = _strong({"gear_of": "brass"}, **gear, **dog)
    assert said is not None and said.limit_spool_Nm is not None
    for unsaid in (_strong({}, **gear, **dog), _strong({"gear_of": "brass"}, **dog)):
        assert unsaid is not None and unsaid.limit_spool_Nm is None
        assert [link.name for link in unsaid.links] == ["dog"]
    assert _strong({}, **gear) is None


def test_without_a_limit_the_old_stacks_torque_is_the_measure() -> None:
    """Half of the linings: two in a row between the same plates slip once, so the new stack holds twice the old."""
    bodies = STACK.as_dict()["bodies"]
    old = stack_from_dict({"condition": "dry", "bodies": bodies[:3]})
    found = drag_computed(stack=STACK, setup=Setup({"clamp_N": 400.0}), reel=REEL, old=old).result
    times = found.times_old
    assert times is not None and times.value == pytest.approx(2.0)
    assert times.high - times.low < 1e-9, "one material shares its draw"
    times_said, to_measure = against_old(found)
    assert dict(times_said.carried)["times"] == Amount(times) and to_measure.key == "measure_teeth"
    assert "times the torque of the old stack" in times_said.words()


def test_without_the_gears_module_a_pinion_is_not_judged() -> None:
    assert "any one will do" in _laid(pinion_teeth=12.0).lacks["strength"]


def test_everything_measured_behind_the_drag_is_judged() -> None:
    """Shear of 0.577 sigma A r = 0.577 x sigma x 2 mm2 x 10 mm."""
    given = {"dog_mm2": 2.0, "dog_radius_mm": 10.0, "sleeve_outer_mm": 12.0, "sleeve_bore_mm": 6.0}
    found = _laid(**given).result.strength
    assert found is not None and [link.name for link in found.links] == ["dog", "gear sleeve"]
    low, high = 250e6, 600e6
    assert found.first.gives_at_Nm.low <= 0.577 * high * 2e-6 * 10e-3
    assert found.first.gives_at_Nm.high >= 0.577 * low * 2e-6 * 10e-3
    tube = 0.577 * pi * (0.012**3 - 0.006**3) / 12
    assert found.links[1].gives_at_Nm.low / found.first.gives_at_Nm.low == pytest.approx(tube / (0.577 * 2e-8))


def test_the_height_is_held_against_the_old_stacks_with_the_shims_at_hand() -> None:
    setup = Setup({"clamp_N": 400.0, "lower_mm": 0.2, "higher_mm": 0.2, "off_mm": 0.0}, shims_mm=(0.5,))
    bodies = [
        {**body, "thickness_mm": 0.75} if body["kind"] == "friction" else body for body in STACK.as_dict()["bodies"]
    ]
    thin = stack_from_dict({"condition": "dry", "bodies": bodies})
    found = drag_computed(stack=thin, setup=setup, reel=REEL, old=STACK).result.height
    assert found is not None and found.difference_m.value == pytest.approx(-0.5e-3)
    assert [shim.name for shim in found.shims] == ["0.5 mm shim"]


def test_gear_and_spool_take_their_share_of_the_heat() -> None:
    """What goes in is stored in stack, gear and spool, to 1e-9; the stack is cooler for it."""
    usual = stack_from_dict(family("star_drag").drag)
    systems = [_laid(usual, **weighed).result for weighed in ({}, {"gear_g": 60.0, "spool_g": 150.0})]
    takes_up = [result.system.run.takes_up for result in systems if result.system.run]
    assert takes_up == [(), ("rest of the main gear", "spool")]
    bare, beside = (result.run for result in systems)
    assert bare is not None and beside is not None
    assert beside.report.warming.hottest[1] < bare.report.warming.hottest[1]
    assert beside.report.warming.stored_J == pytest.approx(beside.report.warming.energy_J, rel=1e-9)


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
    found = _laid()
    told = found.result
    assert told.run is not None and told.turns is None and told.strength is None and told.height is None
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
    now = _laid(lower_mm=0.2, higher_mm=0.2).result
    assert now.line is not None and now.line.setting is not None
    wanted = sum(now.line.setting.strike_N) / 2
    drag = _laid(lower_mm=0.2, higher_mm=0.2, clamp_N=400.0 * wanted / now.fills[0].run_in_N.value / 1.6)
    best = shelf_choices(drag, STACK, washers_at_hand())
    assert best[0].parts == (leather, leather)
    assert not any(part and part.number == "W" for choice in best for part in choice.parts)
    assert [choice.choice.score for choice in best] == sorted(choice.choice.score for choice in best)
    assert len({tuple(sorted(choice.choice.keys)) for choice in best}) == len(best)


@pytest.mark.django_db
def test_the_search_takes_no_more_than_lie_there() -> None:
    _washer("L", "leather", count=1)
    drag = _laid(lower_mm=0.2, higher_mm=0.2, clamp_N=100.0)
    found = shelf_choices(drag, STACK, washers_at_hand())
    assert found and all(sum(part is not None for part in choice.parts) <= 1 for choice in found)


@pytest.mark.django_db
def test_another_of_the_washer_that_lies_there_is_no_other_choice() -> None:
    laid = _washer("F", "felt")
    _washer("L", "leather")
    where = tuple(str(laid.pk) if body.kind is Kind.FRICTION else "" for body in STACK.bodies)
    setup = Setup({"clamp_N": 100.0, "lower_mm": 0.2, "higher_mm": 0.2}, parts=where)
    found = shelf_choices(drag_computed(stack=STACK, setup=setup, reel=REEL), STACK, washers_at_hand())
    sets = [sorted(part.number if part else "F" for part in choice.parts) for choice in found]
    assert sorted(sets) == [["F", "F"], ["F", "L"], ["L", "L"]]


@pytest.mark.django_db
def test_a_search_says_what_it_lacks() -> None:
    with pytest.raises(NotDeterminedError, match="lower and higher"):
        shelf_choices(_laid(), STACK, [])
    with pytest.raises(NotDeterminedError, match="No washer on the shelf"):
        shelf_choices(_laid(lower_mm=0.1, higher_mm=0.1), STACK, washers_at_hand())


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
    bare = drag_computed(stack=STACK, setup=Setup({"clamp_N": 400.0}), reel=replace(REEL, spool=None))
    assert {"run", "strength"} <= bare.lacks.keys()
