"""The list for one place asks the book by its indexes: no table of many rows is read from end to end."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from levelwind.shop.parts.selectors.served import part_fits
from levelwind.shop.parts.selectors.standins import standins
from levelwind.shop.parts.services.bones import bone_add
from levelwind.shop.parts.services.fits import fit_say, part_replaces
from levelwind.shop.parts.services.shelf import part_add
from levelwind.shop.patterns.selectors.layouts import pattern_places
from levelwind.shop.patterns.services.keeping import pattern_copy
from levelwind.shop.patterns.services.patterns import pattern_place_set
from tests.jobs import a_pattern

LARGE = ("fit", "part", "patternplace", "pattern", "replacement", "stockentry", "piece", "bonereel", "partorder")


@pytest.mark.django_db
@pytest.mark.skipif(connection.vendor != "sqlite", reason="another database words its plans otherwise")
def test_no_large_table_is_scanned() -> None:
    pattern, other = a_pattern(), a_pattern(model="Fell")
    washer, new, third = (part_add(number=number, name="w", kind="friction_washer") for number in ("A", "B", "C"))
    for one in (pattern, other):
        pattern_place_set(pattern=one, key="friction_1", part_number="A")
        fit_say(part=third, pattern=one, place="friction_1")
    fit_say(part=third, pattern=other, place="friction_2")
    fit_say(part=washer, pattern=other, place="friction_2", serves=False)
    part_replaces(part=new, instead_of=washer)
    pattern_copy(pattern=pattern, maker="Tarn & Wey", model="Holm")
    bone_add(reel="dead", pattern=other)
    places = [place for place in pattern_places(pattern) if place.key == "friction_1"]
    with CaptureQueriesContext(connection) as asked:
        found = standins(pattern, places, {"friction_1": {"outer diameter": 28.5, "inner diameter": 12.0}})
        part_fits(third)
    assert len(found["friction_1"]) == 4 and len(asked) < 60
    scanned, used = [], ""
    for query in asked.captured_queries:
        with connection.cursor() as cursor:
            cursor.execute("EXPLAIN QUERY PLAN " + query["sql"])
            steps = [row[3] for row in cursor.fetchall()]
        scanned += [(step, query["sql"]) for step in steps for table in LARGE if step.startswith(f"SCAN shop_{table}")]
        used += " ".join(steps)
    assert scanned == []
    assert all(index in used for index in ("fit_place", "part_number_large", "pattern_place_number", "part_kind_"))
