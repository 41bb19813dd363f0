"""Taking apart: steps ticked off, with their pieces into the tray, and taken off again."""

import pytest

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.takedown import reach
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Stage, StepDone, Turn
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import reach_choose, takedown_step_done, takedown_step_undone
from levelwind.shop.takedown.services.pieces import piece_judge, piece_renew
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_together, take_apart

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return a_job(a_pattern(), reach=("pinion",))


def lying(job):
    return {one.place: one.cell for one in job_work(job).pieces if one.where == "cell"}


def test_the_plan_is_the_least_work_of_core(job):
    work = job_work(job)
    assert work.plan == reach(work.layout.rules, ["pinion"])


def test_a_tick_lays_what_it_frees_into_the_cells_the_plan_gave(job):
    cells = job_work(job).cells
    take_apart(job)
    assert lying(job) == cells


def test_cells_do_not_move_when_steps_are_ticked_out_of_turn(job):
    planned = job_work(job).cells
    takedown_step_done(job=job, step="undo_head_screws")
    takedown_step_done(job=job, step="undo_handle_screw")
    assert lying(job) == {key: planned[key] for key in ("head_screws", "handle_screw")}
    assert job_work(job).cells == planned


def test_what_lies_in_the_tray_stays_when_more_is_to_be_reached(job):
    take_apart(job)
    before = lying(job)
    reach_choose(job=job, places=["pinion", "tail_bearing", "dog"])
    take_apart(job)
    after = lying(job)
    assert before.items() <= after.items()
    assert not set(before.values()) & {cell for place, cell in after.items() if place not in before}


def test_a_step_outside_the_plan_finds_cells_of_its_own(job):
    takedown_step_done(job=job, step="undo_clamp")
    takedown_step_done(job=job, step="undo_foot")
    assert lying(job)["foot"] == lying(job)["foot_screws"] != lying(job)["clamp"]
    assert "undo_foot" in [step.key for step in job_work(job).plan.steps]


def test_look_alikes_of_a_step_outside_the_plan_have_cells_of_their_own(job):
    take_apart(job)
    takedown_step_done(job=job, step="lift_drag_washers")
    washers = job_work(job).step("lift_drag_washers").frees
    assert len({lying(job)[place] for place in washers}) == len(washers)


def test_a_step_is_refused_by_name_of_what_comes_first(job):
    with pytest.raises(LevelwindError, match="handle nut"):
        takedown_step_done(job=job, step="pull_handle")
    assert lying(job) == {} and not StepDone.objects.exists()


def test_late_comers_tick_everything_up_to_here(job):
    takedown_step_done(job=job, step="lift_head_plate", with_before=True)
    done = set(StepDone.objects.values_list("step", flat=True))
    assert {"undo_handle_screw", "undo_handle_nut", "pull_handle", "undo_head_screws", "lift_head_plate"} <= done
    assert "lift_bridge" not in done


def test_ticking_twice_is_ticking_once(job):
    takedown_step_done(job=job, step="undo_handle_screw")
    at = StepDone.objects.get().at
    takedown_step_done(job=job, step="undo_handle_screw")
    assert StepDone.objects.get().at == at


@pytest.mark.parametrize("key", ["", "no_such_step", "x" * 500, "undo_handle_screw'; --"])
def test_an_unknown_step_is_refused_in_a_sentence(job, key):
    for service in (takedown_step_done, takedown_step_undone):
        with pytest.raises(InputError, match="a step of this reel"):
            service(job=job, step=key)


def test_the_first_step_makes_the_job_apart_and_keeps_what_it_waits_for(job):
    job_move(job=job, stage=Stage.AGREED, turn=Turn.PART)
    takedown_step_done(job=job, step="undo_handle_screw")
    job.refresh_from_db()
    assert (job.stage, job.turn) == (Stage.APART, Turn.PART)


def test_a_reel_that_is_opened_again_is_apart_again(job):
    take_apart(job)
    put_together(job)
    job_move(job=job, stage=Stage.PROVED)
    takedown_step_done(job=job, step="undo_handle_screw")
    work = job_work(job)
    assert job.stage == Stage.APART
    assert [step.key for step in work.apart] == ["undo_handle_screw"]
    assert {gate.key for gate in work.layout.rules.finish}.isdisjoint(work.passed)


def test_a_tick_taken_off_puts_the_pieces_back(job):
    takedown_step_done(job=job, step="undo_handle_screw")
    piece_judge(piece=job_work(job).here["handle_screw"], state="clean")
    takedown_step_undone(job=job, step="undo_handle_screw")
    here = job_work(job).here["handle_screw"]
    assert (here.where, here.cell, here.state) == ("reel", None, "clean")
    takedown_step_undone(job=job, step="undo_handle_screw")


def test_a_tick_that_others_hang_on_stays(job):
    take_apart(job)
    with pytest.raises(LevelwindError, match=r"Put back first: .*yoke springs"):
        takedown_step_undone(job=job, step="lift_head_plate")


def test_a_tick_stays_once_its_piece_was_renewed(job):
    take_apart(job)
    piece_renew(piece=job_work(job).here["pinion"])
    with pytest.raises(LevelwindError, match="pinion was bagged or renewed"):
        takedown_step_undone(job=job, step="lift_pinion")


def test_choices_of_two_people_add_up(job):
    reach_choose(job=job, places=["pinion", "dog"], was=["pinion"])
    reach_choose(job=job, places=["foot"], was=["pinion"])
    assert set(job.reach) == {"dog", "foot"}


def test_a_place_the_reel_lacks_is_not_reached(job):
    with pytest.raises(InputError, match="place was 'propeller'"):
        reach_choose(job=job, places=["propeller"])
    assert job.reach == ["pinion"]


def test_each_tick_keeps_its_time(job):
    takedown_step_done(job=job, step="undo_handle_screw", note="it was loose")
    takedown_step_done(job=job, step="undo_handle_nut")
    first, second = StepDone.objects.order_by("pk")
    assert first.at <= second.at and first.note == "it was loose"
