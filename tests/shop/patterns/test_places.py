"""The places of a pattern: its family's with the pattern's rows laid over."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.reference.families import family
from levelwind.shop.models import PatternPlace, Price, PriceLine
from levelwind.shop.patterns.selectors.layouts import (
    job_layout,
    job_places,
    pattern_layout,
    pattern_places,
    priced_places,
)
from tests.shop.takedown.pieces_jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db

LEVEL_WIND = ("pawl_cap", "pawl", "worm_clip", "worm_gear", "worm", "carriage", "guide_bar")


def test_a_bare_pattern_has_its_familys_places_in_their_order():
    places = pattern_places(a_pattern())
    assert [place.key for place in places] == [place.key for place in family("star_drag").places]
    assert places[0].assembly == "Handle"


def test_absent_places_are_gone_from_places_rules_and_what_waits_for_them():
    layout = pattern_layout(a_pattern(absent=LEVEL_WIND))
    assert not {place.key for place in layout.places} & set(LEVEL_WIND)
    assert not {place for step in layout.rules.steps for place in step.frees} & set(LEVEL_WIND)
    parting = next(step for step in layout.rules.steps if step.key == "undo_posts")
    assert "guide_bar" not in parting.after


def test_an_absent_place_is_nobodys_look_alike():
    layout = pattern_layout(a_pattern(absent=("tail_ring",)))
    assert layout.by_key()["head_ring"].look_alikes == frozenset()


def test_count_and_number_of_the_pattern_are_laid_over():
    pattern = a_pattern()
    PatternPlace.objects.create(pattern=pattern, key="head_screws", count=4, part_number="TB-31")
    screws = pattern_layout(pattern).by_key()["head_screws"]
    assert (screws.count, screws.part_number) == (4, "TB-31")
    assert pattern_layout(pattern).by_key()["tail_screws"].count == 6


def test_rows_for_places_the_family_does_not_know_are_let_be():
    pattern = a_pattern()
    PatternPlace.objects.create(pattern=pattern, key="no_such_place", absent=True)
    assert len(pattern_places(pattern)) == len(family("star_drag").places)


def test_a_job_without_a_pattern_has_no_places_and_says_what_to_do():
    job = a_job(None)
    assert job_places(job) == ()
    with pytest.raises(LevelwindError, match="Choose its pattern first"):
        job_layout(job)


def test_the_build_takes_one_query(django_assert_num_queries):
    pattern = a_pattern(absent=LEVEL_WIND)
    with django_assert_num_queries(1):
        pattern_layout(pattern)


def test_only_the_latest_price_says_which_places_are_meant():
    job = a_job(a_pattern())
    old, new = Price.objects.create(job=job, number=1), Price.objects.create(job=job, number=2)
    PriceLine.objects.create(price=old, kind="part", text="Dog spring", place="dog_spring")
    for place in ("friction_1", "", "pinion", "friction_1"):
        PriceLine.objects.create(price=new, kind="part", text="A line", place=place)
    assert priced_places(job) == ("friction_1", "pinion")
    assert priced_places(a_job(None, tag="26-0002")) == ()
