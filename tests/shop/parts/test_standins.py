"""One list of everything that would do: the shelf, donors, standard sizes, what is cut from sheet, ranked."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from levelwind.core.takedown import reach
from levelwind.shop.models import Fit, Part, Pattern
from levelwind.shop.parts.selectors.fits import MOST_GUESSED
from levelwind.shop.parts.selectors.standard import standard_part
from levelwind.shop.parts.selectors.standins import StandIn, standins
from levelwind.shop.parts.selectors.statements import MOST_SERVING
from levelwind.shop.parts.services.bones import bone_add, bone_strip
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add, stock_bought
from levelwind.shop.patterns.selectors.layouts import pattern_layout, pattern_places
from levelwind.shop.patterns.services.patterns import pattern_place_set
from levelwind.shop.people.selectors import shop_get
from tests.jobs import a_pattern
from tests.plans import plans_of

pytestmark = pytest.mark.django_db
RING = {"outer diameter": 28.5, "inner diameter": 12.2, "thickness": 1.0}


def _part(number: str, kind: str = "friction_washer", count: int = 1, **facts: object) -> Part:
    part = part_add(number=number, name="drag washer", kind=kind, count=count)
    Part.objects.filter(pk=part.pk).update(**facts)
    part.refresh_from_db()
    return part


def _rows(pattern: Pattern, place: str, sizes: dict[str, float] | None = None) -> list[StandIn]:
    places = [one for one in pattern_places(pattern) if one.key == place]
    return list(standins(pattern, places, {place: sizes} if sizes else {})[place])


def _named(rows: list[StandIn]) -> list[str]:
    return [row.offer.part.number if row.offer else row.way.kind if row.way else "" for row in rows]


def test_everything_that_would_do_stands_in_one_list() -> None:
    pattern, other = a_pattern(), a_pattern(model="Fell")
    known = _part("T-17", count=0, sizes_mm=RING, price_minor=450, supplier="Ness", days_to_come=9)
    fit_say(part=known, pattern=pattern, place="friction_1", sure=0.9)
    _part("A-1", sizes_mm={**RING, "thickness": 1.08})
    _part("A-2", sizes_mm={**RING, "thickness": 0.7})
    _part("A-3", sizes_mm={**RING, "thickness": 1.4})
    sizes = {"length": 200.0, "width": 150.0, "thickness": 1.0}
    _part("S-1", kind="sheet", sizes_mm=sizes, price_minor=3200)
    _part("S-2", kind="sheet", sizes_mm={**sizes, "thickness": 2.0})
    _part("S-3", kind="sheet", count=0, sizes_mm=sizes)
    for one in (pattern, other):
        pattern_place_set(pattern=one, key="friction_1", part_number="6-88")
    bone_add(reel="wet Fell", pattern=other, spot="crate B", condition="Plates cracked.")
    rows = _rows(pattern, "friction_1")
    assert _named(rows) == ["donor", "cut", "A-1", "T-17", "A-2"]
    donor, cut, same, declared, thin = rows
    assert donor.way and donor.way.bone and "crate B" in donor.way.title and "min to take off" in donor.way.why
    assert donor.way.why.endswith("; Plates cracked")
    minutes = reach(pattern_layout(other).rules, ("friction_1",)).minutes
    assert donor.way.price_minor == round(minutes * shop_get().hour_minor / 60)
    assert donor.sure == pytest.approx(0.95 * 0.7)
    assert cut.way and (cut.way.price_minor, cut.way.part and cut.way.part.number) == (100, "S-1")
    assert "32 of 28.5 mm from 200 x 150 mm in staggered rows, and no pattern gives more than 38" in cut.way.why
    assert same.offer and same.offer.sayings[0].words == "same sizes" and same.offer.when == "now"
    assert declared.offer and (declared.offer.price_minor, declared.offer.when) == (450, "about 9 days from Ness")
    assert thin.offer and (thin.offer.sayings[0].words, thin.sure) == ("with a shim of 0.3 mm", 0.4)


def test_a_place_that_very_many_serve_shows_the_surest_and_reads_no_large_table_through() -> None:
    pattern, serving = a_pattern(), MOST_SERVING + 20
    kind = "friction_washer"
    sizes: list[dict[str, float]] = [{}] * serving + [RING] * (MOST_GUESSED + 9)
    made = (Part(number=f"W-{n}", name="washer", kind=kind, sizes_mm=each) for n, each in enumerate(sizes))
    parts = Part.objects.bulk_create(made)
    said: dict[str, Any] = {"pattern": pattern, "place": "friction_1", "basis": "declared"}
    Fit.objects.bulk_create([Fit(part=part, sure=n / 999, **said) for n, part in enumerate(parts[:serving])])
    no = {**said, "basis": "tried", "serves": False, "sure": 0.0}
    Fit.objects.create(part=parts[serving - 1], **no)
    stock_bought(part=parts[-1], count=1)
    bone_add(reel="wet Fell", pattern=pattern)
    with CaptureQueriesContext(connection) as asked:
        rows = _rows(pattern, "friction_1", RING)
    named = _named(rows)
    assert named[:2] == ["donor", parts[-1].number] and named[-1] == parts[serving - 1].number
    assert "W-20" in named and "W-19" not in named
    assert len(rows) == MOST_SERVING + MOST_GUESSED + len(["donor"])
    if connection.vendor == "sqlite":
        large = r"SCAN shop_(part|fit|patternplace|piece|stock)"
        assert not [line for line in plans_of(asked) if re.match(large, line)]
        by_size = [question for question in asked if "BETWEEN" in question["sql"]]
        assert len(by_size) == 2  # on the shelf, and the others: read until there are enough, never sorted
        assert not [line for line in plans_of(by_size) if "ORDER BY" in line]
        assert sum("part_kind_" in line for line in plans_of(by_size)) == 4


def test_a_donor_is_left_out_once_the_piece_came_off_it_or_it_is_bare() -> None:
    pattern = a_pattern()
    dog = part_add(number="D-1", name="dog", count=0)
    fit_say(part=dog, pattern=pattern, place="dog")
    bare, taken = bone_add(reel="bare", pattern=pattern), bone_add(reel="taken", pattern=pattern)
    assert _named(_rows(pattern, "dog")) == ["donor", "donor", "D-1"]
    bone_strip(bone=bare, parts={}, bare=True)
    bone_strip(bone=taken, parts={dog: 1})
    assert _named(_rows(pattern, "dog")) == ["D-1"]
    assert _rows(pattern, "dog")[0].offer


def test_a_standard_bearing_is_told_by_its_sizes_with_what_it_carries() -> None:
    """A 623 is 3 x 10 x 4 mm (ISO 15); its rating is the catalogue's in `reference/tables/bearings.csv`."""
    sizes = {"inner diameter": 3.0, "outer diameter": 10.0, "width": 4.0}
    pattern = a_pattern()
    place = next(one.key for one in pattern_places(pattern) if one.kind == "bearing")
    (row,) = _rows(pattern, place, sizes)
    assert row.way and row.way.title == "623 ball bearing" and not row.way.now
    assert "ISO 15" in row.way.why and "N (dynamic load rating)" in row.way.why and "shielded" in row.way.why
    assert _rows(pattern, place, {**sizes, "outer diameter": 10.6}) == []
    assert _rows(pattern, place, {"width": 4.0}) == []


@pytest.mark.parametrize(
    ("kind", "sizes", "name", "matters"),
    [
        ("ring", {"inner diameter": 9.25, "thickness": 1.78}, "AS568-012 O-ring", "section 1.78 mm, which its groove"),
        (
            "clip",
            {"shaft or bore": 6.0, "groove diameter": 5.0, "thickness": 0.7},
            "DIN 6799 5 clip",
            "for a shaft of 6 to 8 mm with a groove of 5 mm; 0.7 mm thick",
        ),
        (
            "clip",
            {"shaft or bore": 10.0, "groove diameter": 10.4, "thickness": 1.0},
            "DIN 472 10 clip",
            "for a bore of 10 mm with a groove of 10.4 mm",
        ),
        ("nut", {"inner diameter": 2.53, "thread pitch": 0.5}, "M3x0.5 nut", "by the rule of ISO 965-1"),
        ("nut", {"inner diameter": 2.27, "thread pitch": 0.635}, "#4-40 UNC nut", "by the rule of ASME B1.1"),
        ("nut", {"inner diameter": 3.88, "thread pitch": 0.81}, "2BA nut", "by the rule of BS 93"),
        ("nut", {"thread diameter": 7.9, "thread pitch": 1.0}, "M8x1 nut", "how wide and how high it is"),
        (
            "spring_washer",
            {"outer diameter": 8.0, "inner diameter": 4.2, "thickness": 0.4},
            "DIN 2093 A 8x4.2x0.4 disc spring",
            "carries 210 N pressed flat by three quarters",
        ),
    ],
)
def test_rings_clips_and_disc_springs_are_told_by_their_sizes(
    kind: str, sizes: dict[str, float], name: str, matters: str
) -> None:
    """Sizes, and the spring's load, as the standards have them: `reference/tables`, with the source of each row.

    Bores of nuts within the printed limits, from memory: M3 6H 2.459 to 2.599 mm (ISO 965-2), #4-40 2B 0.0849 to
    0.0939 in (ASME B1.1), 2BA 3.728 to 4.032 mm (BS 93).
    """
    one = standard_part(kind, sizes)
    assert one and (f"{one.name} {one.what}", matters in one.why) == (name, True), one
    assert standard_part(kind, dict(list(sizes.items())[:1])) is None


def test_a_flat_ring_is_no_oring() -> None:
    sizes = {"inner diameter": 9.25, "thickness": 1.78}
    assert standard_part("ring", {**sizes, "outer diameter": 12.8})
    assert standard_part("ring", {**sizes, "outer diameter": 15.0}) is None
    assert standard_part("spring", sizes) is None
