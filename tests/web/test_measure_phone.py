"""Measuring from the phone: the code, the pages it opens without signing in, and what they must not open."""

import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import resolve
from django.utils import timezone
from pytest_django import Settings

from levelwind.shop.jobs.selectors.photos import PhotoSpot
from levelwind.shop.models import Job, Reading
from levelwind.shop.readings.services.readings import reading_type
from levelwind.web import phone_codes
from levelwind.web.doors import FOR_OWNERS, OPEN_TO_ALL
from levelwind.web.jobs.photos import phone as photos_phone
from levelwind.web.readings.spot import token_for
from levelwind.web.readings.urls import urlpatterns
from tests.jobs import a_job
from tests.shop.readings.test_readings import a_log

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("network")]
PAGES = ("", "spin/", "pull/", "stop-watch/", "numbers/", "rows/")
HTMX = {"HX-Request": "true"}


@pytest.fixture
def job() -> Job:
    return a_job()


def address(job: Job, moment: str = "found") -> str:
    return f"/m/{token_for(job, moment)}/"


def test_the_code_leads_the_phone_to_this_reel_and_this_moment(signed_in: Client, phone: Client, job: Job) -> None:
    there = "/jobs/26-0001/readings/left/phone/"
    assert phone.get(there)["Location"].startswith("/sign-in/")
    shown = signed_in.get(there, headers={"host": "192.168.1.20:8017"}).content.decode()
    found = re.search(r"http://192\.168\.1\.20:8017(/m/[^/\s<]+/)", shown)
    assert "<svg" in shown and found
    phone.post(f"{found[1]}pull/", {"recording": SimpleUploadedFile("scale.csv", a_log().read())})
    assert Reading.objects.get().moment == "left"


def test_a_machine_no_phone_can_reach_says_how_it_could(client: Client, settings: Settings, job: Job) -> None:
    settings.NETWORK = ""
    shown = client.get("/jobs/26-0001/readings/found/phone/").content.decode()
    assert "levelwind open --network" in shown
    assert "<title>The code" not in shown
    assert 'href="/jobs/26-0001/readings/found/spin/"' in shown


@pytest.mark.parametrize("page", PAGES)
def test_the_phone_s_pages_ask_for_no_name_and_show_no_way_into_the_shop(phone: Client, job: Job, page: str) -> None:
    answer = phone.get(address(job) + page)
    assert answer.status_code in (200, 286)
    shown = answer.content.decode()
    links = re.findall(r'(?:href|action|hx-get|hx-post|src)="(/[^"]*)"', shown)
    assert {link.split("/")[1] for link in links} <= {"m", "static", "look"}
    assert "Ansa" not in shown


def test_every_page_under_the_code_and_no_other_is_open_to_all() -> None:
    under_code = {str(url.name) for url in urlpatterns if str(url.pattern).startswith("m/")}
    assert under_code <= OPEN_TO_ALL
    assert OPEN_TO_ALL - under_code == {"sign_in", "joined", "phone_photos", *FOR_OWNERS}
    assert all(str(url.pattern).startswith("m/") for url in urlpatterns if url.name in OPEN_TO_ALL)


def test_what_the_phone_keeps_is_in_the_book_and_says_so(phone: Client, job: Job) -> None:
    here = address(job)  # signed with the second it is made in
    answer = phone.post(here + "type/spin/", {"spin-spin_time_s": "31.2"}, headers=HTMX)
    reading = Reading.objects.get()
    assert (reading.kind, reading.typed) == ("spin", {"spin_time_s": 31.2})
    assert answer["HX-Redirect"] == f"{here}reading/{reading.pk}/"
    assert job.events.latest("pk").by == "the phone"
    assert "31.2 s" in phone.get(address(job)).content.decode()


def test_the_phone_sees_and_reaches_its_own_readings_alone(phone: Client, job: Job) -> None:
    other_moment = reading_type(job=job, kind="spin", moment="left", typed={"spin_time_s": 5.0})
    second = a_job("26-0002", owner=job.owner)
    other_job = reading_type(job=second, kind="spin", moment="found", typed={"spin_time_s": 6.0})
    for other in (other_moment, other_job):
        for what in ("", "progress/", "still/"):
            assert phone.get(f"{address(job)}reading/{other.pk}/{what}").status_code == 404
        assert phone.post(f"{address(job)}reading/{other.pk}/act/strike/").status_code in (404, 405)
        other.refresh_from_db()
        assert not other.struck_out
    shown = phone.get(address(job)).content.decode()
    assert "5.0 s" not in shown and "6.0 s" not in shown
    for closed in ("/jobs/26-0001/", "/jobs/26-0001/readings/found/", "/jobs/26-0001/readings/found/spin/"):
        assert phone.get(closed)["Location"].startswith("/sign-in/")
    assert phone.post("/jobs/26-0001/readings/found/type/spin/", {"spin-spin_time_s": "9"}).status_code == 302
    assert Reading.objects.count() == 2


def test_a_code_for_pictures_opens_no_readings_and_the_other_way_round(phone: Client, job: Job) -> None:
    assert phone.get(f"/m/{photos_phone.token_for(PhotoSpot(job=job))}/").status_code == 410
    assert phone.get(f"/p/{token_for(job, 'found')}/").status_code == 410


@pytest.mark.parametrize("spoil", [lambda token: token[:-2] + "AA", lambda token: "x", lambda token: token + ":1:x"])
@pytest.mark.parametrize("page", PAGES)
def test_a_code_that_is_not_whole_opens_nothing(phone: Client, job: Job, spoil, page: str) -> None:  # type: ignore[no-untyped-def]
    answer = phone.get(f"/m/{spoil(token_for(job, 'found'))}/{page}")
    assert answer.status_code == 410
    assert "has run out or is not whole" in answer.content.decode()


def test_what_is_refused_under_the_code_shows_no_way_into_the_shop(phone: Client, job: Job) -> None:
    there = f"/m/{token_for(job, 'found')}/"
    for answer in (
        phone.get(there + "nothing/"),
        phone.get(there + "reading/999999/"),
        phone.get(there + "reading/999999/stop/"),
        phone.post(there + "spin/", CONTENT_LENGTH=str(10**11)),
    ):
        page = answer.content.decode()
        assert answer.status_code in (404, 405, 413)
        assert "That could not be done" in page
        assert 'class="phone"' in page and "<nav" not in page and 'href="/"' not in page


def test_a_code_runs_out_and_keeps_nothing_then(phone: Client, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    there = address(job)
    monkeypatch.setattr(phone_codes, "GOOD_FOR", timedelta(seconds=-1))
    assert phone.get(there).status_code == 410
    file = SimpleUploadedFile("scale.csv", a_log().read())
    assert phone.post(there + "pull/", {"recording": file}).status_code == 410
    assert phone.post(there + "type/spin/", {"spin-spin_time_s": "9"}).status_code == 410
    assert not Reading.objects.exists()


def test_the_computer_shows_what_comes_in_until_the_code_runs_out(signed_in: Client, phone: Client, job: Job) -> None:
    phone.post(address(job) + "type/spin/", {"spin-spin_time_s": "31.2"})
    rows, now = "/jobs/26-0001/readings/found/rows/", int(timezone.now().timestamp())
    answer = signed_in.get(f"{rows}?until={now + 60}", headers=HTMX)
    assert (answer.status_code, "31.2 s" in answer.content.decode()) == (200, True)
    answer = signed_in.get(f"{rows}?until={now - 1}", headers=HTMX)
    assert (answer.status_code, "has run out" in answer.content.decode()) == (286, True)
    for nonsense in ("moon", "9" * 400, "-1", "²"):
        assert signed_in.get(rows, {"until": nonsense}).status_code == 286


def test_the_name_at_the_bench_and_under_the_code_lead_to_one_view() -> None:
    for page in PAGES:
        bench, under_code = resolve(f"/jobs/x/readings/found/{page}"), resolve(f"/m/x/{page}")
        assert (under_code.view_name, under_code.func) == (f"phone_{bench.view_name}", bench.func)
