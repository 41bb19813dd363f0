"""The prove page: curves over one another, the verdict with its reasons, others of the pattern, what is still due."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from levelwind.core import spin
from levelwind.core.codec import as_stored
from levelwind.core.spin.report import meaning
from levelwind.shop.models import Job, Owner, Parcel, Pattern, Work
from levelwind.shop.readings.selectors.readings import readings_of
from tests.jobs import a_job, a_pattern
from tests.shop.readings.reading_rows import CLEAN, DIRTY, a_gauge, a_known_spin, a_pull, a_row, a_spin

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/prove/"


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern(end_float_low_mm=0.1, end_float_high_mm=0.4, turn_most_Nm=0.3)


def _page(client: Client) -> str:
    answer = client.get(URL)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def _others(pattern: Pattern, count: int) -> None:
    owner = Owner.objects.create(name="Brisa Tolk")
    parcel = Parcel.objects.create(owner=owner)
    for n in range(count):
        job = a_job(f"26-1{n:03}", owner=owner, parcel=parcel, pattern=pattern, line_strength_N=100.0)
        a_known_spin(job, 30.0, 30.0 / (10.0 + n))
        a_pull(job, "left", 40.0, 30.0)


@pytest.mark.parametrize("kind", ["single_action", "centre_pin", "side_cast", "fly_click"])
def test_no_drag_is_asked_of_a_reel_that_has_none(client: Client, pattern: Pattern, kind: str) -> None:
    Pattern.objects.update(family=kind)
    a_job(pattern=pattern)
    page = _page(client)
    assert ("The spin as left." in page) == (kind == "centre_pin"), "only a spool that runs by itself is spun"
    assert "a click holds its spool" in page and "No stack was laid out" not in page and "computed to do" not in page


def test_both_spins_are_drawn_over_one_another_with_what_took_the_speed(client: Client, pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_spin(job, "found", DIRTY)
    a_spin(job, "left", CLEAN)
    page = _page(client)
    assert 'aria-label="Speed over time in rev/s; as found, ' in page and "; as left, " in page
    assert page.count("<polyline") == 2 and "at rest</span>" in page
    assert "What took the spool’s speed away" in page and page.count('class="part as-left"') == 3
    assert "dry friction takes less off the speed" in page
    assert f"As left, {meaning(readings_of(job).apart['left']).words}." in page


def test_only_a_stop_watch_draws_nothing_and_says_what_it_can(client: Client, pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_row(job, "spin", "found", as_stored(spin.typed(11.0)))
    a_row(job, "spin", "left", as_stored(spin.typed(34.0)))
    page = _page(client)
    assert "Free spin 11.0 to 34.0 s" in page and "<polyline" not in page
    assert "the losses cannot be told apart" in page
    assert "What took the spool’s speed away" not in page


def test_with_nothing_measured_it_says_what_to_measure(client: Client, pattern: Pattern) -> None:
    a_job(pattern=pattern)
    page = _page(client)
    for words in ("No reading yet", "The pull as left.", "The spin as left.", "The end float as left: the pattern"):
        assert words in page
    assert "The handle torque as left: the pattern allows at most 0.3 N m." in page


def test_a_spool_that_stands_still_is_not_asked_to_spin(client: Client) -> None:
    a_job(pattern=a_pattern(family="fixed_spool"))
    page = _page(client)
    assert "The pull as left." in page and "The spin as left" not in page


def test_what_is_being_read_or_was_stopped_is_named_and_not_asked_for_again(client: Client, pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_row(job, "pull", "left", {}, work=Work.UNDER_WAY, part_done=0.4, file_name="scale.csv")
    a_row(job, "spin", "left", {}, work=Work.STOPPED, file_name="<b>film</b>.mp4")
    page = _page(client)
    assert "The pull as left, scale.csv, is being read: 40 % done." in page
    assert "The spin as left, &lt;b&gt;film&lt;/b&gt;.mp4, was stopped" in page
    assert "The pull as left." not in page and "The spin as left." not in page


def test_a_file_that_gave_no_number_and_a_question_lead_to_their_pages(client: Client, pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    dumb = a_row(job, "pull", "left", {"figure": {}}, refused="which unit is it?", file_name="log.csv")
    asked = {"about": "marks", "words": "How many ticks in one turn?", "answers": [1, 2]}
    sound = a_row(job, "spin", "left", as_stored(spin.typed(20.0)) | {"questions": [asked]}, file_name="spin.wav")
    page = _page(client)
    for row, words in (
        (dumb, "The pull as left, log.csv, gave no number: which unit is it?"),
        (sound, "The spin as left, spin.wav, asks: How many ticks in one turn?"),
    ):
        assert f'<a href="/jobs/26-0001/readings/left/reading/{row.pk}/">{words}</a>' in page
    a_pull(job, "left", 40.0, 30.0)
    assert "gave no number" not in _page(client)


def test_a_reading_outside_the_patterns_limit_is_said(client: Client, pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_gauge(job, "turn", "left", 0.9)
    a_gauge(job, "end_float", "left", 0.2)
    page = _page(client)
    assert "Handle torque: too much: the pattern allows at most 0.3 N m" in page
    assert "The pattern allows 0.1 to 0.4 mm." in page


def test_what_was_outside_the_limit_before_the_work_is_not_told_as_if_it_still_were(
    client: Client, pattern: Pattern
) -> None:
    a_gauge(a_job(pattern=pattern), "turn", "found", 0.9)
    assert "Handle torque as found: too much" in _page(client)


def test_it_stands_among_the_shops_others(client: Client, pattern: Pattern) -> None:
    job = a_job(pattern=pattern)
    a_known_spin(job, 40.0, 1.0)
    _others(pattern, 4)
    page = _page(client)
    assert "Spin time from 30 rev/s: freer than 4 of the 4 others of this pattern." in page
    assert "middle 11.5 s" in page


def test_a_reel_whose_pattern_nobody_knows_is_shown_all_the_same(client: Client) -> None:
    job: Job = a_job()
    a_spin(job, "left")
    page = _page(client)
    assert "The pattern of this reel is not known" in page and "<polyline" in page


def test_many_others_ask_the_book_no_more_than_few(client: Client, pattern: Pattern) -> None:
    a_spin(a_job(pattern=pattern), "left")
    with CaptureQueriesContext(connection) as few:
        _page(client)
    _others(pattern, 20)
    with CaptureQueriesContext(connection) as many:
        _page(client)
    assert len(many) == len(few)
