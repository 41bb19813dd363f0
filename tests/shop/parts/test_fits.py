"""What fits a place: same number, declared, measured, tried, each with who says so and how sure."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.models import Part, Pattern
from levelwind.shop.parts.selectors.fits import offers
from levelwind.shop.parts.selectors.served import part_fits
from levelwind.shop.parts.services.fits import fit_say, fit_take_back
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.patterns.services.patterns import pattern_place_set
from tests.jobs import a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


@pytest.fixture
def washer() -> Part:
    return part_add(number="T-17", name="drag washer", count=2)


def _offers(pattern: Pattern, place: str = "friction_1") -> list[tuple[str, list[str]]]:
    found = offers(pattern, pattern_places(pattern))[place]
    return [(offer.part.number, [saying.basis for saying in offer.sayings]) for offer in found]


def test_the_same_number_fits(pattern: Pattern, washer: Part) -> None:
    assert _offers(pattern) == []
    pattern_place_set(pattern=pattern, key="friction_1", part_number="T-17")
    assert _offers(pattern) == [("T-17", ["number"])]
    assert _offers(pattern, "friction_2") == []


def test_a_number_is_the_same_in_small_letters(pattern: Pattern, washer: Part) -> None:
    pattern_place_set(pattern=pattern, key="friction_1", part_number="t-17")
    assert _offers(pattern) == [("T-17", ["number"])]


def _sized(part: Part, kind: str, **sizes: float) -> None:
    sizes_mm = {name.replace("_", " "): size for name, size in sizes.items()}
    Part.objects.filter(pk=part.pk).update(kind=kind, sizes_mm=sizes_mm)


@pytest.mark.parametrize(
    ("kind", "sizes", "alike"),
    [
        ("friction_washer", {"outer_diameter": 28.55, "inner_diameter": 12.1, "thickness": 1.0}, True),
        ("friction_washer", {"outer_diameter": 28.7, "inner_diameter": 12.1, "thickness": 1.0}, False),
        ("friction_washer", {"outer_diameter": 28.5}, False),
        ("keyed_washer", {"outer_diameter": 28.5, "inner_diameter": 12.2, "thickness": 1.0}, False),
    ],
)
def test_parts_of_the_same_sizes_are_offered_for_a_piece_that_was_measured(
    pattern: Pattern, washer: Part, kind: str, sizes: dict[str, float], alike: bool
) -> None:
    _sized(washer, kind, **sizes)
    measured = {"friction_1": {"outer diameter": 28.5, "inner diameter": 12.2}}
    found = offers(pattern, pattern_places(pattern), measured)
    assert [offer.part for offer in found["friction_1"]] == ([washer] if alike else [])
    assert found["friction_2"] == ()
    if alike:
        saying = found["friction_1"][0].sayings[0]
        assert (saying.basis, saying.sure) == ("measured", 0.6)
        assert saying.note == "inner diameter, outer diameter agree to 0.1 mm"


def test_a_part_comes_once_with_its_surest_reason_first(pattern: Pattern, washer: Part) -> None:
    pattern_place_set(pattern=pattern, key="friction_1", part_number="T-17")
    fit_say(part=washer, pattern=pattern, place="friction_1", basis="measured", sure=0.7)
    fit_say(part=washer, pattern=pattern, place="friction_1", basis="tried")
    assert _offers(pattern) == [("T-17", ["tried", "number", "measured"])]


def test_what_lies_on_the_shelf_comes_before_what_is_surer(pattern: Pattern, washer: Part) -> None:
    out_of_stock = part_add(number="A-1", name="the very one")
    fit_say(part=out_of_stock, pattern=pattern, place="friction_1", basis="tried", sure=1)
    fit_say(part=washer, pattern=pattern, place="friction_1", basis="measured", sure=0.6)
    assert [number for number, _ in _offers(pattern)] == ["T-17", "A-1"]


def test_said_again_the_later_word_counts(pattern: Pattern, washer: Part) -> None:
    fit_say(part=washer, pattern=pattern, place="friction_1", said_by="a list", sure=0.5)
    fit_say(part=washer, pattern=pattern, place="friction_1", said_by="the maker", sure=0.9)
    ((row,),) = [said.rows for said in part_fits(washer)]
    (said,) = part_fits(washer)
    assert (said.saying.said_by, said.saying.sure, row.name) == ("the maker", 0.9, "first drag washer")
    fit_take_back(fit=washer.fits.get(pk=row.fit))
    assert _offers(pattern) == []


def test_fits_are_told_pattern_by_pattern_and_saying_by_saying(pattern: Pattern, washer: Part) -> None:
    other = Pattern.objects.create(maker="Tarn & Wey", model="Fell", family="star_drag")
    fit_say(part=washer, pattern=pattern, place="friction_2", said_by="Ansa", sure=0.8)
    fit_say(part=washer, pattern=other, place="friction_1", said_by="Ansa", sure=0.8)
    fit_say(part=washer, pattern=pattern, place="friction_1", said_by="Ansa", sure=0.8)
    fit_say(part=washer, pattern=pattern, place="friction_3", said_by="a list", sure=0.4)
    told = [(said.pattern.model, [row.name for row in said.rows], said.saying.said_by) for said in part_fits(washer)]
    assert told == [
        ("Fell", ["first drag washer"], "Ansa"),
        ("Skerry", ["first drag washer", "second drag washer"], "Ansa"),
        ("Skerry", ["third drag washer"], "a list"),
    ]


def test_a_fit_needs_a_place_the_pattern_has(pattern: Pattern, washer: Part) -> None:
    with pytest.raises(LevelwindError, match="no place called “propeller”"):
        fit_say(part=washer, pattern=pattern, place="propeller")
    pattern_place_set(pattern=pattern, key="worm", absent=True)
    with pytest.raises(LevelwindError, match="no place called"):
        fit_say(part=washer, pattern=pattern, place="worm")


@pytest.mark.parametrize(("named", "words"), [({"basis": "hoped"}, "basis was"), ({"sure": 1.2}, "how sure was")])
def test_a_fit_says_why_and_how_sure(pattern: Pattern, washer: Part, named: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        fit_say(part=washer, pattern=pattern, place="dog", **named)  # type: ignore[arg-type]


def test_offers_ask_the_book_as_often_for_one_part_as_for_twenty(pattern: Pattern, washer: Part) -> None:
    places = pattern_places(pattern)
    fit_say(part=washer, pattern=pattern, place="friction_1")
    with CaptureQueriesContext(connection) as one:
        offers(pattern, places)
    for number in range(20):
        part = part_add(number=f"B-{number}", name="washer", count=1)
        fit_say(part=part, pattern=pattern, place=places[number].key)
    with CaptureQueriesContext(connection) as twenty:
        offers(pattern, places)
    assert len(twenty) == len(one)
