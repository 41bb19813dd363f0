"""The first takedown: what came out becomes the pattern, in that order, and the reel goes together again by it."""

import pytest

from levelwind.core.errors import InputError, LevelwindError
from levelwind.core.takedown import reach
from levelwind.shop.models import Job, Pattern, Piece, StepDone
from levelwind.shop.patterns.selectors.layouts import pattern_layout
from levelwind.shop.takedown.selectors.first import may_be_recorded, pieces_out
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.first import (
    first_piece_back,
    first_piece_record,
    first_takedown_begin,
    first_takedown_end,
)
from levelwind.shop.takedown.services.pieces import job_pattern_choose, piece_judge
from levelwind.shop.takedown.services.together import job_call_together
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_together

pytestmark = pytest.mark.django_db
CAME_OUT = ("Spool latch screw", "spool", "felt washer", "click springs", "click pawls")
"""A single action reel, as nobody had it in a book."""


def a_first_reel() -> Job:
    job = a_job(None)
    job_pattern_choose(job=job, pattern=a_pattern("single_action"))
    first_takedown_begin(job=job)
    first_takedown_begin(job=job)
    return Job.objects.get(pk=job.pk)


def test_the_way_in_is_the_one_recorded_and_the_way_back_ends_with_an_empty_tray() -> None:
    job = a_first_reel()
    for name in CAME_OUT:
        first_piece_record(job=job, name=name, tool="screwdriver" if "screw" in name else "")
    first_piece_record(job=job, name="pawl pin", with_last=True, count=2)
    first_takedown_end(job=job)
    layout = pattern_layout(Pattern.objects.get())
    assert {place.name.lower() for place in layout.places} == {name.lower() for name in (*CAME_OUT, "pawl pin")}
    order = reach(layout.rules, tuple(place.key for place in layout.places)).steps
    names = [layout.by_key()[key].name.lower() for step in order for key in step.frees]
    assert names == [name.lower() for name in (*CAME_OUT, "pawl pin")]
    assert len(order) == len(CAME_OUT) and order[0].tool == "screwdriver"
    springs = next(step for step in order if "spring" in step.do)
    assert "springs" in springs.cautions
    assert "spool" in layout.by_key(), "a piece that the family has keeps the family's key"
    job = Job.objects.get()
    assert not may_be_recorded(job)
    cells = {piece.name.lower(): piece.cell for piece in job.pieces.filter(where="cell")}
    assert cells == {**{name.lower(): cell for cell, name in enumerate(CAME_OUT, 1)}, "pawl pin": 5}
    put_together(job)
    assert job_work(Job.objects.get()).questions == ()
    job_call_together(job=Job.objects.get())
    fresh = a_job(Pattern.objects.get(), tag="26-0002")
    job_pattern_choose(job=fresh, pattern=Pattern.objects.get())
    assert fresh.pieces.count() == 6 and fresh.pieces.get(name="pawl pin").count == 2


def test_the_last_piece_is_taken_back_and_pressed_twice_is_out_once() -> None:
    job = a_first_reel()
    first_piece_record(job=job, name="spool", behind=0)
    first_piece_record(job=job, name="Spool ", behind=0)
    pawl = first_piece_record(job=job, name="odd pawl", kind="dog", behind=1)
    assert pawl.place == "own_odd_pawl" and [out.piece.name for out in pieces_out(job)] == ["odd pawl", "spool"]
    with pytest.raises(LevelwindError, match="meanwhile"):
        first_piece_record(job=job, name="click spring", behind=1)
    first_piece_back(job=job)
    assert [out.piece.name for out in pieces_out(job)] == ["spool"] and Piece.objects.filter(job=job).count() == 1
    piece_judge(piece=Piece.objects.get(), state="worn")
    with pytest.raises(LevelwindError, match="judged already"):
        first_piece_back(job=job)
    piece_judge(piece=Piece.objects.get(), state="")
    first_piece_back(job=job)
    first_piece_back(job=job)
    pattern = first_takedown_end(job=job)
    assert pattern.says == {} and not StepDone.objects.exists() and may_be_recorded(Job.objects.get())
    assert Piece.objects.filter(job=job, where="reel").count() == len(pattern_layout(pattern).places)


def test_a_piece_said_in_the_words_of_the_familys_key_is_that_place_and_pressed_twice_is_out_once() -> None:
    job = a_job(None)
    job_pattern_choose(job=job, pattern=a_pattern("star_drag"))
    first_takedown_begin(job=job)
    for _ in range(2):
        assert first_piece_record(job=job, name="handle", behind=0).place == "handle"
    assert Piece.objects.get().name == "handle arm"


@pytest.mark.parametrize(
    ("said", "error"),
    [
        ({"name": "thing"}, "What kind of piece"),
        ({"name": "  ", "kind": "pin"}, "Enter what the piece is"),
        ({"name": "odd pin", "count": 0}, "from 1 to 200"),
        ({"name": "spool", "count": 999}, "from 1 to 200"),
        ({"name": "odd", "kind": "moon"}, "one of screw"),
    ],
)
def test_nonsense_is_refused_and_leaves_the_pattern_alone(said: dict[str, str], error: str) -> None:
    job = a_first_reel()
    with pytest.raises((InputError, LevelwindError), match=error):
        first_piece_record(job=job, **said)  # type: ignore[arg-type]
    assert Pattern.objects.get().says == {}


def test_a_pattern_that_has_its_takedown_is_not_recorded_over() -> None:
    job = a_job(a_pattern())
    with pytest.raises(LevelwindError, match="not being recorded"):
        first_piece_record(job=job, name="spool")
    a_job(Pattern.objects.get(), tag="26-0002")
    with pytest.raises(LevelwindError, match="its takedown already"):
        first_takedown_begin(job=job)
    with pytest.raises(LevelwindError, match="Begin a pattern"):
        first_takedown_begin(job=a_job(None, tag="26-0003"))
