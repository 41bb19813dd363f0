"""The pattern book kept: copied, merged, retired, out to a file and in again."""

import copy
import json

import pytest

from levelwind.core.errors import LevelwindError
from levelwind.reference.layer_changes import place_freed, row_added, row_said
from levelwind.shop.book.services.pattern_files import LARGEST_BYTES, pattern_file, pattern_read
from levelwind.shop.models import BoneReel, Build, Fit, Job, Part, Pattern, PatternPlace
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.patterns.selectors.layouts import job_layout, pattern_layout
from levelwind.shop.patterns.selectors.patterns import pattern_list
from levelwind.shop.patterns.selectors.picking import picking
from levelwind.shop.patterns.services.builds import build_save, pattern_built_as
from levelwind.shop.patterns.services.keeping import pattern_copy, pattern_merge, pattern_retire
from levelwind.shop.patterns.services.layouts import layout_change
from levelwind.shop.patterns.services.limits import place_limit_set
from levelwind.shop.patterns.services.patterns import pattern_place_set
from tests.shop.takedown.pieces_jobs import a_job, a_pattern, take_apart

pytestmark = pytest.mark.django_db

WORN_KEPT = ("friction_1", "thickness", 1.0, 0.8, "a handbook")
PIN = {"key": "own_pin", "name": "pin", "group": "gear_train", "kind": "pin", "renew": "rarely", "clean": "dry wipe"}


@pytest.fixture
def odd():
    """A pattern with everything of its own."""
    pattern = a_pattern(absent=("worm", "pawl"))
    pattern_built_as(pattern=pattern, built_as=["bushings"])
    layout_change(one=pattern, change=lambda says: place_freed(says, PIN, {"key": "lift_pinion"}))
    PatternPlace.objects.create(pattern=pattern, key="own_pin", part_number="TB-9")
    build = build_save(build=Build(pattern=pattern), name="late", year_from=1968, serial_from="B 500")
    layout_change(one=build, change=lambda says: row_said(says, "places", "own_pin", {"name": "long pin"}, beneath=PIN))
    return Pattern.objects.get()


def the_same(one, other):
    """Laid out alike, with and without the build."""
    for first, second in ((None, None), (one.builds.get(), other.builds.get())):
        mine, theirs = pattern_layout(one, first), pattern_layout(other, second)
        assert (mine.places, mine.rules) == (theirs.places, theirs.rules)
    assert {"own_pin"} < set(mine.by_key()) and mine.by_key()["own_pin"].part_number == "TB-9"


def test_as_another_pattern_except(odd):
    new = pattern_copy(pattern=odd, maker="Tarnbeck", model=" Merlin ", size="2")
    the_same(odd, new)
    assert (str(new), new.builds.get().year_from) == ("Tarnbeck Merlin 2", 1968)
    layout_change(one=new, change=lambda says: row_said(says, "places", "own_pin", {"name": "peg"}))
    assert pattern_layout(odd).by_key()["own_pin"].name == "pin"
    for words, complaint in ((("", "x"), "needs a maker"), (("tarnbeck", "merlin"), "in the book already")):
        with pytest.raises(LevelwindError, match=complaint):
            pattern_copy(pattern=odd, maker=words[0], model=words[1], size="2")


def test_two_that_are_one_are_merged_and_nothing_is_lost(odd):
    into = a_pattern(model="Merlin")
    part, other = Part.objects.create(number="TB-9", name="pin"), Part.objects.create(number="TB-2", name="yoke")
    for one in (odd, into):
        fit_say(part=other, pattern=one, place="yoke")
    fit_say(part=other, pattern=odd, place="dog")
    fit_say(part=part, pattern=odd, place="own_pin")
    job = a_job(odd, reach=("pinion",))
    take_apart(job)
    BoneReel.objects.create(pattern=odd, reel="a dead one")
    before = job_layout(job).rules
    with pytest.raises(LevelwindError, match="not into itself"):
        pattern_merge(gone=odd, into=odd)
    with pytest.raises(LevelwindError, match="built like two families"):
        pattern_merge(gone=odd, into=a_pattern("fly", model="Beck"))
    pattern_merge(gone=odd, into=into)
    job.refresh_from_db()
    assert job.pattern == into and job_layout(job).rules == before and job_layout(job).moved_on
    assert BoneReel.objects.get().pattern == into and into.builds.get().name == "late"
    assert into.places.get(key="own_pin").part_number == "TB-9"
    assert sorted(Fit.objects.filter(pattern=into).values_list("place", flat=True)) == ["dog", "yoke"]
    assert Fit.objects.filter(pattern=odd, place="own_pin").exists(), "what the other has no place for stays said"
    odd.refresh_from_db()
    assert odd.merged_into == into and odd.pk not in picking().known and picking().get(str(odd.pk)) is None
    assert odd in pattern_list(retired=True) and odd not in pattern_list()
    pattern_retire(pattern=odd, retired=False)
    assert odd.pk in picking().known and odd.merged_into is None
    assert Job.objects.get().pattern == into


def test_a_pattern_goes_out_to_a_file_and_in_again(odd):
    odd.note, odd.year_from, odd.spool_width_mm = "Brass “throughout”.", 1931, 44.5
    odd.save()
    part = Part.objects.create(number="TB-9", name="pin")
    fit_say(part=part, pattern=odd, place="own_pin", said_by="Wilma Torrance", note="told by Wilma")
    fit_say(part=part, pattern=odd, place="yoke", serves=False)
    older = a_pattern(model="Elder")
    Pattern.objects.filter(pk=odd.pk).update(like=older)
    pattern_place_set(pattern=odd, key="dog", otherwise=True)
    place_limit_set(
        pattern=odd, place="friction_1", dimension="thickness", new_mm=1.0, least_mm=0.8, source="a handbook"
    )
    odd.refresh_from_db()
    gone = Part.objects.create(number="TB-44", name="yoke")
    fit_say(part=gone, pattern=odd, place="yoke")
    a_job(odd)
    content = pattern_file(odd)
    assert b"Wilma" not in content and b"Torrance" not in content
    gone.fits.all().delete()
    gone.delete()
    odd.model = "Harrier, the old name"
    odd.save()
    new, lacking = pattern_read(content=content, said_by="bench")
    the_same(odd, new)
    assert (new.model, new.year_from, new.note, lacking) == ("Harrier", 1931, odd.note, ("TB-44",))
    fit = Fit.objects.get(pattern=new, serves=True)
    assert (fit.place, fit.sure, fit.said_by) == ("own_pin", 0.9, "bench")
    assert (Fit.objects.get(pattern=new, serves=False).place, new.like) == ("yoke", older)
    assert new.places.get(key="dog").otherwise
    limit = new.limits.get()
    assert (limit.place, limit.dimension, limit.new_mm, limit.least_mm, limit.source) == WORN_KEPT
    with pytest.raises(LevelwindError, match="in the book already"):
        pattern_read(content=content)


def test_a_file_of_a_pattern_like_one_that_is_not_here_says_so(odd):
    odd.like = a_pattern(model="Elder")
    odd.save()
    content = pattern_file(odd)
    odd.like.delete()
    Pattern.objects.filter(pk=odd.pk).update(model="Harrier, the old name")
    new, lacking = pattern_read(content=content)
    assert (new.like, lacking) == (None, ("the pattern Tarnbeck Elder",))


def spoilt(told, **changes):
    return json.dumps({**told, **changes}).encode()


def test_a_hostile_file_is_refused_in_a_sentence_and_nothing_is_written(odd):
    told = json.loads(pattern_file(odd)) | {"model": "Other"}
    facts, pin = told["facts"], {"places": {"place": [PIN]}}
    circle = copy.deepcopy(facts["says"])
    circle = row_said(circle, "takedown", "undo_bridge_screws", {"after": {"add": ["bridge"]}})
    many = {"places": {"place": [{**PIN, "key": f"own_{number}"} for number in range(2000)]}}
    twice = row_added(facts["says"], "places", PIN)
    fit = {"place": "yoke", "part": "TB-1", "basis": "declared"}
    for content, complaint in (
        (b" " * (LARGEST_BYTES + 1), "size of the file"),
        (b"PK\x03\x04", "a damaged zip"),
        (b"[" * 100_000, "not readable as JSON"),
        (b"[]", "allowed is a pattern as Levelwind writes it out"),
        (spoilt(told, kind="x"), "allowed is a pattern as Levelwind writes it out"),
        (spoilt(told, family="x"), "family was 'x'"),
        (spoilt(told, maker=3), "the file: maker was 3"),
        (spoilt(told, model="m" * 61), "can have 60 letters at most"),
        (spoilt(told, facts={**facts, "says": circle}), "in a circle"),
        (spoilt(told, facts={**facts, "says": pin}), "no step frees pin"),
        (spoilt(told, facts={**facts, "says": many}), "allowed is up to 600"),
        (spoilt(told, facts={**facts, "says": twice}), "own_pin was there already"),
        (spoilt(told, facts={**facts, "says": [1]}), "tables of places"),
        (spoilt(told, facts={**facts, "x": 1}), "facts was x"),
        (spoilt(told, facts={**facts, "gear_ratio": 400}), "can be 12 at most"),
        (spoilt(told, facts={**facts, "gear_ratio": [1]}), "must be a float"),
        (spoilt(told, facts={**facts, "year_from": float("inf")}), "no number of a reel"),
        (spoilt(told, facts={**facts, "drag": {"bodies": 3}}), "."),
        (spoilt(told, places=[{"key": "spool", "count": 10**30}]), "no number of a reel"),
        (spoilt(told, places=[{"key": "nothing"}]), "place was 'nothing'"),
        (spoilt(told, places=[{}] * 601), "number of places was 601"),
        (spoilt(told, builds=[{"name": "x", "says": many}]), "allowed is up to 600"),
        (spoilt(told, builds=[{"name": "x", "year_from": "1960"}]), "the file: year_from"),
        (spoilt(told, fits=[{**fit, "sure": 1.2}]), "how sure TB-1 fits was 1.2; allowed is from 0 to 1"),
        (spoilt(told, fits=[{**fit, "sure": float("nan")}]), "no number of a reel"),
        (spoilt(told, fits=3), "the file: fits was 3"),
    ):
        with pytest.raises(LevelwindError, match=complaint):
            pattern_read(content=content)
        assert Pattern.objects.count() == 1
