"""One reel's own layout: a piece more at the bench, and the layout it was begun with."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Pattern, PatternPlace, Piece, Stage
from levelwind.shop.papers.services.sendings import Answers, reel_box
from levelwind.shop.patterns.selectors.layouts import job_layout, pattern_layout
from levelwind.shop.patterns.services.layouts import says_set
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.layouts import job_lay_out_anew, job_layout_keep, piece_one_more
from levelwind.shop.takedown.services.pieces import job_pattern_choose, piece_renew, piece_renew_undo
from levelwind.shop.takedown.services.together import job_call_together, rebuild_step_done
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_together, take_apart

pytestmark = pytest.mark.django_db


def test_one_more_piece_has_a_cell_and_goes_in_again_with_its_step():
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    cells = {piece.place: piece.cell for piece in Piece.objects.filter(job=job, where="cell")}
    pin = piece_one_more(job=job, name=" Sleeve  pin ", kind="pin", step="lift_pinion", by="Wilma")
    assert (pin.place, pin.name, pin.where) == ("own_sleeve_pin", "Sleeve pin", "cell") and pin.cell
    assert cells.items() <= {piece.place: piece.cell for piece in Piece.objects.filter(job=job, where="cell")}.items()
    spring = piece_one_more(job=job, name="blade", kind="spring", step="lift_pinion", count=2)
    step = job_work(job).step("lift_pinion")
    assert step.frees[-2:] == ("own_sleeve_pin", "own_blade") and "springs" in step.cautions
    assert "own_sleeve_pin" not in pattern_layout(job.pattern).by_key()
    put_together(job)
    pin.refresh_from_db()
    spring.refresh_from_db()
    assert (pin.where, spring.where, spring.count) == ("reel", "reel", 2)
    assert job_work(job).questions == ()
    job_call_together(job=job)


def test_kept_for_the_pattern_the_next_reel_has_it_and_this_one_has_it_once():
    pattern = a_pattern()
    job, next_job = a_job(pattern, reach=("pinion",)), a_job(pattern, tag="26-0002")
    take_apart(job)
    piece_one_more(job=job, name="pin", kind="pin", step="lift_pinion", for_pattern=True)
    piece_one_more(job=job, name="pin", kind="pin", step="lift_pinion")
    job_pattern_choose(job=next_job, pattern=Pattern.objects.get())
    assert Piece.objects.filter(job=next_job, place__startswith="own_").count() == 1
    job_lay_out_anew(job=job)
    assert [p.place for p in Piece.objects.filter(job=job, place__startswith="own_")] == ["own_pin", "own_pin_2"]
    put_together(job)
    assert job_work(job).questions == ()


def test_a_piece_is_refused_where_it_cannot_be():
    job = a_job(a_pattern(), reach=("handle",))
    take_apart(job)
    with pytest.raises(LevelwindError, match="Enter what the piece is"):
        piece_one_more(job=job, name=" ", kind="pin", step="undo_handle_nut")
    with pytest.raises(LevelwindError, match="kind of piece was 'x'"):
        piece_one_more(job=job, name="pin", kind="x", step="undo_handle_nut")
    with pytest.raises(LevelwindError, match="step was 'x'"):
        piece_one_more(job=job, name="pin", kind="pin", step="x")
    with pytest.raises(LevelwindError, match="count of pin was 0"):
        piece_one_more(job=job, name="pin", kind="pin", step="undo_handle_nut", count=0)
    rebuild_step_done(job=job, step=job_work(job).way_back.steps[0].step.key)
    with pytest.raises(LevelwindError, match="undo it on Together first"):
        piece_one_more(job=job, name="pin", kind="pin", step=job_work(job).way_back.steps[0].step.key)
    Job.objects.update(stage=Stage.SPARES)
    for what in (
        lambda: piece_one_more(job=job, name="pin", kind="pin", step="pull_handle"),
        lambda: job_lay_out_anew(job=job),
    ):
        with pytest.raises(LevelwindError, match="kept for spares: take it up again first"):
            what()


def test_a_reel_keeps_the_layout_it_was_begun_with_until_it_is_laid_out_anew():
    job = a_job(a_pattern(), reach=("pinion",))
    with pytest.raises(LevelwindError, match="nothing to lay out anew"):
        job_lay_out_anew(job=job)
    take_apart(job)
    assert not job_layout(job).moved_on
    PatternPlace.objects.create(pattern=job.pattern, key="dog_spring", part_number="TB-37")
    assert not job_layout(job).moved_on and job_work(job).places["dog_spring"].part_number == "TB-37"
    PatternPlace.objects.create(pattern=job.pattern, key="worm", absent=True)
    fresh = Job.objects.get(pk=job.pk)
    assert job_layout(fresh).moved_on and "worm" in job_work(fresh).places
    job_lay_out_anew(job=job)
    assert not job_layout(job).moved_on and "worm" not in job_work(job).places


def test_a_changed_pattern_is_answered_once_and_nothing_taken_out_loses_its_place():
    job = a_job(a_pattern(), reach=("pinion",))
    take_apart(job)
    with pytest.raises(LevelwindError, match="nothing to keep it from"):
        job_layout_keep(job=job)
    PatternPlace.objects.create(pattern=job.pattern, key="worm", absent=True)
    job_layout_keep(job=job, by="Wilma")
    assert job_layout(job).moved_on and job_layout(job).kept
    PatternPlace.objects.create(pattern=job.pattern, key="pinion", absent=True)
    assert not job_layout(job).kept, "changed again, it is asked again"
    begun = job.layers
    with pytest.raises(LevelwindError, match="without a place in the pattern as it stands now: pinion"):
        job_lay_out_anew(job=job)
    job = Job.objects.get(pk=job.pk)
    assert job.layers == begun and Piece.objects.get(job=job, place="pinion").where == "cell"


def test_what_a_pattern_says_is_held_to_every_word():
    pattern = a_pattern()
    with pytest.raises(LevelwindError, match="no step frees odd"):
        row = {"key": "own_odd", "name": "odd", "group": "drag", "kind": "pin", "renew": "rarely"}
        says_set(one=pattern, says={"places": {"place": [{**row, "clean": "solvent wipe"}]}})
    pattern.refresh_from_db()
    assert pattern.says == {}


def test_what_is_laid_in_the_tray_of_a_boxed_reel_takes_it_out_of_its_box():
    job = a_job(a_pattern(), reach=("handle",))
    take_apart(job)
    handle = job.pieces.get(place="handle")
    for laid in (
        lambda: piece_renew(piece=handle),
        lambda: piece_renew_undo(piece=job.pieces.get(replaces=handle)),
        lambda: piece_one_more(job=job, name="pin", kind="pin", step="pull_handle"),
    ):
        reel_box(job=job, said=Answers(rest="bag", old_parts="bagged"))
        laid()
        job.refresh_from_db()
        assert job.stage == Stage.APART and not job.pieces.exclude(fate="").exists()
    assert job.events.filter(text="Now apart.").count() == 1 + 3
