"""The readings of a job at the bench: what may be measured, what is typed, what a dropped file becomes."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries, Settings

from levelwind.core.errors import InputError
from levelwind.shop.models import Reading, Shop, Work
from levelwind.web.readings import recordings
from tests.jobs import a_job, a_pattern
from tests.shop.readings.test_readings import a_log

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/readings/found/"
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> Iterator[None]:
    settings.MEDIA_ROOT = tmp_path
    yield


def drop(client: Client, content: bytes, kind: str = "pull", name: str = "scale.csv", **told: str) -> Reading:
    """What the page does with a dropped file: always a reading, and the way to it."""
    answer = client.post(f"{URL}{kind}/", {"recording": SimpleUploadedFile(name, content), **told})
    reading = Reading.objects.latest("pk")
    assert (answer.status_code, answer["Location"]) == (302, f"{URL}reading/{reading.pk}/")
    return reading


def page(client: Client, address: str = URL) -> str:
    return client.get(address).content.decode()


def test_everything_that_can_be_measured_is_one_link_away(client: Client) -> None:
    a_job()
    shown = page(client)
    for there in ("spin/", "pull/", "stop-watch/", "numbers/", "phone/"):
        assert f'href="{URL}{there}"' in shown
        assert client.get(URL + there).status_code == 200
    assert 'href="#end_float"' in shown and 'href="#turn"' in shown
    assert "None yet" in shown


@pytest.mark.parametrize("stage,moment", [("booked_in", "found"), ("apart", "found"), ("together", "left")])
def test_the_job_s_page_leads_to_film_and_pull_of_the_moment_it_is_in(client: Client, stage: str, moment: str) -> None:
    a_job(stage=stage)
    shown = page(client, "/jobs/26-0001/")
    assert f'href="/jobs/26-0001/readings/{moment}/spin/"' in shown
    assert f'href="/jobs/26-0001/readings/{moment}/pull/"' in shown


def test_a_dropped_log_is_read_and_listed_with_its_numbers(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="N")
    a_job()
    reading = drop(client, a_log().read())
    assert reading.analysis["pulls"]
    shown = page(client)
    assert f"{URL}reading/{reading.pk}/" in shown
    assert re.search(r"running <span class=.quantity.>30\.2\d? N", shown)


@pytest.mark.parametrize("kind", ["pull", "spin"])
@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("scale.csv", b""),
        ("scale.csv", b"time (s),force (N)\n"),
        ("scale.csv", b"time (s)\n0\n1\n2\n"),
        ("scale.csv", b"time (s),colour\n0,1\n1,2\n"),
        ("scale.csv", b"time (s),force (N)\n" + b"".join(b"%d,9\n" % n for n in range(50))),
        ("scale.csv", b"time (s),force (N)\n5,1\n4,1\n3,1\n2,1\n1,1\n0,1\n"),
        ("scale.csv", b"time (s),force (N)\n" + b"".join(b"%d,nan\n" % n for n in range(50))),
        ("spin.mp4", b"it said it was a film\n" * 90),
        ("spin.mp4", b"#EXTM3U\n#EXTINF:10,\nfile:///etc/passwd\n"),
        ("x" * 300 + ".csv", b"\x00\x01\x02" * 400),
    ],
)
def test_a_bad_file_is_kept_and_answered_by_a_sentence(client: Client, kind: str, name: str, content: bytes) -> None:
    a_job()
    reading = drop(client, content, kind, name)
    assert reading.refused and reading.analysis.get("status") != "ok"
    assert reading.file.read() == content
    assert "no number" in page(client)


def test_what_was_said_of_a_recording_goes_with_it(client: Client) -> None:
    a_job()
    told = {"marks": "4", "slowed": "8", "balls": "7", "ball_mm": "1.588", "pitch_mm": "6.5"}
    assert drop(client, b"0,1\n", "spin", **told).options == {
        "marks": 4,
        "slowed": 8.0,
        "bearing": {"balls": 7, "ball_mm": 1.588, "pitch_mm": 6.5},
    }
    assert drop(client, b"0,1\n", "spin").options == {}
    assert drop(client, a_log("time,force").read(), unit="kgf").options == {"unit": "kgf"}


def test_what_the_scale_can_read_is_kept_for_the_shop_and_offered_again(client: Client) -> None:
    a_job()
    reading = drop(client, a_log().read(), capacity_N="50 kg")
    assert reading.options["capacity_N"] == pytest.approx(490.33, abs=0.01)
    assert Shop.objects.get().scale_most_N == pytest.approx(490.33, abs=0.01)
    Shop.objects.update(name="Bench", force_unit="kgf")
    assert 'value="50"' in page(client, URL + "pull/")


def test_a_bearing_the_pattern_book_has_is_filled_in(client: Client) -> None:
    a_job(pattern=a_pattern(bearing_balls=7, bearing_ball_mm=1.588, bearing_pitch_mm=6.5))
    shown = page(client, URL + "spin/")
    assert 'value="7"' in shown and 'value="1.588"' in shown


@pytest.mark.parametrize(
    ("kind", "told", "words"),
    [
        ("spin", {"marks": "0"}, "allowed is a whole number from 1 to 60"),
        ("spin", {"marks": "many"}, "whole number"),
        ("spin", {"slowed": "nan"}, "number"),
        ("spin", {"slowed": "1e9"}, "allowed is a number from 1 to 100"),
        ("spin", {"balls": "7"}, "allowed is all three"),
        ("spin", {"balls": "7", "ball_mm": "9", "pitch_mm": "6"}, "well below the pitch diameter of 6 mm"),
        ("pull", {"unit": "moon"}, "moon"),
        ("pull", {"capacity_N": "-3"}, "allowed is a number from 0.1 to 5000 N"),
    ],
)
def test_what_cannot_be_said_of_a_recording_is_refused_beside_its_field(
    client: Client, kind: str, told: dict[str, str], words: str
) -> None:
    a_job()
    file = SimpleUploadedFile("scale.csv", a_log().read())
    answer = client.post(f"{URL}{kind}/", {"recording": file, **told})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Reading.objects.exists() and not Shop.objects.filter(scale_most_N__isnull=False).exists()


@pytest.mark.parametrize("kind", ["pull", "spin"])
def test_no_file_and_a_field_that_is_no_file_are_said_plainly(client: Client, kind: str) -> None:
    a_job()
    for sent in ({}, {"recording": "a word"}):
        answer = client.post(f"{URL}{kind}/", sent)
        assert answer.status_code == 422
        assert "choose one, then press the button" in answer.content.decode()


def test_the_script_is_told_where_to_go_or_what_was_refused(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    a_job()
    file = {"recording": SimpleUploadedFile("scale.csv", a_log().read())}
    answer = client.post(f"{URL}pull/", file, headers=HTMX)
    assert answer["HX-Redirect"] == f"{URL}reading/{Reading.objects.get().pk}/"

    def too_large(**given: object) -> None:
        raise InputError("size of film.mp4", "812 MB", "600 MB")

    monkeypatch.setattr(recordings, "recording_upload", too_large)
    file = {"recording": SimpleUploadedFile("film.mp4", b"x")}
    answer = client.post(f"{URL}spin/", file, headers=HTMX)
    assert answer.status_code == 422
    assert "812 MB" in answer.content.decode() and "<html" not in answer.content.decode()
    file = {"recording": SimpleUploadedFile("film.mp4", b"x")}
    assert "812 MB" in client.post(f"{URL}spin/", file).content.decode()


def test_the_largest_size_stands_on_the_page_for_the_script(client: Client) -> None:
    a_job()
    assert 'data-most="600000000"' in page(client, URL + "spin/")
    assert 'data-most="50000000"' in page(client, URL + "pull/")


def test_typed_forces_may_carry_their_own_unit(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="lbf")
    a_job()
    answer = client.post(URL + "type/pull/", {"pull-breakaway_N": "14", "pull-running_N": "53.4 N"})
    reading = Reading.objects.get()
    assert answer["Location"] == f"{URL}reading/{reading.pk}/"
    assert reading.typed["breakaway_N"] == pytest.approx(62.275, abs=1e-3)
    assert reading.typed["running_N"] == pytest.approx(53.4)


def test_a_force_may_be_written_with_a_comma_and_in_ounces(client: Client) -> None:
    """A phone's number keys may have no point; a scale that reads ounces has its log taken too."""
    a_job()
    client.post(URL + "type/pull/", {"pull-breakaway_N": "5,4 kg", "pull-running_N": "160 oz"})
    typed = Reading.objects.get().typed
    assert (typed["breakaway_N"], typed["running_N"]) == (
        pytest.approx(52.956, abs=1e-3),
        pytest.approx(44.482, abs=1e-3),
    )


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("pull", {"pull-breakaway_N": "-3", "pull-running_N": "12"}),
        ("pull", {"pull-breakaway_N": "9", "pull-running_N": "30"}),
        ("spin", {"spin-spin_time_s": "forever"}),
        ("spin", {"spin-spin_time_s": "1e12"}),
        ("end_float", {"end_float-end_float_mm": "-1"}),
        ("turn", {"turn-scale_N": "1 lb", "turn-lever_mm": "nan"}),
        ("turn", {"turn-scale_N": "0", "turn-lever_mm": "60"}),
    ],
)
def test_a_number_that_cannot_be_is_refused_and_kept_as_typed(
    client: Client, kind: str, fields: dict[str, str]
) -> None:
    a_job()
    answer = client.post(f"{URL}type/{kind}/", fields)
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert all(f'value="{text}"' in shown for text in fields.values())
    assert "errorlist" in shown
    assert client.post(f"{URL}type/{kind}/", fields, headers=HTMX).status_code == 422
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("0.25", "Within the pattern’s 0.1 to 0.4 mm"),
        ("0.9", "Too much"),
        ("0.01", "Too little"),
        ("0.42", "A little too"),
    ],
)
def test_end_float_is_judged_by_the_pattern(client: Client, typed: str, words: str) -> None:
    a_job(pattern=a_pattern(end_float_low_mm=0.1, end_float_high_mm=0.4))
    assert "0.1 to 0.4 mm" in page(client)
    answer = client.post(URL + "type/end_float/", {"end_float-end_float_mm": typed}, follow=True)
    assert words in answer.content.decode()


def test_handle_torque_is_judged_by_the_pattern(client: Client) -> None:
    a_job(pattern=a_pattern(turn_most_Nm=0.3))
    assert "at most 0.3 N m" in page(client)
    answer = client.post(URL + "type/turn/", {"turn-scale_N": "10 N", "turn-lever_mm": "80"}, follow=True)
    assert "Too much" in answer.content.decode()
    assert Reading.objects.get().typed == {"torque_Nm": pytest.approx(0.8)}


def test_a_pattern_without_limits_leads_to_the_pattern_book(client: Client) -> None:
    pattern = a_pattern()
    a_job(pattern=pattern)
    assert f'href="/patterns/{pattern.pk}/"' in page(client)


def test_readings_under_way_are_asked_for_again_until_they_are_read(client: Client) -> None:
    job = a_job()
    reading = Reading.objects.create(
        job=job, kind="spin", moment="found", work=Work.UNDER_WAY, part_done=0.4, core_version="0"
    )
    assert f'hx-get="{URL}rows/"' in page(client)
    answer = client.get(URL + "rows/", headers=HTMX)
    assert (answer.status_code, "being read, 40\N{NO-BREAK SPACE}%" in answer.content.decode()) == (200, True)
    Reading.objects.filter(pk=reading.pk).update(work=Work.STOPPED)
    # htmx stops polling on 286 (htmx documentation, hx-trigger, "Polling")
    assert client.get(URL + "rows/", headers=HTMX).status_code == 286
    assert "stopped" in page(client) and 'hx-get="/jobs' not in page(client)


def test_those_struck_out_are_folded_away_below_the_others(client: Client) -> None:
    job = a_job()
    old, new = (
        Reading.objects.create(job=job, kind="spin", moment="found", struck_out=out, refused="-", core_version="0")
        for out in (False, True)
    )
    standing, _, struck = page(client).partition("<summary>1 struck out</summary>")
    assert f"reading/{old.pk}/" in standing and f"reading/{new.pk}/" in struck


def test_a_reading_belongs_to_its_moment(client: Client) -> None:
    a_job()
    reading = drop(client, a_log().read())
    left = URL.replace("found", "left")
    assert f"reading/{reading.pk}/" not in page(client, left)
    assert client.get(f"{left}reading/{reading.pk}/").status_code == 404


def test_a_longer_list_costs_no_more_questions(
    client: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    a_job()
    costs = []
    for _ in range(2):
        client.post(URL + "type/spin/", {"spin-spin_time_s": "34"})
        with django_assert_num_queries(6, exact=False) as asked:
            page(client)
        costs.append(len(asked))
    assert costs[0] == costs[1]


@pytest.mark.parametrize(
    "address",
    [
        "/jobs/26-0001/readings/moon/",
        "/jobs/26-0001/readings/moon/spin/",
        URL + "type/moon/",
        "/jobs/x/readings/found/",
    ],
)
def test_nothing_stands_at_a_wrong_address(client: Client, address: str) -> None:
    a_job()
    assert client.post(address).status_code in (404, 405)
