"""The bone box: donor reels in, second-hand parts out."""

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import BoneReel, Part, Pattern
from levelwind.shop.parts.selectors.bones import bone_list, came_off, donors_for, salvage
from levelwind.shop.parts.selectors.shelf import Stock, stock_of
from levelwind.shop.parts.services.bones import bone_add, bone_strip
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


@pytest.fixture
def bone(pattern: Pattern) -> BoneReel:
    return bone_add(reel="", pattern=pattern, condition="frame cracked")


@pytest.fixture
def dog() -> Part:
    return part_add(number="D-1", name="dog")


def test_a_donor_without_a_name_has_its_patterns(bone: BoneReel) -> None:
    assert bone.reel == "Tarn & Wey Skerry 50"
    with pytest.raises(LevelwindError, match="Enter what reel it is"):
        bone_add(reel="  ")


def test_parts_come_off_as_second_hand(bone: BoneReel, dog: Part) -> None:
    bone_strip(bone=bone, parts={dog: 2})
    assert stock_of(dog) == Stock(new=0, used=2)
    assert came_off(bone) == ((dog, 2),)
    assert dog.entries.get().bone == bone and "bone box" not in dog.entries.get().note
    assert list(bone_list()) == [bone]


def test_a_reel_stripped_bare_leaves_the_box(bone: BoneReel, dog: Part) -> None:
    bone_strip(bone=bone, parts={dog: 1}, bare=True)
    assert not bone_list() and list(bone_list(stripped=True)) == [bone]
    with pytest.raises(LevelwindError, match="stripped bare on"):
        bone_strip(bone=bone, parts={dog: 1})
    assert stock_of(dog).used == 1


def test_stripping_nothing_is_refused(bone: BoneReel, dog: Part) -> None:
    with pytest.raises(LevelwindError, match="Nothing was said to come off"):
        bone_strip(bone=bone, parts={dog: 0})


def test_a_count_that_cannot_be_puts_nothing_on_the_shelf(bone: BoneReel, dog: Part) -> None:
    star = part_add(number="S-1", name="star")
    with pytest.raises(LevelwindError, match="count was -1"):
        bone_strip(bone=bone, parts={dog: 1, star: -1}, bare=True)
    assert stock_of(dog).used == 0 and list(bone_list()) == [bone]


def test_salvage_names_what_serves_the_pattern(bone: BoneReel, dog: Part) -> None:
    assert bone.pattern is not None
    fit_say(part=dog, pattern=bone.pattern, place="dog")
    (row,) = salvage(bone.pattern)
    assert (row.offer.part, row.places, row.count) == (dog, ("dog",), 1)


def test_a_part_that_serves_several_places_is_named_once(bone: BoneReel) -> None:
    assert bone.pattern is not None
    washer = part_add(number="T-17", name="drag washer")
    for place in ("friction_1", "friction_2", "friction_3"):
        fit_say(part=washer, pattern=bone.pattern, place=place)
    (row,) = salvage(bone.pattern)
    assert row.count == 3 and set(row.places) == {"first drag washer", "second drag washer", "third drag washer"}


def test_donors_are_those_of_the_jobs_pattern(bone: BoneReel, pattern: Pattern) -> None:
    bone_add(reel="something else", pattern=a_pattern(model="Holm"))
    assert donors_for(a_job(pattern=pattern)) == [bone]
    assert donors_for(a_job("26-0002")) == []
