"""A whole drag: torque, line tension at every fill, what is asked besides, from one stream of dice."""

from dataclasses import replace
from math import exp, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from levelwind.core.codec import as_stored
from levelwind.core.drag.clamp import Thread, by_hand, pitch_radius_m
from levelwind.core.drag.families import Drive, Family
from levelwind.core.drag.heat import ONE_PIECE_W_K, Lump
from levelwind.core.drag.lever import Cam, Lever
from levelwind.core.drag.model import Stack, stack_from_dict
from levelwind.core.drag.springs import PAST_THE_HUMP, CoilSpring, DiscSpring, SpringPack, disc_force_N, pack_force_N
from levelwind.core.drag.weakest import in_shear, tube_in_torsion
from levelwind.core.drag_system.compute import FEW, DragResult, compute, pieces
from levelwind.core.drag_system.model import (
    SEED,
    DragSystem,
    GivenForce,
    HandTorque,
    LoadedSpool,
    Pull,
    Room,
    Run,
    Screw,
)
from levelwind.core.drag_system.report import BY_ITS_TIPPET, as_dict
from levelwind.core.drag_system.usual import usual_clamp
from levelwind.core.drag_system.wanted import wanted_of
from levelwind.core.errors import InputError, NotDeterminedError
from levelwind.core.line import Filled, Line, filled_to_the_rim, run_steps
from levelwind.core.quantities import Quantity
from levelwind.reference.families import family
from levelwind.reference.materials import drag_tables, solids
from tests.core.drag_system.systems import A20, DIRECT, GEARED, ONE_WASHER, TWO_LININGS, computed


def force(newtons: float) -> GivenForce:
    return GivenForce(Quantity.exact(newtons))


def spool(system: DragSystem) -> LoadedSpool:
    assert system.spool is not None
    return system.spool


def test_one_washer_by_hand() -> None:
    """T = mu W R with R = (ro + ri)/2 = 7.5 mm run in and 2/3 (ro^3 - ri^3)/(ro^2 - ri^2) = 7.7778 mm new."""
    torque = computed(DIRECT).torque
    assert torque.run_in_Nm.value == pytest.approx(0.2 * 100 * 7.5e-3, rel=1e-12)
    assert torque.new_Nm.value == pytest.approx(0.2 * 100 * 7.77778e-3, rel=1e-6)


def test_tension_is_torque_over_the_radius_of_the_line_that_is_left() -> None:
    result = computed(DIRECT)
    assert [fill.fill for fill in result.fills] == ["full", "half", "near empty"]
    for fill, share in zip(result.fills, (0.95, 0.475, 0.095), strict=True):
        radius = sqrt(0.010**2 + share * (0.025**2 - 0.010**2))
        assert fill.radius_mm == pytest.approx(1000 * radius, rel=1e-9)
        assert fill.run_in_N.value == pytest.approx(0.150 / radius, rel=1e-9)


def test_through_gears_the_line_is_held_by_the_ratio_less() -> None:
    """1 / (ratio x mesh efficiency) = 1 / (4 x 0.97)."""
    result = computed(GEARED, stack=ONE_WASHER, clamp=force(100.0))
    assert result.system.drive.spool_per_drag().value == pytest.approx(1 / (4 * 0.97))
    assert result.fills[0].run_in_N.value == pytest.approx(
        0.150 / (4 * 0.97) / (result.fills[0].radius_mm / 1000), rel=1e-9
    )


@settings(deadline=None, max_examples=25)
@given(st.floats(1, 5000), st.floats(1.1, 4))
def test_the_drag_grows_with_its_clamp_force_and_no_faster(clamp_N: float, times: float) -> None:
    once, more = (computed(DIRECT, clamp=force(newtons)) for newtons in (clamp_N, clamp_N * times))
    for before, after in zip(once.fills, more.fills, strict=True):
        for end in ("value", "low", "high"):
            assert getattr(after.run_in_N, end) == pytest.approx(times * getattr(before.run_in_N, end), rel=1e-6)


def test_how_many_fills_are_computed_changes_no_interval() -> None:
    few, many = (
        compute(GEARED, drag_tables(), np.random.default_rng(SEED), points=points).fills for points in (FEW, 61)
    )
    for one, other in zip(few, many, strict=True):
        assert as_stored(one.run_in_N) == pytest.approx(as_stored(other.run_in_N), rel=1e-12)
        assert as_stored(one.new_N) == pytest.approx(as_stored(other.new_N), rel=1e-12)


def test_what_else_is_asked_changes_no_interval_of_the_drag() -> None:
    """The dice go to torque and line first; whatever takes from them later cannot move those."""
    asked = computed(GEARED, run=Run(4.0, 50.0), room=Room(pieces(TWO_LININGS, 0.05e-3), 1e-4, 1e-4, 0.05e-3))
    assert asked.fills == computed(GEARED).fills and asked.height is not None and asked.run is not None


def test_a_hand_on_the_star_is_a_clamp_force_with_an_interval() -> None:
    """T = F (dm/2 (l + pi mu dm sec a)/(pi dm - mu l sec a) + mu rc), Shigley 8-2, for a 9.5 x 1 mm thread."""
    thread = Thread(pitch_radius_m(9.5e-3, 1e-3), 1e-3, collar_radius_m=6.875e-3)
    clamp = computed(GEARED, clamp=HandTorque(by_hand(1.0), thread)).clamp_N
    mean, lead, mu = 9.5e-3 - 0.6495e-3, 1e-3, 0.14
    rub = mu / 0.8660254
    flank = mean / 2 * (lead + pi * rub * mean) / (pi * mean - rub * lead)
    assert clamp.value == pytest.approx(1 / (flank + mu * 6.875e-3), rel=1e-4)
    assert clamp.low < 0.75 * clamp.value and clamp.high > 1.4 * clamp.value


def test_an_unknown_strength_gives_no_setting_and_an_unknown_spool_no_tension() -> None:
    loaded = spool(DIRECT)
    bare = filled_to_the_rim(loaded.filled.spool, Line("line", 0.4e-3))
    no_strength = computed(DIRECT, spool=replace(loaded, filled=bare))
    assert no_strength.line is not None and no_strength.line.setting is None
    assert no_strength.line.report.parts_at_left_m is None
    no_spool = computed(DIRECT, spool=None)
    assert no_spool.fills == () and no_spool.line is None
    for result in (no_strength, no_spool):
        with pytest.raises(NotDeterminedError, match="how strong the line is"):
            wanted_of(result, 5e-3, 1e-3, 1e-3)


def test_the_setting_at_the_strike_is_a_quarter_to_a_third_and_grows_as_the_spool_empties() -> None:
    """25 to 33 % of the line's strength at the strike: common practice, no source."""
    result = computed(DIRECT)
    setting = result.line.setting if result.line else None
    assert setting is not None and setting.strike_N == pytest.approx((25.0, 33.0))
    assert setting.near_bare_N[1] == pytest.approx(33 * result.fills[0].radius_mm / result.fills[2].radius_mm)


def test_the_share_lost_and_the_right_order_speak_of_the_torque_that_is_printed() -> None:
    """Metal on metal counted in both: each order put through the whole computation, by the names that were printed."""
    usual = stack_from_dict(family("star_drag").drag)
    for places in ([0, 1, 2, 6, 3, 4, 5], [0, 1, 2, 3, 4, 6, 5], [0, 1, 2, 4, 3, 5, 6]):
        laid = usual.in_order((*places, *range(7, 12)))
        printed = as_dict(computed(GEARED, stack=laid))
        names = [body.name for body in laid.bodies]
        right = laid.in_order(tuple(names.index(name) for name in printed["right_order"]))
        now, then = printed["run_in_torque_Nm"], as_dict(computed(GEARED, stack=right))["run_in_torque_Nm"]
        assert printed["share_lost"] == pytest.approx(1 - now["value"] / then["value"], abs=1e-12)
        assert printed["share_lost"] > 0 or right == laid


def test_a_fly_reel_is_set_to_its_tippet_not_to_the_line_on_the_spool() -> None:
    """25 to 33 % of the tippet's 27 N, whatever the line's 100 N: common practice, no source."""
    fly = replace(DIRECT, drive=Drive(Family.FLY_DISC))
    unsaid, said = (computed(fly, tippet_N=tippet).line for tippet in (None, 27.0))
    assert unsaid is not None and unsaid.setting is None
    assert said is not None and said.setting is not None
    assert said.setting.strike_N == pytest.approx((0.25 * 27, 0.33 * 27))
    with pytest.raises(NotDeterminedError, match="how strong the tippet is"):
        wanted_of(computed(fly), 5e-3, 1e-3, 1e-3)
    printed = as_dict(computed(fly))
    assert printed["setting"] is None and BY_ITS_TIPPET in printed["sentences"]


def test_the_most_a_hand_clamps_is_told_whatever_the_clamp_was_said_to_be() -> None:
    """Upper end of the usual star's 2 to 3 N m, and a lever at the end of its way: 0.3 mm of an A 20, 1338 N by DIN
    2092, and 25 % more, DIN EN 16983's for a disc under 1.25 mm."""
    thread = Thread(pitch_radius_m(9.5e-3, 1e-3), 1e-3, collar_radius_m=6.875e-3)
    star = usual_clamp(Family.STAR, thread)
    by_hand_N = computed(GEARED, hand=star, clamp=force(20.0)).most_clamp_N
    assert by_hand_N == pytest.approx(computed(GEARED, clamp=star).clamp_N.high, rel=0.02)
    lever = Lever(Cam((0.0, 90.0), (0.0, 0.3e-3)), A20, 30.0)
    assert computed(GEARED, hand=lever).most_clamp_N == pytest.approx(1.25 * float(pack_force_N(A20, 0.3e-3)))
    assert computed(GEARED).most_clamp_N is None
    assert computed(GEARED, hand=star).fills == computed(GEARED).fills


@pytest.mark.parametrize(("roller", "guides"), [(1.0, 1.27), (1.05, 1.0), (1.05, 1.17)])
def test_roller_and_guides_multiply_the_tension_one_after_the_other(roller: float, guides: float) -> None:
    past = computed(DIRECT, spool=replace(spool(DIRECT), roller=roller, guides=guides))
    ratio = past.fills[0].run_in_N.value / computed(DIRECT).fills[0].run_in_N.value
    assert ratio == pytest.approx(roller * guides, rel=1e-9)


def test_backing_lifts_the_bare_spool() -> None:
    """Room under the line, pi w (r^2 - ra^2) = L pi d^2 / 4 / (pi / 4): r with 50 m of 0.5 mm is 17.28 mm."""
    filled = spool(DIRECT).filled
    backed = filled_to_the_rim(filled.spool, filled.line, Line("the backing", 0.5e-3), 50.0)
    result = computed(DIRECT, spool=LoadedSpool(backed))
    assert result.line is not None
    assert result.line.curve.radius_m[-1] == pytest.approx(sqrt(0.010**2 + 50 * 0.5e-3**2 / (pi * 0.020)), rel=1e-9)
    with pytest.raises(InputError, match="backing, length was 3000 m"):
        filled_to_the_rim(filled.spool, filled.line, Line("the backing", 1e-3), 3000.0)


def test_turns_press_the_springs_by_the_threads_pitch() -> None:
    """DIN 2093 A 20 presses 1531 N at 0.34 mm (DIN 2092 by its printed deflection): 0.34 turns of a 1 mm pitch."""
    star = Screw(A20, 1e-3, 0.34)
    result = computed(GEARED, clamp=star, against=star)
    assert result.clamp_N.value == pytest.approx(1531.0, rel=1e-3)
    turns, tension = result.turns, result.turns_N
    assert turns is not None and tension is not None
    at_034 = np.interp(0.34, turns.at, tension.middle_N)
    assert at_034 == pytest.approx(result.fills[0].run_in_N.value, rel=2e-3)
    assert turns.flat_at == pytest.approx(0.45)
    assert np.all(tension.low_N <= tension.middle_N) and np.all(tension.middle_N <= tension.high_N)


def test_a_finer_turn_is_a_smaller_step_further_from_flat() -> None:
    one, two = (
        computed(GEARED, clamp=Screw(springs, 1e-3, 0.2), against=Screw(springs, 1e-3, 0.2)).turns
        for springs in (A20, replace(A20, series=2))
    )
    assert one is not None and two is not None
    assert one.step_N is not None and two.step_N is not None and two.step_N < one.step_N


def test_past_their_hump_the_springs_press_less_and_the_step_is_told_as_a_size() -> None:
    """DIN 2092: over h0/t = 1.41 the force falls again before the disc is flat; here h0/t = 2, at 0.6 of the way."""
    soft = SpringPack(DiscSpring(20e-3, 10.2e-3, 0.5e-3, 1.0e-3))
    risen, fallen = (
        computed(GEARED, clamp=Screw(soft, 1e-3, turns), against=Screw(soft, 1e-3, turns)) for turns in (0.2, 0.6)
    )
    assert disc_force_N(soft.spring, 0.61e-3) < disc_force_N(soft.spring, 0.59e-3)
    for result, told in ((risen, False), (fallen, True)):
        printed = as_dict(result)
        assert printed["finest_step_N"] > 0
        assert (PAST_THE_HUMP in printed["cautions"]) is told
    before, after = (disc_force_N(soft.spring, (0.6 + turn) * 1e-3) for turn in (-5 / 720, 5 / 720))
    assert as_dict(fallen)["finest_step_N"] == pytest.approx(before - after, rel=1e-3)


def test_a_coil_spring_presses_by_its_rate() -> None:
    """Hooke: 30 N/mm pressed 2 turns of a 1 mm pitch is 60 N; 5 degrees of a turn change it by 30 x 5/360 N."""
    knob = Screw(CoilSpring(30e3), 1e-3, 2.0)
    result = computed(GEARED, clamp=knob, against=knob)
    assert result.clamp_N == Quantity(60.0, 54.0, 66.0)
    assert result.turns is not None and result.turns.flat_at is None and result.turns.step_N is not None
    assert result.turns.step_N / result.clamp_N.value == pytest.approx(30 * 5 / 360 / 60)


def test_springs_pressed_past_flat_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"deflection of a disc spring was 0\.6 mm"):
        computed(GEARED, clamp=Screw(A20, 1e-3, 0.6))


def test_a_lever_is_drawn_as_far_as_its_springs_lie_flat_and_tells_no_tension_where_nothing_is_pressed() -> None:
    """The cam lifts 1 mm in 90 degrees, and the spring lies flat after 0.45 mm: at 40.5 degrees."""
    lever = Lever(Cam((0.0, 90.0), (0.0, 1e-3)), A20, 30.0)
    result = computed(GEARED, clamp=lever, against=lever)
    assert result.turns is not None and result.turns.by_lever and result.turns_N is not None
    assert result.turns.flat_at == pytest.approx(40.5, abs=90 / 20)
    rest = replace(lever, angle_deg=0.0)
    slack = computed(GEARED, clamp=rest, against=rest)
    assert slack.clamp_N.value == 0.0 and slack.turns_N is None and slack.turns is not None
    assert slack.turns.step_N is None


def test_a_run_puts_its_work_into_the_stack() -> None:
    """Energy is torque times slip, the drag slipping once for 4 turns of the spool; all of it is stored, to 1e-9."""
    run = computed(GEARED, run=Run(3.0, 50.0)).run
    assert run is not None
    warming, filled = run.report.warming, spool(GEARED).filled
    _, spool_rad = run_steps(filled, filled.length_m, 50.0, 3.0, len(warming.seconds))
    assert warming.energy_J == pytest.approx(float(warming.torque_Nm @ (spool_rad / 4.0)), rel=1e-9)
    assert warming.lost_J == 0
    assert warming.stored_J == pytest.approx(warming.energy_J, rel=1e-9)
    assert run.out_m[-1] == pytest.approx(50.0)
    assert run.warm_N[-1] < run.cold_N[-1] and run.warm_N[0] == pytest.approx(run.cold_N[0])


def _energy_J(run: Run) -> float:
    told = computed(GEARED, run=run).run
    assert told is not None
    return told.report.warming.energy_J


def test_a_faster_run_is_no_more_heat_and_a_longer_one_is() -> None:
    slow, fast, long = (_energy_J(Run(speed, length)) for length, speed in ((50.0, 1.0), (50.0, 4.0), (100.0, 4.0)))
    assert fast == pytest.approx(slow, rel=0.1) and long > fast


def test_what_lies_beside_the_stack_takes_its_share_of_the_heat() -> None:
    """What goes in is stored in stack and beside it, to 1e-9; the stack is cooler for it."""
    usual = stack_from_dict(family("star_drag").drag)
    gear = Lump("rest of the main gear", 0.04, solids()["brass"].solid, 2, ONE_PIECE_W_K)
    bare, beside = (computed(GEARED, stack=usual, run=Run(4.0, 50.0, lumps)).run for lumps in ((), (gear,)))
    assert bare is not None and beside is not None
    assert beside.report.warming.hottest[1] < bare.report.warming.hottest[1]
    assert beside.report.warming.stored_J == pytest.approx(beside.report.warming.energy_J, rel=1e-9)


def test_the_dog_gives_before_a_thicker_sleeve() -> None:
    """Shear of 0.577 sigma A r = 0.577 x sigma x 2 mm2 x 10 mm; the torque at the spool is that over i eta."""
    steel = (250e6, 600e6)
    per_spool = GEARED.drive.handle_per_spool()
    links = (
        tube_in_torsion("gear sleeve", 0.012, 0.006, steel, per_spool),
        in_shear("dog", 2e-6, 10e-3, steel, per_spool),
    )
    result = computed(GEARED, links=links)
    found = result.strength
    assert found is not None and [link.name for link in found.links] == ["dog", "gear sleeve"]
    assert found.first.gives_at_Nm.low == pytest.approx(0.577 * steel[0] * 2e-6 * 10e-3)
    assert found.limit_spool_Nm is None
    middle = (steel[0] * steel[1]) ** 0.5
    assert wanted_of(result, 5e-3, 1e-3, 1e-3).most_Nm == pytest.approx(0.577 * middle * 2e-8)
    assert wanted_of(computed(GEARED), 5e-3, 1e-3, 1e-3).most_Nm == float("inf")


def _height(mm: float, shims: tuple[float, ...] = ()) -> DragResult:
    bodies = [
        {**body, "thickness_mm": mm} if body["kind"] == "friction" else body for body in TWO_LININGS.as_dict()["bodies"]
    ]
    stack = stack_from_dict({"condition": "dry", "bodies": bodies})
    at_hand = tuple(replace(pieces(TWO_LININGS, 0.0)[0], name=f"{mm:g} mm shim", thickness_m=mm / 1000) for mm in shims)
    return computed(GEARED, stack=stack, room=Room(pieces(TWO_LININGS, 0.0), 0.2e-3, 0.2e-3, 0.0, at_hand))


def test_a_thicker_washer_stands_outside_what_the_star_takes_up_and_a_shim_mends_a_thinner() -> None:
    thick = _height(1.5).height
    assert thick is not None and thick.fits == 0.0 and thick.difference_m.value == pytest.approx(1.0e-3)
    thin = _height(0.75, (0.5,)).height
    assert thin is not None and [shim.name for shim in thin.shims] == ["0.5 mm shim"]


def test_a_part_that_cannot_be_told_is_refused_alone() -> None:
    """A pull of a lining that is not there, and a run longer than the line, leave the drag itself told."""
    result = computed(GEARED, pull=Pull(Quantity.exact(20.0), 100.0, "cork"), run=Run(4.0, 5000.0))
    assert list(result.refusals) == ["pull", "run"] and result.pull is None and result.run is None
    assert "one whose faces carry drag" in str(result.refusals["pull"]) and len(result.fills) == 3


def test_a_pull_of_a_known_friction_gives_it_back() -> None:
    """At a known clamp, within 15 %: new or run in is not known, and the tables weigh in."""
    stack = _with_friction(0.2)
    made = computed(GEARED, stack=stack).fills[0]
    read = Quantity(made.run_in_N.value, 0.98 * made.run_in_N.value, 1.02 * made.run_in_N.value)
    found = computed(GEARED, pull=Pull(read, made.left_m, "felt")).pull
    assert found is not None and found.coefficient.mu.value == pytest.approx(0.2, rel=0.15)


def _with_friction(mu: float) -> Stack:
    bodies = TWO_LININGS.as_dict()["bodies"]
    return stack_from_dict(
        {"bodies": [{**body, "friction": mu} if body["kind"] == "friction" else body for body in bodies]}
    )


def test_what_the_guides_add_is_taken_off_a_pull_read_past_them() -> None:
    bite = exp(0.15 * pi)
    straight = computed(GEARED, pull=Pull(Quantity(20.0, 19.0, 21.0), 100.0, "felt")).pull
    read = Pull(Quantity(20.0 * bite, 19.0 * bite, 21.0 * bite), 100.0, "felt", past=bite)
    past = computed(GEARED, pull=read).pull
    assert straight is not None and past is not None
    assert as_stored(past.coefficient.mu) == pytest.approx(as_stored(straight.coefficient.mu), rel=1e-9)


def test_a_spool_filled_to_the_rim_holds_no_more_than_fits() -> None:
    filled = spool(GEARED).filled
    with pytest.raises(InputError, match="length of line was"):
        Filled(filled.spool, filled.line, filled.length_m / 0.94)
