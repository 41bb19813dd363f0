"""Which patterns share what with one: by the maker's numbers, and by parts that serve both."""

import pytest
from django.test import Client

from levelwind.shop.parts.selectors.shared import patterns_sharing, shared_map
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.patterns.services.patterns import pattern_place_set
from tests.jobs import a_pattern


@pytest.mark.django_db
def test_patterns_that_share_most_come_first_with_what_is_the_same_and_what_is_another(client: Client) -> None:
    pattern, fell, holm = (a_pattern(model=name) for name in ("Skerry", "Fell", "Holm"))
    assert patterns_sharing(pattern, pattern_places(pattern)) == ()
    said = (("main_gear", "31"), ("bridge", "4"), ("pinion", "44"))
    for one, numbers in (
        (pattern, said),
        (fell, (*said[:2], ("pinion", "45"))),
        (holm, (("pinion", "44"), ("dog", "9"))),
    ):
        for key, number in numbers:
            pattern_place_set(pattern=one, key=key, part_number=number)
    pattern_place_set(pattern=holm, key="main_gear", part_number="31", absent=True)
    first, second = patterns_sharing(pattern, pattern_places(pattern))
    assert (first.pattern, set(first.same), first.otherwise) == (fell, {"main gear", "bridge"}, ("pinion",))
    assert (second.pattern, second.same, second.otherwise) == (holm, ("pinion",), ())
    washer = part_add(number="T-17", name="drag washer")
    for one, place, serves in ((pattern, "friction_1", True), (holm, "friction_1", True), (fell, "friction_1", False)):
        fit_say(part=washer, pattern=one, place=place, serves=serves)
    by_name = {row.pattern.model: row.same for row in patterns_sharing(pattern, pattern_places(pattern))}
    assert "first drag washer" in by_name["Holm"] and "first drag washer" not in by_name["Fell"]
    places = pattern_places(pattern)
    lines = {line.name: line.marks for line in shared_map(patterns_sharing(pattern, places), places)}
    assert lines == {
        **{"main gear": ("same", ""), "bridge": ("same", ""), "pinion": ("different", "same")},
        "first drag washer": ("", "same"),
    }
    page = " ".join(client.get(f"/patterns/{pattern.pk}/").content.decode().split())
    assert "What it shares" in page and "2 the same, 1 different" in page
    line = page.split('<th scope="row">Pinion</th>')[1].split("</tr>")[0]
    assert line.index("a different one") < line.index("the same")
