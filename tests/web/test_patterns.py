"""The pattern book's pages."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from levelwind.reference.families import families
from levelwind.shop.models import Pattern
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
HTMX = {"hx-request": "true"}


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


def _page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_an_empty_book_says_what_to_do_first(client: Client) -> None:
    assert "Add the first pattern" in _page(client, "/patterns/")


def test_a_pattern_is_added_from_a_family(client: Client) -> None:
    answer = client.post("/patterns/add/", {"maker": "Osk", "model": "Wexle", "family_key": "fixed_spool"})
    assert answer["Location"] == f"/patterns/{Pattern.objects.get().pk}/"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"maker": ""}, "Fill this in"),
        ({"family_key": "kite"}, "is not in this list"),
        ({"maker": "Tarn & Wey", "model": "Skerry", "size": "50"}, "is in the book already"),
        ({"model": "x" * 61}, "can have 60 letters at most"),
    ],
)
def test_a_pattern_refused_keeps_what_was_typed(
    client: Client, pattern: Pattern, typed: dict[str, str], words: str
) -> None:
    answer = client.post("/patterns/add/", {"maker": "Osk", "model": "Wexle", "family_key": "star_drag", **typed})
    assert answer.status_code == 422 and words in answer.content.decode()
    assert Pattern.objects.count() == 1


def test_the_book_is_searched(client: Client, pattern: Pattern) -> None:
    assert "Skerry" in _page(client, "/patterns/?q_pattern=tarn")
    assert "No pattern is like that" in _page(client, "/patterns/?q_pattern=anvil")
    assert "No pattern is like that" in _page(client, "/patterns/?family=fixed_spool")


def test_facts_save_as_they_are_typed_and_a_bad_one_is_said(client: Client, pattern: Pattern) -> None:
    address = f"/patterns/{pattern.pk}/"
    fields = typed_into(client.get(address), gear_ratio="3.3", spool_arbor_mm="22", spool_flange_mm="54")
    assert "Saved" in client.post(address, fields, headers=HTMX).content.decode()
    pattern.refresh_from_db()
    assert (pattern.gear_ratio, pattern.spool_flange_mm) == (3.3, 54.0)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"gear_ratio": "400"}, "can be 12 at most"),
        ({"gear_ratio": "nan"}, "Enter a number"),
        ({"year_from": "12"}, "It was 12."),
        ({"year_from": "1980", "year_to": "1970"}, "“Made until” can be 1980 or later. It was 1970."),
        ({"end_float_low_mm": "-1"}, "It was -1 mm."),
        ({"end_float_low_mm": "0.5", "end_float_high_mm": "0.2"}, "The most can be 0.5 mm or more. It was 0.2 mm."),
        ({"turn_most_Nm": "0"}, "The handle torque can be 0.001 to 20 N m. It was 0 N m."),
        ({"turn_most_Nm": "inf"}, "Enter a number"),
        ({"ticks_a_turn": "0"}, "The count of clicks can be 1 to 60. It was 0."),
        ({"ticks_a_turn": "99999999999999999999"}, "can be 1 to 60"),
        ({"bearing_balls": "2"}, "The count of balls can be 3 to 60. It was 2."),
        ({"bearing_ball_mm": "-1"}, "It was -1 mm."),
        ({"bearing_ball_mm": "5", "bearing_pitch_mm": "5.9"}, "can be over 1.2 times the ball’s 5"),
        ({"spool_arbor_mm": "60", "spool_flange_mm": "40"}, "The flange can be over the arbor’s 60"),
    ],
)
def test_an_absurd_fact_is_refused(client: Client, pattern: Pattern, typed: dict[str, str], words: str) -> None:
    address = f"/patterns/{pattern.pk}/"
    answer = client.post(address, typed_into(client.get(address), **typed))
    assert answer.status_code == 422
    pattern.refresh_from_db()
    assert pattern.year_from is None and pattern.gear_ratio is None and pattern.spool_arbor_mm is None
    assert pattern.turn_most_Nm is None and pattern.ticks_a_turn is None and pattern.bearing_balls is None
    assert pattern.bearing_ball_mm is None and pattern.end_float_low_mm is None
    assert words in answer.content.decode()


def test_a_pattern_of_the_book_is_said_to_be_as_another_except(client: Client, pattern: Pattern) -> None:
    """And no longer; one of another family is none of the choices."""
    older, fly = a_pattern(model="Fell"), a_pattern(model="Beck", family="fly")
    part = part_add(number="D-1", name="dog")
    fit_say(part=part, pattern=older, place="dog")
    address = f"/patterns/{pattern.pk}/"
    client.post(address, typed_into(client.get(address), like=str(older.pk)))
    assert "what fits that one fits this one too" in _page(client, address)
    assert "has the same here" in _page(client, f"{address}place/dog/")
    client.post(address, typed_into(client.get(address), like=str(fly.pk)))
    assert Pattern.objects.get(pk=pattern.pk).like == older
    client.post(address, typed_into(client.get(address), like=""))
    assert Pattern.objects.get(pk=pattern.pk).like is None


def test_the_limits_and_the_bearing_are_kept(client: Client, pattern: Pattern) -> None:
    address = f"/patterns/{pattern.pk}/"
    typed = {"end_float_low_mm": "0.1", "end_float_high_mm": "0.4", "turn_most_Nm": "0.25", "ticks_a_turn": "12"}
    bearing = {"bearing_balls": "7", "bearing_ball_mm": "2.381", "bearing_pitch_mm": "9.5"}
    client.post(address, typed_into(client.get(address), **typed, **bearing))
    pattern.refresh_from_db()
    assert (pattern.end_float_low_mm, pattern.end_float_high_mm, pattern.turn_most_Nm) == (0.1, 0.4, 0.25)
    assert (pattern.ticks_a_turn, pattern.bearing_balls, pattern.bearing_ball_mm) == (12, 7, 2.381)
    assert pattern.bearing_pitch_mm == 9.5


def test_the_page_shows_places_with_what_fits_the_drag_and_the_jobs(client: Client, pattern: Pattern) -> None:
    fit_say(
        part=part_add(number="T-17", name="carbon washer", count=1), pattern=pattern, place="friction_1", said_by="Ansa"
    )
    a_job(pattern=pattern)
    shown = _page(client, f"/patterns/{pattern.pk}/")
    assert "T-17" in shown and "declared, says Ansa, 90\N{NO-BREAK SPACE}% sure" in shown
    assert "The drag stack in section" in shown and "It slips between 1 and 2" in shown
    assert "26-0001" in shown


@pytest.mark.parametrize("family", families())
def test_every_familys_standard_drag_is_drawn_in_its_own_words(client: Client, family: str) -> None:
    """In the main gear of a star drag; on the spool itself of any other; and a click has no stack."""
    kin = Pattern.objects.create(maker="Tarn & Wey", model="Rowan", size="3", family=family)
    shown = _page(client, f"/patterns/{kin.pk}/")
    if family in ("fly_click", "single_action", "centre_pin", "side_cast"):
        assert "Only a click and pawl holds this spool" in shown
        return
    geared = family in ("star_drag", "round_casting", "low_profile", "electric")
    assert "The drag stack in section" in shown
    assert ("turns with the gear" in shown) is geared and ("turns with the spool" in shown) is not geared


def test_a_page_of_many_fits_asks_as_often_as_one_of_one(client: Client, pattern: Pattern) -> None:
    fit_say(part=part_add(number="A-1", name="part"), pattern=pattern, place="jack")
    with CaptureQueriesContext(connection) as one:
        _page(client, f"/patterns/{pattern.pk}/")
    for number, place in enumerate(("dog", "star", "pinion", "friction_1", "friction_2")):
        fit_say(part=part_add(number=f"B-{number}", name="part"), pattern=pattern, place=place)
    with CaptureQueriesContext(connection) as many:
        _page(client, f"/patterns/{pattern.pk}/")
    assert len(many) == len(one)


def test_a_place_is_changed_and_a_part_said_to_fit(client: Client, pattern: Pattern) -> None:
    part = part_add(number="T-9", name="screw")
    address = f"/patterns/{pattern.pk}/place/head_screws/"
    answer = client.post(address, {"part_number": "T-9", "count": "5"})
    assert answer["Location"] == f"/patterns/{pattern.pk}/#head_screws"
    row = pattern.places.get()
    assert (row.part_number, row.count, row.absent) == ("T-9", 5, False)
    assert "same number" in _page(client, address)
    assert f"/fits/?pattern={pattern.pk}&amp;place=head_screws&amp;piece=thread" in _page(client, address)
    client.post(f"{address}fit/", {"part": "t-9", "basis": "tried", "said_by": "Ansa"})
    assert part.fits.get().basis == "tried"


@pytest.mark.parametrize("typed", [{"count": "0"}, {"count": "many"}, {"count": "9999"}])
def test_an_absurd_place_is_refused(client: Client, pattern: Pattern, typed: dict[str, str]) -> None:
    answer = client.post(f"/patterns/{pattern.pk}/place/dog/", typed)
    assert answer.status_code == 422 and not pattern.places.exists()


def test_a_fit_of_a_part_nobody_has_is_refused(client: Client, pattern: Pattern) -> None:
    answer = client.post(f"/patterns/{pattern.pk}/place/dog/fit/", {"part": "X-9", "basis": "declared"})
    assert answer.status_code == 422 and "There is no part X-9" in answer.content.decode()
    assert client.get(f"/patterns/{pattern.pk}/place/propeller/").status_code == 404


def test_a_pattern_on_which_nothing_hangs_is_taken_away_and_another_says_what_does(
    client: Client, pattern: Pattern
) -> None:
    pattern.places.create(key="main_gear", part_number="G 38")
    address = f"/patterns/{pattern.pk}/"
    job = a_job(pattern=pattern)
    assert "In the book it has 1 job: it can be retired" in _page(client, address)
    refused = client.post(address + "take-away/")
    assert refused.status_code == 422 and "In the book it has: 1 job." in refused.content.decode()
    job.delete()
    assert "Nothing hangs on it" in _page(client, address)
    assert client.post(address + "take-away/").headers["Location"] == "/patterns/"
    assert not Pattern.objects.exists()
