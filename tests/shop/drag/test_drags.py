"""A job's drag: computed from its stack, its clamp and its spool, and kept as a plan."""

from dataclasses import replace
from datetime import timedelta
from math import exp, pi, sqrt
from typing import Any

import pytest
from django.utils import timezone

from levelwind.core.codec import as_stored
from levelwind.core.drag.families import Drive
from levelwind.core.drag.families import Family as DragFamily
from levelwind.core.drag.model import stack_from_dict
from levelwind.core.drag_system.compute import DragResult
from levelwind.core.drag_system.report import clamp_words
from levelwind.core.drag_system.usual import EVER_HELD_N
from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.line import Line, Spool
from levelwind.core.quantities import Quantity
from levelwind.reference.families import family
from levelwind.shop.drag.selectors.drags import JobDrag, drag_computed, in_right_order
from levelwind.shop.drag.selectors.plans import plan_latest, standard_stack
from levelwind.shop.drag.selectors.reels import Reel, reel_of
from levelwind.shop.drag.selectors.setup import Setup, setup_from_dict
from levelwind.shop.drag.services import SomebodyElseError, drag_plan_save, plan_mark
from levelwind.shop.models import DragPlan, Job
from tests.jobs import a_job, a_pattern

RING = {"outer_diameter_mm": 20, "inner_diameter_mm": 10, "thickness_mm": 1, "material": "steel"}
FRICTION = {**RING, "kind": "friction", "friction": 0.2}
PLAIN = {
    "bodies": [
        {"name": "gear", "kind": "gear", **RING},
        {"name": "washer", **FRICTION},
        {"name": "key washer", "kind": "keyed", **RING},
    ]
}
DIRECT = Reel(
    family("fixed_spool"),
    Drive(DragFamily.FIXED_SPOOL_FRONT, 5.2),
    True,
    Spool(0.010, 0.025, 0.020),
    Line("line", 0.4e-3, 100.0),
    True,
)
SPOOL = {"gear_ratio": 4.0, "spool_arbor_mm": 20, "spool_flange_mm": 50, "spool_width_mm": 20}


def _result(**said: Any) -> DragResult:
    return drag_computed(**said).result


def _plain() -> DragResult:
    return _result(stack=stack_from_dict(PLAIN), setup=Setup(numbers={"clamp_N": 100.0}), reel=DIRECT)


@pytest.fixture
def job(db: None) -> Job:
    return a_job(pattern=a_pattern(**SPOOL), line_strength_N=133.4, line_diameter_mm=0.5, line_name="30 lb nylon")


def test_through_gears_the_line_is_held_by_the_ratio_less(job: Job) -> None:
    """1 / (ratio x mesh efficiency) = 1 / (4 x 0.97)."""
    geared = _result(stack=stack_from_dict(PLAIN), setup=Setup(numbers={"clamp_N": 100.0}), reel=reel_of(job))
    assert geared.system.drive.spool_per_drag().value == pytest.approx(1 / (4 * 0.97))
    assert geared.fills[0].run_in_N.value == pytest.approx(
        0.150 / (4 * 0.97) / (geared.fills[0].radius_mm / 1000), rel=1e-9
    )


def test_a_hand_on_the_star_is_a_clamp_force_with_an_interval(job: Job) -> None:
    """T = F (dm/2 (l + pi mu dm sec a)/(pi dm - mu l sec a) + mu rc), Shigley 8-2, for a 9.5 x 1 mm thread."""
    clamp = _result(stack=stack_from_dict(PLAIN), setup=Setup({"hand_Nm": 1.0}), reel=reel_of(job)).clamp_N
    mean, lead, mu = 9.5e-3 - 0.6495e-3, 1e-3, 0.14
    rub = mu / 0.8660254
    thread = mean / 2 * (lead + pi * rub * mean) / (pi * mean - rub * lead)
    assert clamp.value == pytest.approx(1 / (thread + mu * (16 + 11.5) / 4000), rel=1e-4)
    assert clamp.low < 0.75 * clamp.value and clamp.high > 1.4 * clamp.value


def test_an_unknown_strength_gives_no_setting_and_an_unknown_spool_no_tension() -> None:
    no_strength = _result(stack=stack_from_dict(PLAIN), setup=Setup(), reel=replace(DIRECT, line=Line("line", 0.4e-3)))
    assert no_strength.line is not None and no_strength.line.setting is None
    no_spool = _result(stack=stack_from_dict(PLAIN), setup=Setup(), reel=replace(DIRECT, spool=None))
    assert no_spool.fills == () and no_spool.line is None


def test_a_wrong_order_is_found_and_put_right(job: Job) -> None:
    """The eared washer on the gear leaves two washers together: of three faces over the gear one is left."""
    stack = standard_stack(job.pattern) if job.pattern else None
    assert stack is not None
    wrong = [0, 1, 2, 6, 3, 4, 5, *range(7, 12)]
    found = _result(stack=stack.in_order(tuple(wrong)), setup=Setup(), reel=reel_of(job))
    right = _result(stack=stack, setup=Setup(), reel=reel_of(job))
    assert found.order is not None and found.order.share_lost > 0.2
    assert found.order.share_lost == pytest.approx(
        1 - found.torque.run_in_Nm.value / right.torque.run_in_Nm.value, rel=1e-12
    )
    mended, setup = in_right_order(found.system.stack, Setup(parts=tuple(str(n) for n in wrong)))
    assert _result(stack=mended, setup=setup, reel=reel_of(job)).torque.run_in_Nm == right.torque.run_in_Nm
    assert [int(part) for part in setup.parts] == [wrong[place] for place in found.order.places]


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"clamp_N": -5.0}, "clamp force was -5 N"),
        ({"clamp_N": 1e6}, "clamp force was 1e\\+06 N"),
        ({"hand_Nm": 0.0}, "turn of star or knob was 0 N m"),
        ({"line_m": 4000.0}, "length of line was 4000 m"),
        ({"wrap_deg": float("nan")}, "guides, wrap in all was nan"),
        ({"backing_mm": 1.0, "backing_m": 3000.0}, "backing, length was 3000 m"),
    ],
)
def test_absurd_setups_are_refused(numbers: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        _result(stack=stack_from_dict(PLAIN), setup=Setup(numbers=numbers), reel=DIRECT)


def test_shims_and_materials_are_checked() -> None:
    with pytest.raises(InputError, match="shims at hand"):
        Setup(shims_mm=(0.1, 90.0))
    with pytest.raises(InputError, match="material"):
        Setup(materials={"gear_of": "cheese"})


def test_a_setup_comes_back_from_its_plain_data_and_lets_strange_entries_go() -> None:
    given = Setup({"clamp_N": 250.0}, {"dog_of": "brass"}, (0.1, 0.2), ("7", ""), {"thread": "M6x1"})
    assert setup_from_dict(as_stored(given), 2) == given
    strange = {**as_stored(given), "numbers": {"propeller": 3}, "said": {"colour": "red"}}
    assert setup_from_dict(strange, 5) == Setup({}, {"dog_of": "brass"}, (0.1, 0.2), ("",) * 5)


@pytest.mark.parametrize(
    ("given", "bite"),
    [
        ({"wrap_deg": 90.0}, 0.15 * pi / 2),
        ({"roller_deg": 90.0}, 0.03 * pi / 2),
        ({"roller_deg": 90.0, "wrap_deg": 60.0}, 0.03 * pi / 2 + 0.15 * pi / 3),
        ({"roller_deg": 90.0, "roller_mu": 0.2, "wrap_deg": 60.0, "guide_mu": 0.1}, 0.2 * pi / 2 + 0.1 * pi / 3),
    ],
)
def test_roller_and_guides_multiply_the_tension_by_the_capstan(given: dict[str, float], bite: float) -> None:
    """Euler and Eytelwein, T2/T1 = exp(mu theta), one wrap after the other; 0.15 and 0.03 from memory."""
    bare = _plain()
    past = _result(stack=bare.system.stack, setup=Setup({"clamp_N": 100.0} | given), reel=DIRECT)
    assert past.fills[0].run_in_N.value / bare.fills[0].run_in_N.value == pytest.approx(exp(bite), rel=1e-9)


def test_a_thread_by_its_designation_takes_the_place_of_the_familys(job: Job) -> None:
    """M6x1: pitch diameter 5.350 mm (ISO 724), lead 1 mm; Shigley 8-2 with the star's collar of (16 + 11.5)/4 mm."""
    setup = Setup({"hand_Nm": 1.0}, said={"thread": "m6 × 1"})
    clamp = _result(stack=stack_from_dict(PLAIN), setup=setup, reel=reel_of(job)).clamp_N
    mean, lead, rub = 5.350e-3, 1e-3, 0.14 / 0.8660254
    thread = mean / 2 * (lead + pi * rub * mean) / (pi * mean - rub * lead)
    assert clamp.value == pytest.approx(1 / (thread + 0.14 * (16 + 11.5) / 4000), rel=1e-4)
    with pytest.raises(InputError, match="thread was 'M6y1'"):
        Setup(said={"thread": "M6y1"})


def test_backing_lifts_the_bare_spool() -> None:
    """Room under the line, pi w (r^2 - ra^2) = L pi d^2 / 4 / (pi / 4): r with 50 m of 0.5 mm is 17.28 mm."""
    backed = _result(
        stack=stack_from_dict(PLAIN), setup=Setup({"clamp_N": 100.0, "backing_mm": 0.5, "backing_m": 50.0}), reel=DIRECT
    )
    assert backed.line is not None
    assert backed.line.curve.radius_m[-1] == pytest.approx(sqrt(0.010**2 + 50 * 0.5e-3**2 / (pi * 0.020)), rel=1e-9)


@pytest.mark.django_db
def test_a_reel_of_no_pattern_has_no_drag_yet() -> None:
    with pytest.raises(LevelwindError, match="Choose its pattern first"):
        reel_of(a_job())


def _laid(job: Job, clamp_N: float = 300.0) -> JobDrag:
    return drag_computed(stack=stack_from_dict(PLAIN), setup=Setup(numbers={"clamp_N": clamp_N}), reel=reel_of(job))


def test_a_plan_keeps_stack_setup_and_what_it_is_to_do(job: Job) -> None:
    plan = drag_plan_save(job=job, drag=_laid(job))
    plan.refresh_from_db()
    assert stack_from_dict(plan.stack) == stack_from_dict(PLAIN)
    assert plan.setup["numbers"] == {"clamp_N": 300.0}
    assert Quantity(**plan.computed["torque_run_in_Nm"]).value == pytest.approx(0.45)
    assert [row["fill"] for row in plan.computed["tension"]] == ["full", "half", "near empty"]
    assert plan.core_version


def test_the_days_plan_is_written_over_and_an_earlier_days_stays(job: Job) -> None:
    first = drag_plan_save(job=job, drag=_laid(job), found=PLAIN)
    second = drag_plan_save(job=job, drag=_laid(job, 200.0), drawn_from=plan_mark(first))
    assert second.pk == first.pk and second.found == PLAIN
    DragPlan.objects.update(at=timezone.now() - timedelta(days=1))
    third = drag_plan_save(job=job, drag=_laid(job), drawn_from=plan_mark(plan_latest(job)))
    assert third.pk != first.pk and third.found == PLAIN and job.drag_plans.count() == 2


def test_two_people_laying_out_the_same_drag(job: Job) -> None:
    mark = plan_mark(None)
    theirs = drag_plan_save(job=job, drag=_laid(job, 100.0), drawn_from=mark)
    with pytest.raises(SomebodyElseError, match="Somebody else kept another stack"):
        drag_plan_save(job=job, drag=_laid(job, 200.0), drawn_from=mark)
    assert plan_latest(job) == theirs
    mine = drag_plan_save(job=job, drag=_laid(job, 200.0), drawn_from=None)
    assert list(job.drag_plans.all()) == [theirs, mine]


def test_a_usual_hand_on_a_star_is_two_to_three_newton_metres(job: Job) -> None:
    """Common practice, no source; by the same thread as one N m."""
    plain, reel = stack_from_dict(PLAIN), reel_of(job)
    one = _result(stack=plain, setup=Setup({"hand_Nm": 1.0}), reel=reel)
    usual = _result(stack=plain, setup=Setup(), reel=reel)
    assert usual.clamp_N.value == pytest.approx(2.5 * one.clamp_N.value)
    assert usual.system.usual and not one.system.usual
    assert "common practice, no source" in clamp_words(usual.system.clamp, usual=True)


@pytest.mark.parametrize("key", ["fixed_spool", "fixed_spool_rear"])
def test_a_fixed_spools_clamp_comes_from_its_knobs_spring(key: str) -> None:
    """Hooke: 35 N/mm over 4 mm is 140 N (common practice, no source); a measured spring takes its place."""
    kin = family(key)
    reel = replace(DIRECT, family=kin, drive=Drive(kin.drag_family, kin.gear_ratio))
    stack = stack_from_dict(kin.drag)
    usual = _result(stack=stack, setup=Setup(), reel=reel)
    assert usual.clamp_N.value == pytest.approx(140.0) and usual.clamp_N.low < 100 < 190 < usual.clamp_N.high
    measured = _result(stack=stack, setup=Setup({"coil_N_mm": 20.0}), reel=reel)
    assert measured.clamp_N.value == pytest.approx(80.0)


USUAL_SPOOLS = {
    "star_drag": 0.025,
    "low_profile": 0.0165,
    "fixed_spool": 0.022,
    "fixed_spool_rear": 0.022,
    "fly": 0.035,
    "lever_drag": 0.040,
    "lever_drag_two_speed": 0.050,
    "fixed_spool_vintage": 0.020,
    "fixed_spool_free_run": 0.023,
    "closed_face": 0.019,
    "round_casting": 0.019,
    "electric": 0.042,
}
"""m, radius of the line on a full spool of a middling reel of the family: a judgement."""


@pytest.mark.parametrize("key", USUAL_SPOOLS)
def test_a_usual_drag_holds_what_its_kind_holds(key: str) -> None:
    """Between 10 N and the most that such a reel ever holds (common practice, no source), with the usual stack."""
    kin, rim = family(key), USUAL_SPOOLS[key] + 0.001
    spool = Spool(rim / 2, rim, 0.020)
    drive = Drive(kin.drag_family, kin.gear_ratio)
    reel = Reel(kin, drive, True, spool, Line("line", 0.3e-3, 60.0), True)
    found = _result(stack=stack_from_dict(kin.drag), setup=Setup(), reel=reel)
    assert 10 < found.fills[0].run_in_N.value < EVER_HELD_N[kin.drag_family]
    assert "beyond_its_kind" not in [note.key for note in found.notes]
