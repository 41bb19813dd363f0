"""What a pull says of friction: read where it was made, kept for the shop's parts by condition, used where they lie."""

from dataclasses import replace
from datetime import timedelta
from math import sqrt

import pytest
from django.utils import timezone

from levelwind.core.drag.families import Drive
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.core.errors import InputError, LevelwindError, NotDeterminedError
from levelwind.core.line import Line, Spool
from levelwind.core.quantities import Quantity
from levelwind.reference.families import family
from levelwind.shop.drag.selectors.choices import body_of, shelf_choices, washers_at_hand
from levelwind.shop.drag.selectors.drags import drag_computed
from levelwind.shop.drag.selectors.friction import kept_coefficient, kept_rows, parts_laid, with_kept
from levelwind.shop.drag.selectors.plans import plan_latest
from levelwind.shop.drag.selectors.pulls import Pulled, Read, friction_from_pull, pull_of
from levelwind.shop.drag.selectors.reels import Reel, reel_of
from levelwind.shop.drag.selectors.setup import Setup
from levelwind.shop.drag.services import drag_plan_save, part_friction_forget, part_friction_remember
from levelwind.shop.models import DragPlan, Job, JobEvent, Part
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.readings.services.readings import reading_type
from tests.jobs import a_job, a_pattern

RING = {"outer_diameter_mm": 24, "inner_diameter_mm": 12, "thickness_mm": 1, "material": "steel"}
LINING = {**RING, "kind": "friction", "material": "felt"}
BODIES = [
    {"name": "gear floor", "kind": "gear", **RING},
    {"name": "first", **LINING},
    {"name": "key washer", "kind": "keyed", **RING},
    {"name": "second", **LINING},
    {"name": "eared washer", "kind": "eared", **RING},
]
STACK = stack_from_dict({"condition": "dry", "bodies": BODIES})
REEL = Reel(
    family("star_drag"),
    Drive(DragFamily.STAR, 4.0),
    True,
    Spool(0.010, 0.025, 0.030),
    Line("30 lb nylon", 0.55e-3, 133.4),
    True,
)
SPOOL = {"gear_ratio": 4.0, "spool_arbor_mm": 20, "spool_flange_mm": 50, "spool_width_mm": 30}
SIZES = {"outer diameter": 24.0, "inner diameter": 12.0, "thickness": 1.0}


def _made(mu: float, fill: int = 0, clamp_N: float = 400.0, **numbers: float) -> Quantity:
    """The tension that a friction of mu gives at a fill of the spool, 0 full, 2 near the arbor; read to 2 %."""
    bodies = [{**body, "friction": mu} if body["kind"] == "friction" else body for body in BODIES]
    setup = Setup({"clamp_N": clamp_N} | numbers)
    value = (
        drag_computed(stack=stack_from_dict({"bodies": bodies}), setup=setup, reel=REEL)
        .result.fills[fill]
        .run_in_N.value
    )
    return Quantity(value, 0.98 * value, 1.02 * value)


def _said(running_N: Quantity, stack: Stack = STACK, said: dict[str, str] | None = None, **numbers: float) -> Pulled:
    setup = Setup({"clamp_N": 400.0} | numbers, said=said or {})
    return friction_from_pull(Read("found", running_N, stack), setup, REEL)


def _mu(pulled: Pulled) -> float:
    return pulled.here.coefficient.mu.value


@pytest.mark.parametrize("mu", [0.18, 0.25])
def test_a_pull_of_a_known_friction_gives_it_back(mu: float) -> None:
    """At a known clamp, within 15 %: new or run in is not known, and the tables weigh in."""
    pulled = _said(_made(mu))
    assert pulled.material == "felt" and pulled.places == (1, 3)
    assert _mu(pulled) == pytest.approx(mu, rel=0.15)


def test_a_pull_near_the_arbor_is_read_at_the_radius_there() -> None:
    """The same friction pulls harder there; read as if full it would come out too high by the radii's ratio."""
    near = _made(0.2, fill=2)
    assert near.value > 1.3 * _made(0.2).value
    assert _mu(_said(near, said={"found_fill": "near the arbor"})) == pytest.approx(_mu(_said(_made(0.2))), rel=1e-6)
    assert _mu(_said(near)) > 1.1 * _mu(_said(_made(0.2)))


def test_metres_out_are_less_line_on_the_spool() -> None:
    """r^2 = ra^2 + what is left of the line's room; the pull's torque is its tension at that radius."""
    pulled = _said(Quantity.exact(20.0), found_out_m=40.0)
    full = _said(Quantity.exact(20.0))
    assert pulled.made.left_m == pytest.approx(full.made.left_m - 40.0)
    per_m = (full.made.radius_m**2 - 0.010**2) / full.made.left_m
    assert pulled.made.radius_m == pytest.approx(sqrt(0.010**2 + per_m * (full.made.left_m - 40.0)), rel=1e-9)
    with pytest.raises(InputError, match="line out at the pull as found was 4000 m"):
        _said(Quantity.exact(20.0), found_out_m=4000.0)


def test_a_pull_is_read_at_the_clamp_it_was_made_at() -> None:
    light = _made(0.2, clamp_N=200.0)
    assert _said(light, found_clamp_N=200.0).made.clamp_N == Quantity.exact(200.0)
    assert _mu(_said(light, found_clamp_N=200.0)) == pytest.approx(_mu(_said(_made(0.2))), rel=1e-6)
    sprung = _said(light, coil_N_mm=100.0, found_turns=2.0).made.clamp_N
    assert (sprung.value, sprung.low, sprung.high) == pytest.approx((200.0, 180.0, 220.0))
    with pytest.raises(NotDeterminedError, match="until the springs are measured"):
        _said(light, found_turns=2.0)


def test_a_pull_on_the_bench_passes_the_roller_and_not_the_rods_guides() -> None:
    plain = _said(_made(0.2)).torque_Nm.value
    past = {"roller_deg": 90.0, "roller_mu": 0.1}
    assert _said(_made(0.2, **past), **past).torque_Nm.value == pytest.approx(plain, rel=1e-9)
    assert _said(_made(0.2), wrap_deg=180.0).torque_Nm.value == pytest.approx(plain, rel=1e-9)


def test_of_several_linings_one_is_asked_for() -> None:
    mixed = stack_from_dict({"bodies": [*BODIES[:3], {**BODIES[3], "material": "leather"}, BODIES[4]]})
    assert _said(_made(0.2), mixed).materials == ("felt", "leather")
    pulled = _said(_made(0.2), mixed, {"found_unknown": "leather"})
    assert pulled.material == "leather" and pulled.places == (3,)
    assert _said(_made(0.2), mixed, {"found_unknown": "cork"}).material == "felt"


LEATHER = stack_from_dict(
    {"bodies": [{**body, "material": "leather"} if body["kind"] == "friction" else body for body in BODIES]}
)


def test_a_condition_that_the_pull_fits_clearly_better_is_said() -> None:
    """Leather on iron or steel: 0.12 to 0.5 dry, 0.12 to 0.15 oiled (the friction table's rows)."""
    assert _said(_made(0.4), LEATHER).fits_another == ""
    assert _said(_made(0.135), replace(LEATHER, condition="glazed")).fits_another == "oiled"
    with pytest.raises(NotDeterminedError, match=r"No friction known oiled .* faces that are dry or greased may"):
        _said(_made(0.27), replace(LEATHER, condition="oiled"))


def test_a_reel_of_no_known_spool_says_so() -> None:
    with pytest.raises(NotDeterminedError, match="spool"):
        friction_from_pull(Read("found", Quantity.exact(20.0), STACK), Setup(), replace(REEL, spool=None))


# What is kept for the shop's own parts


@pytest.fixture
def job(db: None) -> Job:
    return a_job(pattern=a_pattern(**SPOOL), line_strength_N=133.4, line_diameter_mm=0.55, line_name="30 lb nylon")


def _washer(number: str = "F-24", material: str = "felt", count: int = 4) -> Part:
    part = part_add(number=number, name="felt washer", kind="friction_washer", count=count)
    Part.objects.filter(pk=part.pk).update(material=material, sizes_mm=SIZES)
    part.refresh_from_db()
    return part


def _plan(
    job: Job, parts: tuple[str, ...] = (), found_parts: tuple[str, ...] | None = None, **more: object
) -> DragPlan:
    stack = stack_from_dict({"condition": "dry", "bodies": BODIES, **more})
    drag = drag_computed(stack=stack, setup=Setup({"clamp_N": 400.0}, parts=parts or ("",) * 5), reel=reel_of(job))
    found = stack.as_dict() if found_parts is not None else None
    return drag_plan_save(job=job, drag=drag, found=found, found_parts=found_parts or ())


def _pull(job: Job, moment: str = "found", running_N: float = 30.0) -> None:
    reading_type(job=job, kind="pull", moment=moment, typed={"breakaway_N": 1.1 * running_N, "running_N": running_N})


def _laid(part: Part, *places: int) -> tuple[str, ...]:
    return tuple(str(part.pk) if place in places else "" for place in range(5))


def test_what_a_pull_says_is_kept_for_the_parts_that_lay_in_the_stack_found(job: Job) -> None:
    old, new = _washer("OLD"), _washer("NEW")
    _plan(job, _laid(new, 1, 3), found_parts=_laid(old, 1, 3))
    _pull(job)
    kept = part_friction_remember(job=job, moment="found", by="Ansa")
    assert [part.number for part in kept] == ["OLD"]
    old.refresh_from_db()
    new.refresh_from_db()
    entry = old.friction["dry"]
    said = pull_of(job, plan_latest(job) or DragPlan(), "found")
    assert entry["job"] == job.tag and entry["low"] < entry["value"] < entry["high"] and entry["on"]
    assert entry["source"].startswith("OLD, dry: the shop's own reading")
    assert new.friction == {} and said.done == (old,)
    assert JobEvent.objects.filter(job=job, text__contains="remembered for OLD", by="Ansa").exists()


def test_as_left_it_is_kept_for_the_parts_laid_in(job: Job) -> None:
    old, new = _washer("OLD"), _washer("NEW")
    _plan(job, _laid(new, 3), found_parts=_laid(old, 1, 3))
    _pull(job, "left")
    assert [part.number for part in part_friction_remember(job=job, moment="left")] == ["NEW"]


def test_washers_laid_in_on_a_later_day_had_no_part_in_the_pull(job: Job) -> None:
    first, later = _washer("FIRST"), _washer("LATER")
    _plan(job, _laid(first, 1, 3))
    _pull(job, "left")
    DragPlan.objects.update(at=timezone.now() - timedelta(days=2))
    job.readings.update(at=timezone.now() - timedelta(days=1))
    _plan(job, _laid(later, 1, 3))
    assert job.drag_plans.count() == 2
    assert [part.number for part in part_friction_remember(job=job, moment="left")] == ["FIRST"]


def test_nothing_is_kept_for_parts_nobody_knows_to_have_lain_there(job: Job) -> None:
    part = _washer()
    with pytest.raises(LevelwindError, match="Keep the stack first"):
        part_friction_remember(job=job, moment="found")
    _plan(job, _laid(part, 1, 3))
    with pytest.raises(LevelwindError, match="no pull as found"):
        part_friction_remember(job=job, moment="found")
    _pull(job)
    with pytest.raises(LevelwindError, match="Lay out the stack as found first"):
        part_friction_remember(job=job, moment="found")
    _plan(job, _laid(part, 1, 3), found_parts=("",) * 5)
    with pytest.raises(LevelwindError, match="None of the felt washers"):
        part_friction_remember(job=job, moment="found")
    with pytest.raises(InputError, match="pull was 'sideways'"):
        part_friction_remember(job=job, moment="sideways")
    part.refresh_from_db()
    assert part.friction == {}


def test_a_part_whose_material_was_typed_over_learns_nothing(job: Job) -> None:
    part = _washer(material="leather")
    _plan(job, _laid(part, 1), found_parts=_laid(part, 1))
    _pull(job)
    with pytest.raises(LevelwindError, match="None of the felt washers"):
        part_friction_remember(job=job, moment="found")


def test_one_pull_is_not_counted_twice_and_another_sharpens_it(job: Job) -> None:
    part = _washer()
    _plan(job, _laid(part, 1, 3), found_parts=_laid(part, 1, 3))
    _pull(job)
    part_friction_remember(job=job, moment="found")
    with pytest.raises(LevelwindError, match="in the figure kept already"):
        part_friction_remember(job=job, moment="found")
    part.refresh_from_db()
    first = part.friction["dry"]
    _pull(job, "left", 30.0)
    again = pull_of(job, plan_latest(job) or DragPlan(), "left")
    assert again.sharpened and again.before.mu.value == first["value"]
    part_friction_remember(job=job, moment="left")
    part.refresh_from_db()
    second = part.friction["dry"]
    assert second["high"] / second["low"] < first["high"] / first["low"]
    assert len(second["readings"]) == 2 and second["source"] == first["source"]
    assert kept_rows(part)[0].pulls == 2


def test_what_is_kept_for_one_washer_is_no_start_for_a_stack_of_others(job: Job) -> None:
    part = _kept(_washer(), "dry", 0.15)
    _plan(job, _laid(part, 1), found_parts=_laid(part, 1))
    _pull(job)
    assert not pull_of(job, plan_latest(job) or DragPlan(), "found").sharpened


def test_a_pull_put_right_is_not_counted_beside_the_wrong_one(job: Job) -> None:
    part = _washer()
    _plan(job, _laid(part, 1, 3), found_parts=_laid(part, 1, 3))
    _pull(job)
    part_friction_remember(job=job, moment="found")
    wrong = job.readings.get()
    _pull(job, running_N=28.0)
    job.readings.exclude(pk=wrong.pk).update(corrects=wrong)
    with pytest.raises(LevelwindError, match="in the figure kept already"):
        part_friction_remember(job=job, moment="found")


def _kept(part: Part, condition: str, mu: float) -> Part:
    part.friction = {condition: {"value": mu, "low": 0.95 * mu, "high": 1.05 * mu, "source": "s", "job": "", "on": ""}}
    part.save(update_fields=["friction"])
    return part


def test_a_greased_figure_is_never_used_dry(job: Job) -> None:
    part = _kept(_washer(), "greased", 0.11)
    keys = _laid(part, 1)
    laid = parts_laid(keys)
    dry, greased = (replace(STACK, condition=condition) for condition in ("dry", "greased"))
    assert with_kept(dry, keys, laid).bodies[1].coefficient is None
    found = with_kept(greased, keys, laid).bodies[1].coefficient
    assert found is not None and found.mu.value == 0.11
    assert with_kept(greased, keys, laid).bodies[3].coefficient is None
    made = body_of(part, STACK.bodies[1], "greased")
    assert made is not None and made.coefficient == found
    dry_body = body_of(part, STACK.bodies[1], "dry")
    assert dry_body is not None and dry_body.coefficient is None


def test_a_figure_does_not_outlive_its_material_and_what_is_typed_stands_before_it(job: Job) -> None:
    part = _kept(_washer(), "dry", 0.11)
    part.friction["dry"]["material"] = "felt"
    assert kept_coefficient(part, "dry") is not None
    part.material = "leather"
    assert kept_coefficient(part, "dry") is None and kept_rows(part) == ()
    part.material = "felt"
    typed = stack_from_dict({"bodies": [BODIES[0], {**BODIES[1], "friction": 0.3}, *BODIES[2:]]})
    assert with_kept(typed, _laid(part, 1), {str(part.pk): part}) == typed


def test_unknown_old_lining_keeps_its_caution(job: Job) -> None:
    part = _kept(_washer(material="unknown friction material"), "dry", 0.2)
    found = kept_coefficient(part, "dry")
    assert found is not None and "asbestos" in found.caution


@pytest.mark.parametrize("typed", [None, 0.35])
def test_one_part_is_one_friction_wherever_it_lies(job: Job, typed: float | None) -> None:
    """The search swaps a part's washers between the stack and the shelf: no choice may gain or lose by that alone."""
    part = _kept(_washer(), "dry", 0.15)
    bodies = [{**b, "friction": typed} if typed and n == 1 else b for n, b in enumerate(BODIES)]
    keys = _laid(part, 1)
    stack = with_kept(stack_from_dict({"condition": "dry", "bodies": bodies}), keys, parts_laid(keys))
    setup = Setup({"clamp_N": 100.0, "lower_mm": 0.2, "higher_mm": 0.2}, parts=keys)
    found = shelf_choices(drag_computed(stack=stack, setup=setup, reel=REEL), STACK, washers_at_hand())
    alike = {choice.choice.torque_Nm for choice in found if choice.parts[1] == part}
    assert len(alike) == 1


def test_what_is_kept_can_be_forgotten(job: Job) -> None:
    part = _washer()
    _plan(job, _laid(part, 1, 3), found_parts=_laid(part, 1, 3))
    _pull(job)
    part_friction_remember(job=job, moment="found")
    with pytest.raises(InputError, match="friction to forget was 'wet'; allowed is dry"):
        part_friction_forget(part=part, condition="wet")
    assert part_friction_forget(part=part, condition="dry", by="Ansa").friction == {}
    assert JobEvent.objects.filter(job=job, text="Friction of F-24, dry, forgotten.", by="Ansa").exists()
