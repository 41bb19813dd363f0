"""What follows from what was said: the same number elsewhere, a pattern made as another, a part used instead."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Part, Pattern
from levelwind.shop.parts.selectors.fits import Offer, offers
from levelwind.shop.parts.selectors.served import part_fits
from levelwind.shop.parts.services.fits import fit_say, part_replaces, part_replaces_not
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.patterns.services.keeping import pattern_copy
from levelwind.shop.patterns.services.patterns import pattern_place_set
from tests.jobs import a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


@pytest.fixture
def fell() -> Pattern:
    return a_pattern(model="Fell")


@pytest.fixture
def washer() -> Part:
    return part_add(number="T-17", name="drag washer", kind="friction_washer", count=2)


def _at(pattern: Pattern, place: str = "friction_1") -> list[Offer]:
    return list(offers(pattern, pattern_places(pattern))[place])


def _whys(pattern: Pattern, place: str = "friction_1") -> dict[str, tuple[str, float, str]]:
    first = {offer.part.number: offer.sayings[0] for offer in _at(pattern, place)}
    return {number: (why.basis, round(why.sure, 3), why.note) for number, why in first.items()}


def _where(part: Part) -> list[tuple[str, list[str], str]]:
    return [(row.pattern.model, [place.key for place in row.rows], row.saying.basis) for row in part_fits(part)]


def test_a_fit_need_not_be_typed_again_where_the_maker_gives_the_same_number(
    pattern: Pattern, fell: Pattern, washer: Part
) -> None:
    for one, key, number in ((pattern, "friction_1", "6-88"), (fell, "friction_2", "6-88"), (fell, "dog", "6-99")):
        pattern_place_set(pattern=one, key=key, part_number=number)
    fit_say(part=washer, pattern=pattern, place="friction_1", sure=0.9)
    told = "the Tarn & Wey Skerry 50 has the same number; T-17 fits there"
    assert _whys(fell, "friction_2") == {"T-17": ("inferred", 0.769, told)}
    assert _whys(fell, "dog") == _whys(fell) == {}
    assert _where(washer) == [("Skerry", ["friction_1"], "declared"), ("Fell", ["friction_2"], "inferred")]


def test_a_part_of_the_number_is_said_to_fit_by_its_own_page_too(pattern: Pattern, washer: Part) -> None:
    assert _where(washer) == []
    for key in ("friction_1", "friction_2"):
        pattern_place_set(pattern=pattern, key=key, part_number="t-17")
    assert _where(washer) == [("Skerry", ["friction_1", "friction_2"], "number")]
    pattern_place_set(pattern=pattern, key="friction_1", part_number="t-17", absent=True)
    assert _where(washer) == [("Skerry", ["friction_2"], "number")]


def test_what_replaces_a_part_serves_in_its_places_and_not_the_other_way(pattern: Pattern, washer: Part) -> None:
    new = part_add(number="T-18", name="drag washer")
    said = part_replaces(part=new, instead_of=washer, said_by="the works")
    fit_say(part=washer, pattern=pattern, place="friction_1", sure=0.9)
    fit_say(part=new, pattern=pattern, place="friction_2", sure=0.9)
    assert _whys(pattern)["T-18"] == ("inferred", 0.729, "T-17 fits here; T-18 replaces T-17")
    assert list(_whys(pattern, "friction_2")) == ["T-18"]
    assert [row[1:] for row in _where(new)] == [(["friction_2"], "declared"), (["friction_1"], "inferred")]
    part_replaces_not(replacement=said)
    assert list(_whys(pattern)) == ["T-17"]
    with pytest.raises(LevelwindError, match="cannot replace itself"):
        part_replaces(part=new, instead_of=new)


def test_two_parts_of_one_place_are_a_guess_for_another_if_of_one_kind(
    pattern: Pattern, fell: Pattern, washer: Part
) -> None:
    other, dog = (
        part_add(number="T-20", name="washer", kind="friction_washer"),
        part_add(number="D", name="d", kind="dog"),
    )
    for part in (washer, other, dog):
        fit_say(part=part, pattern=fell, place="friction_1", sure=1)
    fit_say(part=washer, pattern=pattern, place="friction_1", sure=1)
    told = "T-17 fits here; T-17 and T-20 both fit the Tarn & Wey Fell 50"
    assert _whys(pattern) == {"T-17": ("declared", 1.0, ""), "T-20": ("inferred", 0.486, told)}


def test_what_contradicts_is_shown_stands_last_and_is_no_link(pattern: Pattern, fell: Pattern, washer: Part) -> None:
    other = part_add(number="Z-1", name="washer")
    fit_say(part=washer, pattern=pattern, place="friction_1", said_by="a list")
    fit_say(part=washer, pattern=pattern, place="friction_1", basis="tried", said_by="Ansa", serves=False, note="bound")
    fit_say(part=other, pattern=pattern, place="friction_1", sure=0.55)
    first, last = _at(pattern)
    assert (first.part, last.part, last.sure) == (other, washer, 0.9)
    assert [(no.words, no.said_by, no.note) for no in last.against] == [("it does not fit", "Ansa", "bound")]
    for one in (pattern, fell):
        pattern_place_set(pattern=one, key="friction_1", part_number="6-88")
    assert list(_whys(fell)) == ["Z-1"]
    assert [row.denied for row in part_fits(washer)] == [False, True]


def test_what_fits_a_pattern_fits_one_made_as_it_but_where_it_is_otherwise(pattern: Pattern, washer: Part) -> None:
    fit_say(part=washer, pattern=pattern, place="friction_1", sure=1)
    new = pattern_copy(pattern=pattern, maker="Tarn & Wey", model="Holm")
    told = "the Tarn & Wey Skerry 50 has the same here; T-17 fits there"
    assert _whys(new) == {"T-17": ("inferred", 0.81, told)}
    assert ("Holm", ["friction_1"], "inferred") in _where(washer)
    pattern_place_set(pattern=new, key="friction_1", otherwise=True)
    assert _whys(new) == {} and len(_where(washer)) == 1
    pattern_place_set(pattern=new, key="friction_1")
    pattern_place_set(pattern=pattern, key="friction_1", part_number="6-88")
    assert list(_whys(new)) == ["T-17"]
    pattern_place_set(pattern=new, key="friction_1", part_number="6-89")
    assert _whys(new) == {}
