"""Builds of one pattern by years or serial numbers, and the job that names the one it is."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.reference.layer_changes import place_freed, row_gone
from levelwind.shop.drag.selectors.plans import standard_stack
from levelwind.shop.drag.selectors.reels import reel_of
from levelwind.shop.models import Build
from levelwind.shop.patterns.selectors.builds import builds_likely
from levelwind.shop.patterns.selectors.layouts import job_layout, job_places, pattern_layout
from levelwind.shop.patterns.services.builds import build_drop, build_save, pattern_built_as
from levelwind.shop.patterns.services.layouts import layout_change
from levelwind.shop.patterns.services.patterns import pattern_drag_set
from levelwind.shop.takedown.selectors.pieces import job_work
from levelwind.shop.takedown.services.apart import reach_choose
from levelwind.shop.takedown.services.layouts import job_build_choose, piece_one_more
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, put_together, take_apart

pytestmark = pytest.mark.django_db

PIN = {"key": "own_pin", "name": "pin", "group": "gear_train", "kind": "pin", "renew": "rarely", "clean": "dry wipe"}


def a_build(pattern, name="late", **facts):
    return build_save(build=Build(pattern=pattern), name=name, **facts)


def test_a_build_lies_over_its_pattern_and_the_job_is_laid_out_by_it():
    pattern = a_pattern()
    late = a_build(pattern, year_from=1968, built_as=["single_screw_plate"], gear_ratio=3.1)
    layout_change(
        one=late, change=lambda says: place_freed(row_gone(says, "places", "worm"), PIN, {"key": "lift_pinion"})
    )
    job = a_job(pattern, reach=("pinion",))
    take_apart(job)
    assert "head_screws" in job_work(job).places and not reel_of(job).ratio_known
    job_build_choose(job=job, build=late, by="Wilma")
    work = job_work(job)
    assert {"take_apart_screw", "own_pin"} <= set(work.places) and not {"head_screws", "worm"} & set(work.places)
    assert work.here["own_pin"].where == "cell" and reel_of(job).drive.gear_ratio == 3.1
    screws = work.here["head_screws"]
    assert screws.where == "cell", "what lies in the tray is not forgotten"
    assert "own_pin" not in pattern_layout(pattern).by_key()
    assert str(job.events.first()) == "Laid out anew, as its pattern stands now."
    with pytest.raises(LevelwindError, match="A job names the build"):
        build_drop(build=late)
    job_build_choose(job=job, build=None)
    assert job_layout(job).rules == pattern_layout(pattern).rules
    build_drop(build=late)
    put_together(job)


def test_the_whole_of_a_reel_is_what_its_build_has_and_a_piece_of_its_own():
    late = a_build(a_pattern(), built_as=["single_screw_plate"])
    job = a_job(late.pattern, reach=("pinion",))
    job_build_choose(job=job, build=late)
    take_apart(job)
    piece_one_more(job=job, name="pin", kind="pin", step="lift_pinion")
    reach_choose(job=job, places=[place.key for place in job_places(job)])
    assert set(job.reach) == set(job_layout(job).by_key())
    assert {"own_pin", "take_apart_screw"} <= set(job.reach) and "head_screws" not in job.reach


def test_serial_numbers_point_to_the_build():
    pattern = a_pattern()
    early, late = a_build(pattern, "early", serial_to="B 500"), a_build(pattern, "late", serial_from="B501")
    job = a_job(pattern)
    for serial, found in (("B0471", (early,)), ("b-501", (late,)), ("A 3", ()), ("worn off", ()), ("", ())):
        job.serial = serial
        assert builds_likely(job, pattern.builds.all()) == found


def test_the_drag_is_the_builds_the_patterns_or_that_of_what_they_are_built_as():
    pattern = a_pattern("fly")
    stacked, plain = a_build(pattern, "stacked", built_as=["stacked_drag"]), a_build(pattern, "plain")
    assert len(standard_stack(pattern, stacked).bodies) == 9 and len(standard_stack(pattern, plain).bodies) == 5
    shorter = standard_stack(pattern, stacked).as_dict()
    pattern_drag_set(pattern=pattern, stack={**shorter, "bodies": shorter["bodies"][2:]})
    assert len(standard_stack(pattern, plain).bodies) == 7 and len(standard_stack(pattern, stacked).bodies) == 9
    pattern_drag_set(pattern=plain, stack=shorter)
    assert len(standard_stack(pattern, plain).bodies) == 9
    with pytest.raises(LevelwindError, match=r"The build “stacked” would not come apart: .*no step frees plate"):
        pattern_built_as(pattern=pattern, built_as=["sealed_drag"])
    build_drop(build=stacked)
    pattern_built_as(pattern=pattern, built_as=["sealed_drag"])
    assert "sealed_unit" in pattern_layout(pattern).by_key()


def test_what_a_build_cannot_be_is_refused_in_words():
    pattern = a_pattern()
    a_build(pattern)
    for facts, complaint in (
        ({"name": " "}, "A build needs a name"),
        ({"name": "late"}, "already exists|once"),
        ({"name": "x", "year_from": 1960, "year_to": 1950}, "can be 1960 or later"),
        ({"name": "x", "built_as": ["y"]}, "built as was 'y'"),
    ):
        with pytest.raises(LevelwindError, match=complaint):
            a_build(pattern, **facts)
    other = a_job(a_pattern(model="Merlin"))
    with pytest.raises(LevelwindError, match="is not one of a Tarnbeck Merlin"):
        job_build_choose(job=other, build=Build.objects.get())
