"""What becomes of each piece: laid out, judged, measured, renewed, ordered, bagged."""

import pytest
from django.db import IntegrityError, transaction

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.takedown import unaccounted
from levelwind.shop.models import Job, JobEvent, Part, PatternPlace, Piece, StepDone
from levelwind.shop.parts.services.shelf import stock_bought, stock_take
from levelwind.shop.takedown.selectors.pieces import core_piece, job_work
from levelwind.shop.takedown.selectors.renewals import renewals
from levelwind.shop.takedown.services.apart import takedown_step_done
from levelwind.shop.takedown.services.layouts import job_lay_out_anew
from levelwind.shop.takedown.services.pieces import (
    job_pattern_choose,
    piece_arrived,
    piece_go_without,
    piece_judge,
    piece_measure,
    piece_order,
    piece_put_back,
    piece_remark,
    piece_renew,
    piece_renew_undo,
    piece_scrap,
    piece_unscrap,
    pieces_lay_out,
    pieces_rest_clean,
)
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_back_until, take_apart

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    job = a_job(a_pattern(), reach=("friction_1", "pinion"))
    take_apart(job)
    return job


def piece(job, place):
    return job_work(job).here[place]


def where(job, place):
    here = piece(job, place)
    return here.where, here.cell


def test_laying_out_puts_one_piece_for_every_place_into_the_reel():
    job = a_job(a_pattern(absent=("worm",)))
    pieces = pieces_lay_out(job=job)
    places = {place.key for place in job_work(job).layout.places}
    assert {piece.place for piece in pieces} == places and "worm" not in places
    assert {piece.where for piece in pieces} == {"reel"}
    assert next(piece.count for piece in pieces if piece.place == "head_screws") == 6


def test_laying_out_again_changes_nothing_that_is_known(job):
    piece_judge(piece=piece(job, "friction_1"), state="worn")
    before = list(Piece.objects.order_by("pk").values())
    pieces_lay_out(job=job)
    assert list(Piece.objects.order_by("pk").values()) == before


def test_a_place_the_pattern_turns_out_to_lack_loses_its_untouched_piece_only(job):
    PatternPlace.objects.create(pattern=job.pattern, key="worm", absent=True)
    PatternPlace.objects.create(pattern=job.pattern, key="pawl", absent=True)
    piece_remark(piece=piece(job, "pawl"), note="seen on the bench")
    job_lay_out_anew(job=job)
    places = {piece.place for piece in Piece.objects.filter(job=job)}
    assert "worm" not in places and "pawl" in places


def test_look_alikes_never_share_a_cell(job):
    lying = [one for one in job_work(job).pieces if one.where == "cell"]
    places = job_work(job).places
    assert len(lying) > 10
    for one in lying:
        alike = [
            other.name for other in lying if other.cell == one.cell and other.place in places[one.place].look_alikes
        ]
        assert alike == []


def test_the_database_refuses_a_cell_outside_the_tray(job):
    with pytest.raises(IntegrityError), transaction.atomic():
        Piece.objects.filter(pk=piece(job, "pinion").pk).update(where="reel")


@pytest.mark.parametrize("state", ["good", "clean", "worn", "broken"])
def test_a_judged_piece_stays_in_its_cell(job, state):
    before = where(job, "pinion")
    piece_judge(piece=piece(job, "pinion"), state=state)
    assert (piece(job, "pinion").state, where(job, "pinion")) == (state, before)


def test_a_missing_piece_leaves_its_cell_and_comes_back_to_it_when_found(job):
    before = where(job, "yoke_springs")
    piece_judge(piece=piece(job, "yoke_springs"), state="missing")
    assert where(job, "yoke_springs") == ("reel", None)
    assert unaccounted([core_piece(piece(job, "yoke_springs"))]) == ()
    piece_judge(piece=piece(job, "yoke_springs"), state="good")
    assert where(job, "yoke_springs") == before


def test_found_after_a_new_one_came_goes_to_the_bag(job):
    lost = piece(job, "yoke_springs")
    piece_judge(piece=lost, state="missing")
    new = piece_renew(piece=lost)
    piece_judge(piece=lost, state="good")
    assert (lost.where, piece(job, "yoke_springs")) == ("scrap", new)


def test_the_rest_is_sound_and_wants_cleaning(job):
    piece_judge(piece=piece(job, "pinion"), state="worn")
    lying = job.pieces.filter(where="cell").count()
    assert pieces_rest_clean(job=job) == lying - 1
    assert {one.state for one in job_work(job).pieces if one.where == "reel"} == {""}
    assert (piece(job, "pinion").state, piece(job, "yoke").state) == ("worn", "clean")


def test_an_unknown_state_is_refused_with_what_is_allowed(job):
    with pytest.raises(InputError, match="good, clean it, worn, broken, missing"):
        piece_judge(piece=piece(job, "pinion"), state="melted")


def test_what_must_be_renewed_is_written_in_the_history_and_listed(job):
    piece_judge(piece=piece(job, "pinion"), state="worn")
    assert JobEvent.objects.filter(job=job, text="Pinion: worn.").exists()
    assert [row.place.key for row in renewals(job) if row.must and not row.done] == ["pinion"]
    piece_renew(piece=piece(job, "pinion"))
    assert not any(row.must and not row.done for row in renewals(job))


def test_measures_merge_and_none_takes_one_out(job):
    pinion = piece(job, "pinion")
    piece_measure(piece=pinion, sizes_mm={"length": 21.3, "tooth count": 17})
    piece_measure(piece=pinion, sizes_mm={"inner diameter": 4.02, "tooth count": None})
    assert piece(job, "pinion").measured_mm == {"length": 21.3, "inner diameter": 4.02}


@pytest.mark.parametrize("size", [0, -1.0, float("nan"), float("inf"), 2001.0])
def test_an_absurd_size_is_refused_and_nothing_written(job, size):
    with pytest.raises(InputError, match="length was"):
        piece_measure(piece=piece(job, "pinion"), sizes_mm={"length": size})
    assert piece(job, "pinion").measured_mm == {}


def test_only_the_places_own_dimensions_are_measured(job):
    with pytest.raises(InputError, match="dimension"):
        piece_measure(piece=piece(job, "pinion"), sizes_mm={"free length": 3.0})


def test_a_new_piece_takes_the_cell_and_the_old_one_is_bagged(job):
    old = piece(job, "friction_1")
    cell = old.cell
    part = Part.objects.create(number="TB-7", name="drag washer")
    new = piece_renew(piece=old, part=part)
    old.refresh_from_db()
    assert (new.where, new.cell, new.replaces, new.part) == ("cell", cell, old, part)
    assert (old.where, old.cell) == ("scrap", None)


def test_a_piece_is_renewed_once(job):
    old = piece(job, "friction_1")
    new = piece_renew(piece=old)
    with pytest.raises(LevelwindError, match=f"tray cell {new.cell}"):
        piece_renew(piece=old)
    assert piece_renew(piece=new).replaces == new


def test_some_of_a_set_renewed_keeps_the_set_whole(job):
    screws = piece(job, "head_screws")
    new = piece_renew(piece=screws, count=2)
    screws.refresh_from_db()
    assert (new.count, new.note) == (6, "2 of 6 new")
    assert (screws.count, screws.where) == (2, "scrap")
    put_back_until(job)
    assert not [question for question in job_work(job).questions if "head plate screws" in question]
    for wrong in (0, 7):
        with pytest.raises(InputError, match="from 1 to 6"):
            piece_renew(piece=new, count=wrong)


def test_a_renewal_taken_back_brings_the_old_piece_to_its_cell(job):
    screws = piece(job, "head_screws")
    before = where(job, "head_screws")
    piece_renew_undo(piece=piece_renew(piece=screws, count=2))
    assert where(job, "head_screws") == before
    assert piece(job, "head_screws").count == 6


def test_a_fitted_renewal_is_not_taken_back(job):
    new = piece_renew(piece=piece(job, "friction_1"))
    put_back_until(job)
    with pytest.raises(LevelwindError, match="in the reel"):
        piece_renew_undo(piece=new)


def test_an_order_leaves_the_old_piece_in_its_cell_until_the_new_one_comes(job):
    old = piece(job, "pinion")
    cell = old.cell
    new = piece_order(piece=old)
    old.refresh_from_db()
    assert (new.where, old.where, old.cell) == ("order", "cell", cell)
    piece_arrived(piece=new)
    old.refresh_from_db()
    assert (where(job, "pinion"), old.where) == (("cell", cell), "scrap")
    with pytest.raises(LevelwindError, match="not on order"):
        piece_arrived(piece=new)


def test_taking_from_the_shelf_for_a_piece_on_order_is_its_arrival(job):
    part = Part.objects.create(number="TB-9", name="pinion")
    old = piece(job, "pinion")
    ordered = piece_order(piece=old)
    new = piece_renew(piece=old, part=part)
    assert (new.pk, new.where, new.part) == (ordered.pk, "cell", part)


def test_a_new_piece_may_lie_ready_before_the_reel_is_opened():
    job = a_job(a_pattern(), reach=("friction_1",))
    old = piece(job, "friction_1")
    new = piece_renew(piece=old)
    assert (new.where, new.cell) == ("cell", job_work(job).cells["friction_1"])
    take_apart(job)
    old.refresh_from_db()
    assert (old.where, where(job, "friction_1")) == ("scrap", ("cell", new.cell))


def test_only_what_lies_in_the_tray_is_bagged(job):
    piece_scrap(piece=piece(job, "pinion"))
    assert where(job, "pinion") == ("scrap", None)
    with pytest.raises(LevelwindError, match="in the scrap bag"):
        piece_scrap(piece=piece(job, "pinion"))
    with pytest.raises(LevelwindError, match="in the reel"):
        piece_scrap(piece=piece(job, "foot"))
    piece_unscrap(piece=piece(job, "pinion"))
    assert where(job, "pinion")[0] == "cell"


def test_a_bagged_piece_stays_bagged_once_a_new_one_has_its_place(job):
    old = piece(job, "pinion")
    piece_renew(piece=old)
    with pytest.raises(LevelwindError, match="new one in its place"):
        piece_unscrap(piece=old)


def test_going_without_needs_a_reason_and_a_piece_that_is_not_there(job):
    with pytest.raises(LevelwindError, match="does not go without"):
        piece_go_without(piece=piece(job, "pinion"), note="lost")
    piece_judge(piece=piece(job, "handle_knob"), state="missing")
    with pytest.raises(LevelwindError, match="Enter why"):
        piece_go_without(piece=piece(job, "handle_knob"), note="  ")
    assert any("handle knob" in question for question in job_work(job).questions)
    piece_go_without(piece=piece(job, "handle_knob"), note="owner has one at home")
    assert not any("handle knob" in question for question in job_work(job).questions)


def test_a_piece_whose_place_the_pattern_lost_goes_straight_back(job):
    yoke = piece(job, "yoke")
    with pytest.raises(LevelwindError, match="by its step"):
        piece_put_back(piece=yoke)
    PatternPlace.objects.create(pattern=job.pattern, key="yoke", absent=True)
    Job.objects.filter(pk=job.pk).update(layers=None)  # as in a book from before layouts were kept
    job.refresh_from_db()
    assert any("pinion yoke: still in tray" in question for question in job_work(job).questions)
    piece_put_back(piece=yoke)
    assert (yoke.where, yoke.cell) == ("reel", None)


def test_the_ledger_keeps_a_new_piece_it_speaks_of(job):
    part = Part.objects.create(number="TB-8", name="pinion")
    new = piece_renew(piece=piece(job, "pinion"), part=part)
    stock_bought(part=part, count=1)
    stock_take(part=part, job=job, piece=new)
    with pytest.raises(LevelwindError, match="ledger speaks of this new pinion"):
        piece_renew_undo(piece=new)
    assert piece(job, "pinion") == new


def test_a_renewal_taken_back_by_someone_else_is_said_in_words(job):
    new = piece_renew(piece=piece(job, "pinion"))
    same = Piece.objects.get(pk=new.pk)
    piece_renew_undo(piece=new)
    with pytest.raises(LevelwindError, match="taken back"):
        piece_judge(piece=same, state="good")


def test_the_pattern_is_not_changed_while_pieces_lie_in_the_tray(job):
    with pytest.raises(LevelwindError, match="put them back"):
        job_pattern_choose(job=job, pattern=a_pattern("fixed_spool", model="Kestrel"))


def test_another_family_starts_afresh():
    job = a_job(a_pattern(), reach=("friction_1",))
    job_pattern_choose(job=job, pattern=a_pattern("fixed_spool", model="Kestrel"))
    assert job.reach == [] and not StepDone.objects.filter(job=job).exists()
    assert {one.place for one in Piece.objects.filter(job=job)} == {place.key for place in job_work(job).layout.places}
    takedown_step_done(job=job, step=job_work(job).layout.rules.steps[0].key)


def test_the_work_of_a_job_is_read_in_a_handful_of_queries(job, django_assert_max_num_queries):
    from levelwind.shop.jobs.selectors.jobs import job_get

    fresh = job_get(job.tag)
    with django_assert_max_num_queries(3):
        work = job_work(fresh)
        assert work.plan and work.cells and work.way_back.steps and work.questions
