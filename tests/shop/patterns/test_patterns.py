"""The pattern book: kinds of reel, and how each differs from its family."""

import pytest
from django.core.exceptions import ValidationError

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.drag.selectors.plans import standard_drag
from levelwind.shop.models import Pattern, PatternPlace
from levelwind.shop.patterns.selectors.patterns import pattern_list, place_rows
from levelwind.shop.patterns.services.patterns import pattern_add, pattern_drag_set, pattern_place_set
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern(year_from=1958, year_to=1974)


def test_a_pattern_starts_as_its_family(pattern: Pattern) -> None:
    rows = {row.key: row for row in place_rows(pattern)}
    assert rows["head_screws"].count == 6 and not rows["worm"].absent
    assert not any(row.says_so for row in rows.values())


def test_a_new_star_drag_begins_without_a_level_wind_and_a_round_casting_reel_with_one() -> None:
    """Common practice, no source: few star drags have one, and hardly a round casting reel lacks it."""
    star, cast = (pattern_add(maker="Tarn", model=key, family_key=key) for key in ("star_drag", "round_casting"))
    level_wind = {"pawl_cap", "pawl", "worm_clip", "worm_gear", "worm", "carriage", "guide_bar"}
    assert {row.key for row in place_rows(star) if row.absent} == level_wind
    assert not [row.key for row in place_rows(cast) if row.absent]
    pattern_place_set(pattern=star, key="worm", absent=False)
    assert {row.key for row in place_rows(star) if row.absent} == level_wind - {"worm"}


def test_a_pattern_is_named_once(pattern: Pattern) -> None:
    with pytest.raises(LevelwindError, match="in the book already"):
        pattern_add(maker="tarn & wey", model=" skerry ", size="50", family_key="star_drag")
    assert pattern_add(maker="Tarn & Wey", model="Skerry", size="60", family_key="star_drag").pk


@pytest.mark.parametrize(
    ("maker", "model", "family_key", "words"),
    [
        ("", "Skerry", "star_drag", "needs a maker"),
        ("Tarn", "", "star_drag", "and a model"),
        ("T", "S", "kite", "'kite'"),
    ],
)
def test_a_pattern_needs_maker_model_and_a_known_family(maker: str, model: str, family_key: str, words: str) -> None:
    with pytest.raises(LevelwindError, match=words):
        pattern_add(maker=maker, model=model, family_key=family_key)


def test_a_name_too_long_is_refused() -> None:
    with pytest.raises(ValidationError, match="60 letters at most"):
        pattern_add(maker="T" * 61, model="Skerry", family_key="star_drag")


def test_a_place_says_only_what_differs(pattern: Pattern) -> None:
    pattern_place_set(pattern=pattern, key="head_screws", count=5, part_number=" T-9 ")
    pattern_place_set(pattern=pattern, key="worm", absent=True)
    rows = {row.key: row for row in place_rows(pattern)}
    assert (rows["head_screws"].count, rows["head_screws"].part_number) == (5, "T-9")
    assert rows["worm"].absent
    assert pattern_place_set(pattern=pattern, key="head_screws", count=6) is None
    assert not PatternPlace.objects.filter(key="head_screws").exists()


def test_a_strange_place_or_count_is_refused(pattern: Pattern) -> None:
    with pytest.raises(InputError, match="'propeller'"):
        pattern_place_set(pattern=pattern, key="propeller", absent=True)
    with pytest.raises(InputError, match="count of dog was 0"):
        pattern_place_set(pattern=pattern, key="dog", count=0)


def test_the_list_is_searched_by_name_year_and_family(pattern: Pattern) -> None:
    wexle = a_pattern(maker="Osk", model="Wexle", size="", family="fixed_spool")
    a_job(pattern=pattern)
    assert list(pattern_list(words="tarn 50")) == [pattern]
    assert list(pattern_list(words="1960")) == [pattern]
    assert not pattern_list(words="1990")
    assert list(pattern_list(family_key="fixed_spool")) == [wexle]
    assert [row.open_jobs for row in pattern_list()] == [0, 1]


def test_the_standard_drag_is_the_familys_until_its_own_is_kept(pattern: Pattern) -> None:
    before = standard_drag(pattern)
    assert before.stack is not None and not before.own and len(before.stack.bodies) == 12
    shorter = before.stack.as_dict()
    shorter["bodies"] = shorter["bodies"][:5]
    pattern_drag_set(pattern=pattern, stack=shorter)
    after = standard_drag(pattern)
    assert after.own and after.stack is not None and len(after.stack.bodies) == 5
    pattern_drag_set(pattern=pattern, stack=None)
    assert standard_drag(pattern) == before


def test_a_stack_that_cannot_be_is_not_kept(pattern: Pattern) -> None:
    with pytest.raises(InputError, match="number of bodies"):
        pattern_drag_set(pattern=pattern, stack={"bodies": []})
    pattern.refresh_from_db()
    assert pattern.drag == {}


def test_a_drag_in_the_book_that_cannot_be_read_is_said(pattern: Pattern) -> None:
    Pattern.objects.filter(pk=pattern.pk).update(drag={"bodies": "rubbish"})
    pattern.refresh_from_db()
    assert "bodies of the stack was" in standard_drag(pattern).refusal
