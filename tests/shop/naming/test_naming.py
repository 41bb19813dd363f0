"""A reel that nobody knows, in the book: what was seen, what it may be, and the pattern begun from it."""

import json

import pytest

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.book.services.pattern_files import pattern_file, pattern_read
from levelwind.shop.jobs.selectors.hunches import standing
from levelwind.shop.models import Job, Pattern, PatternSign, Piece, Sighting, Stage
from levelwind.shop.money.made_up import both_ways
from levelwind.shop.naming.selectors import clear_family, naming_key, naming_of, sign_key
from levelwind.shop.naming.services import (
    naming_pattern_begin,
    sighting_record,
    sighting_take_back,
    sightings_type,
    sign_add,
    sign_take_away,
)
from levelwind.shop.patterns.services.keeping import pattern_copy, pattern_merge
from levelwind.shop.people.selectors import shop_get
from levelwind.shop.takedown.services.pieces import job_pattern_take_back, piece_judge
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def test_answers_are_kept_once_changed_and_taken_back() -> None:
    job = a_job()
    for said in ("star", "star", "lever"):
        sighting_record(of=job, look="drag", said=said)
    assert Sighting.objects.get().said == "lever"
    assert next(iter(naming_of(job).naming.families)) in ("lever_drag", "lever_drag_two_speed")
    sighting_record(of=job, look="drag", said="")
    assert naming_of(job).told[0].said == "cannot tell"
    sightings_type(of=job, typed={"spool_width_mm": "38,25 mm", "marks": "SK?RRY", "foot_mm": ""})
    assert dict(Sighting.objects.values_list("look", "said")) == {
        "drag": "",
        "spool_width_mm": "38.25",
        "marks": "SK?RRY",
    }
    sightings_type(of=job, typed={"spool_width_mm": "", "marks": "SK?RRY"})
    sighting_take_back(of=job, look="drag")
    sighting_take_back(of=job, look="drag")
    assert [told.said for told in naming_of(job).told] == ["SK?RRY"]


def test_of_a_book_with_hundreds_of_signs_the_newest_are_asked_about() -> None:
    """A key holds 200 looks: a book with more signs of its own could name no reel at all."""
    pattern = a_pattern()
    signs = PatternSign.objects.bulk_create([PatternSign(pattern=pattern, text=f"mark {n}") for n in range(250)])
    asked = {look.key for look in naming_of(a_job()).looks}
    assert sign_key(signs[-1].pk) in asked and sign_key(signs[0].pk) not in asked


def test_the_book_is_put_in_order_for_naming_once_and_anew_after_any_change_to_it() -> None:
    """In a book of thousands of patterns it takes most of the time; which reels came in changes none of it."""
    pattern, job = a_pattern(), a_job()
    first = naming_key(job)
    a_job("26-0002", owner=job.owner, pattern=pattern)
    then = naming_key(job)
    assert then.kinds is first.kinds and then.common != first.common
    Pattern.objects.filter(pk=pattern.pk).update(marks="SKERRY PAT.")
    marked = naming_key(job)
    assert any("SKERRY PAT." in kind.marks for kind in marked.kinds)
    sign_add(pattern=pattern, text="a brass cap")
    assert any(kind.signs for kind in naming_key(job).kinds) and not any(kind.signs for kind in marked.kinds)
    Pattern.objects.filter(pk=pattern.pk).update(retired_on="2026-01-01")
    assert not any(kind.in_book for kind in naming_key(job).kinds)
    assert naming_key(job).common == then.common


@pytest.mark.parametrize(
    ("look", "said"),
    [("moon", "yes"), ("drag", "moon"), ("spool_width_mm", "wide"), ("spool_width_mm", "4000"), ("foot_mm", "-3"),
     ("plate_mm", "inf"), ("marks", "A" * 500), ("sign-77", "yes")],
)  # fmt: skip
def test_nonsense_is_refused_and_leaves_nothing(look: str, said: str) -> None:
    with pytest.raises(InputError):
        sighting_record(of=a_job(), look=look, said=said)
    assert not Sighting.objects.exists()


def test_a_pattern_of_the_book_is_found_by_its_marks_its_sizes_and_its_own_sign() -> None:
    skerry = a_pattern(spool_width_mm=38, spool_flange_mm=60, foot_mm=62, year_from=1950, year_to=1979)
    a_pattern(model="Tern", spool_width_mm=44, spool_flange_mm=66)
    sign = sign_add(pattern=skerry, text="riveted name plate", year_to=1959)
    assert sign_add(pattern=skerry, text="riveted  name plate", year_to=1959) == sign
    job = a_job()
    sighting_record(of=job, look="drag", said="star")
    sightings_type(of=job, typed={"spool_width_mm": "38.2", "marks": "TARN & W?Y\nSKERRY 50"})
    before = naming_of(job).candidates[0]
    assert before.pattern == skerry and before.probability > 0.8 and before.year is None
    sighting_record(of=job, look=sign_key(sign.pk), said="yes")
    dated = naming_of(job).candidates[0]
    assert dated.probability > before.probability and dated.year is not None and dated.year.high < 1966
    sign_take_away(pattern=skerry, pk=sign.pk)
    gone = naming_of(job)
    assert gone.candidates[0].probability == pytest.approx(before.probability)
    assert "gone from the book" in gone.told[-1].ask


def test_the_shops_own_reels_shift_the_start_a_little() -> None:
    fly = a_pattern(family="fly")
    start = naming_of(job := a_job()).naming.families["fly"]
    for number in range(2, 8):
        a_job(f"26-000{number}", pattern=fly)
    assert start < 0.05 and 0.2 < naming_of(job).naming.families["fly"] < 0.3


def test_a_pattern_begun_from_the_reel_keeps_what_was_found_and_is_begun_once() -> None:
    job = a_job()
    sightings_type(of=job, typed={"spool_width_mm": "31", "foot_mm": "60", "marks": "HARBOUR"})
    sighting_record(of=job, look="metal", said="brass")
    named = {"maker": "Unknown maker", "model": "From the loft", "family_key": "single_action"}
    pattern = naming_pattern_begin(of=job, **named)
    assert naming_pattern_begin(of=job, **named) == pattern == Pattern.objects.get()
    assert (pattern.spool_width_mm, pattern.foot_mm, pattern.marks) == (31.0, 60.0, "HARBOUR")
    assert PatternSign.objects.get().answer == "brass"
    job.refresh_from_db()
    assert job.pattern == pattern and job.pieces.exists()
    with pytest.raises(LevelwindError, match="in the book already"):
        naming_pattern_begin(of=a_job("26-0002", owner=job.owner), **named)


def test_signs_go_with_their_pattern_when_it_is_copied_merged_or_written_out() -> None:
    job, skerry = a_job(), a_pattern(marks="MADE BY HAND")
    skerry.recorded_from = job
    skerry.save()
    sign_add(pattern=skerry, text="riveted plate", year_to=1959)
    sign_add(pattern=skerry, look="knob", answer="old")
    copied = pattern_copy(pattern=skerry, maker="Tarn & Wey", model="Tern")
    told = json.loads(pattern_file(skerry))
    assert "recorded_from" not in told["facts"]
    told["signs"].append({"look": "moon", "answer": "full", "text": ""})
    read, _ = pattern_read(content=json.dumps({**told, "model": "Gannet"}).encode())
    for other in (copied, read):
        assert {sign.says for sign in other.signs.all()} == {sign.says for sign in skerry.signs.all()}
        assert (other.marks, other.recorded_from) == ("MADE BY HAND", None)
    sign_add(pattern=copied, text="a groove in the foot")
    pattern_merge(gone=copied, into=skerry)
    assert [sign.text for sign in skerry.signs.all()].count("riveted plate") == 1 and skerry.signs.count() == 3
    with pytest.raises(InputError, match="a year"):
        pattern_read(content=json.dumps({**told, "model": "Bream", "signs": [{"text": "x", "year_to": "x"}]}).encode())


def test_a_name_is_taken_back_until_work_is_written_down_under_it() -> None:
    job = a_job()
    naming_pattern_begin(of=job, maker="Unknown", model="Loft", family_key="fly_click")
    for _ in range(2):
        job_pattern_take_back(job=job)
    assert job.pattern is None and not Piece.objects.exists() and job.stage == Stage.BOOKED_IN
    naming_pattern_begin(of=job, maker="Unknown", model="Attic", family_key="fly_click")
    piece_judge(piece=Piece.objects.all()[0], state="worn")
    with pytest.raises(LevelwindError, match="choose another pattern"):
        job_pattern_take_back(job=job)


@pytest.mark.parametrize(
    "said",
    [
        {"look": "moon", "answer": "yes"},
        {"look": "knob", "answer": "moon"},
        {"text": "x", "year_from": 1960, "year_to": 1950},
        {},
    ],
)
def test_a_bad_sign_is_refused_in_words(said: dict[str, str]) -> None:
    with pytest.raises(InputError, match="allowed"):
        sign_add(pattern=a_pattern(), **said)  # type: ignore[arg-type]


def test_a_reel_whose_family_is_clear_is_looked_over_and_priced_as_one_of_it() -> None:
    """Until it has a pattern: any reel's looks, then its family's, and any reel's again when answers are taken back."""
    job, shop = a_job(complaint="the drag slips"), shop_get()
    few, wide = len(standing(job, shop).net.looks), both_ways(job)[0]
    seen = {"drag": "lever", "body": "plates", "let_go": "drag_lever", "ratio": "two", "hub_button": "yes"}
    for look, said in seen.items():
        sighting_record(of=job, look=look, said=said)
    job = Job.objects.get()
    assert job.clear_family == clear_family(job) == "lever_drag_two_speed"
    known, narrow = standing(job, shop), both_ways(job)[0]
    assert len(known.net.looks) > 5 * few and known.hunches
    assert wide.high - wide.low > 30 and narrow.low == narrow.high
    for look in ("ratio", "hub_button", "drag"):
        sighting_take_back(of=job, look=look)
    assert Job.objects.get().clear_family == "" and len(standing(Job.objects.get(), shop).net.looks) == few
