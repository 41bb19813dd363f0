"""Putting together: gates, the order in, what lacks, and calling the reel together."""

import pytest

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import JobEvent, Stage
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.pieces import (
    piece_judge,
    piece_order,
    piece_renew,
    piece_renew_undo,
    piece_scrap,
    piece_unscrap,
)
from levelwind.shop.takedown.services.together import (
    gate_open,
    gate_pass,
    job_call_together,
    rebuild_step_done,
    rebuild_step_undone,
)
from tests.shop.takedown.pieces_jobs import (
    a_job,
    a_pattern,
    answer_last_gates,
    put_back_until,
    put_together,
    take_apart,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    job = a_job(a_pattern(), reach=("friction_1", "pinion"))
    take_apart(job)
    return job


def here(job, place):
    return job_work(job).here[place]


@pytest.mark.parametrize("family", ["star_drag", "fixed_spool"])
def test_a_whole_reel_goes_apart_and_together_and_ends_with_an_empty_tray(family):
    pattern = a_pattern(family)
    job = a_job(pattern)
    job.reach = [place.key for place in job_work(job).layout.places]
    job.save()
    take_apart(job)
    assert {piece.where for piece in job_work(job).pieces} == {"cell"}
    put_together(job)
    job_call_together(job=job)
    assert {piece.where for piece in job_work(job).pieces} == {"reel"}
    assert job.stage == Stage.TOGETHER


def test_a_step_behind_an_unanswered_gate_is_refused_by_the_gates_words(job):
    with pytest.raises(LevelwindError, match="keyed and eared washers told apart"):
        put_back_until_without_gates(job, "lift_drag_washers")


def put_back_until_without_gates(job, last):
    for refit in job_work(job).way_back.steps:
        rebuild_step_done(job=job, step=refit.step.key)
        if refit.step.key == last:
            return


def test_a_gate_behind_its_step_holds_what_comes_after(job):
    put_back_until(job, "undo_bridge_screws")
    gate_pass(job=job, gate="bridge_screws_told_apart")
    rebuild_step_done(job=job, step="undo_bridge_screws")
    with pytest.raises(LevelwindError, match="started by two full turns"):
        rebuild_step_done(job=job, step="lift_head_plate")
    gate_pass(job=job, gate="bridge_screws_started")
    gate_pass(job=job, gate="gears_turn_free")
    rebuild_step_done(job=job, step="lift_head_plate")


def test_a_gate_cannot_be_answered_before_what_it_asks_about(job):
    put_back_until(job, "undo_bridge_screws")
    with pytest.raises(LevelwindError, match="Answer the gate before it first: Partly threaded pair above"):
        gate_pass(job=job, gate="bridge_screws_started")
    gate_pass(job=job, gate="bridge_screws_told_apart")
    with pytest.raises(LevelwindError, match="once these are in: fully threaded bridge screws, partly threaded"):
        gate_pass(job=job, gate="bridge_screws_started")


def test_the_last_gates_wait_for_the_last_step(job):
    put_back_until(job, "undo_handle_screw")
    with pytest.raises(LevelwindError, match="handle locking screw"):
        gate_pass(job=job, gate="end_float_felt")


@pytest.mark.parametrize("key", ["", "tail_screws_started", "x" * 300])
def test_an_unknown_gate_is_refused_in_a_sentence(job, key):
    for service in (gate_pass, gate_open):
        with pytest.raises(InputError, match="a question this rebuild asks"):
            service(job=job, gate=key)


def test_what_goes_in_later_does_not_go_in_first(job):
    with pytest.raises(LevelwindError, match="Put in first"):
        rebuild_step_done(job=job, step="undo_handle_screw")


def test_a_step_never_taken_has_nothing_to_put_back(job):
    with pytest.raises(LevelwindError, match="never ticked"):
        rebuild_step_done(job=job, step="undo_foot")


def test_a_worn_piece_goes_back_only_with_a_word(job):
    piece_judge(piece=here(job, "pinion"), state="worn")
    put_back_until(job, "lift_pinion")
    with pytest.raises(LevelwindError, match=r"the pinion is worn, and no new one is here\. Renew it, or say"):
        rebuild_step_done(job=job, step="lift_pinion", note="a note alone is no word")
    with pytest.raises(LevelwindError, match="Enter why"):
        rebuild_step_done(job=job, step="lift_pinion", all_the_same=True, note=" ")
    rebuild_step_done(job=job, step="lift_pinion", all_the_same=True, note="owner will bring one in spring")
    assert here(job, "pinion").where == "reel"
    assert JobEvent.objects.filter(text__contains="owner will bring one in spring").exists()


def test_a_missing_piece_is_closed_without_only_on_purpose(job):
    piece_judge(piece=here(job, "yoke_springs"), state="missing")
    put_back_until(job, "lift_bridge")
    with pytest.raises(LevelwindError, match="yoke springs is missing"):
        rebuild_step_done(job=job, step="lift_bridge")
    rebuild_step_done(job=job, step="lift_bridge", all_the_same=True, note="runs without for the season")
    put_rest_together(job, "lift_bridge")
    job_call_together(job=job)


def test_what_was_closed_without_is_asked_again_once_it_is_opened(job):
    piece_judge(piece=here(job, "yoke_springs"), state="missing")
    put_back_until(job, "lift_bridge")
    rebuild_step_done(job=job, step="lift_bridge", all_the_same=True, note="runs without")
    assert job_work(job).without == {"yoke_springs": "runs without"}
    rebuild_step_undone(job=job, step="lift_bridge")
    assert job_work(job).without == {}


def put_rest_together(job, after):
    refits = job_work(job).way_back.steps
    keys = [refit.step.key for refit in refits]
    for refit in refits[keys.index(after) + 1 :]:
        for gate in (gate for gate in refit.step.gates if gate.ahead):
            gate_pass(job=job, gate=gate.key)
        rebuild_step_done(job=job, step=refit.step.key)
        for gate in refit.step.gates:
            gate_pass(job=job, gate=gate.key)
    answer_last_gates(job)


def test_a_bagged_piece_stays_bagged_while_its_place_is_closed(job):
    piece_scrap(piece=here(job, "pinion"))
    put_back_until(job, "lift_pinion")
    rebuild_step_done(job=job, step="lift_pinion", all_the_same=True, note="a test fit")
    with pytest.raises(LevelwindError, match="undo its step on Together first"):
        piece_unscrap(piece=here(job, "pinion"))
    piece_renew_undo(piece=piece_renew(piece=here(job, "pinion")))
    assert here(job, "pinion").where == "scrap"
    rebuild_step_undone(job=job, step="lift_pinion")
    piece_unscrap(piece=here(job, "pinion"))
    assert here(job, "pinion").where == "cell"


def test_a_step_whose_piece_is_on_order_waits_whatever_is_said(job):
    new = piece_order(piece=here(job, "pinion"))
    put_back_until(job, "lift_pinion")
    with pytest.raises(LevelwindError, match="pinion is on order"):
        rebuild_step_done(job=job, step="lift_pinion", all_the_same=True, note="in a hurry")
    piece_renew_undo(piece=new)
    rebuild_step_done(job=job, step="lift_pinion")


def test_the_new_piece_goes_in_and_the_old_one_stays_in_the_bag(job):
    old = here(job, "pinion")
    new = piece_renew(piece=old)
    put_back_until(job)
    old.refresh_from_db()
    new.refresh_from_db()
    assert (old.where, new.where) == ("scrap", "reel")


def test_a_tick_taken_off_opens_its_gates_again(job):
    put_back_until(job)
    last = job_work(job).way_back.steps[-1].step.key
    answer_last_gates(job)
    rebuild_step_undone(job=job, step=last)
    work = job_work(job)
    assert {gate.key for gate in work.way_back.finish}.isdisjoint(work.passed)
    assert all(here(job, place).where == "cell" for place in work.step(last).frees)


def test_a_tick_behind_others_stays(job):
    put_back_until(job)
    with pytest.raises(LevelwindError, match=r"Take off again first: .*bridge"):
        rebuild_step_undone(job=job, step="lift_pinion")


def test_an_answer_taken_back_stands_before_what_is_not_done(job):
    put_together(job)
    gate_open(job=job, gate="gears_turn_free")
    with pytest.raises(LevelwindError, match="do the gears turn freely"):
        job_call_together(job=job)


def test_calling_it_together_names_every_piece_left_over(job):
    scrapped = here(job, "jack") if "jack" in job_work(job).off else here(job, "star")
    piece_scrap(piece=scrapped)
    piece_order(piece=here(job, "pinion"))
    with pytest.raises(LevelwindError) as refusal:
        job_call_together(job=job)
    said = str(refusal.value)
    lying = [piece for piece in job_work(job).pieces if piece.where == "cell"]
    assert len(lying) > 10
    for piece in lying:
        assert f"{piece.name[0].upper()}{piece.name[1:]}: still in tray cell {piece.cell}." in said
    assert "Pinion: still on order." in said
    assert f"{scrapped.name.capitalize()}: no new one is in the reel." in said
    job.refresh_from_db()
    assert job.stage == Stage.APART


def test_an_unanswered_last_gate_keeps_it_apart(job):
    put_back_until(job)
    with pytest.raises(LevelwindError, match="Not answered yet: Can some end float be felt"):
        job_call_together(job=job)


def test_a_missing_piece_with_no_step_ticked_keeps_it_apart(job):
    piece_judge(piece=here(job, "handle_knob"), state="missing")
    put_together(job)
    with pytest.raises(LevelwindError, match="Handle knob: no new one is in the reel"):
        job_call_together(job=job)


def test_a_reel_of_no_pattern_has_no_list_to_check():
    job = a_job(None)
    assert job_call_together(job=job).stage == Stage.TOGETHER


def test_ticking_the_way_back_twice_is_ticking_once(job):
    put_back_until(job)
    first = job_work(job).way_back.steps[0].step.key
    at = job_work(job).refitted[first].at
    rebuild_step_done(job=job, step=first)
    assert job_work(job).refitted[first].at == at
