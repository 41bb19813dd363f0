"""Pictures from the phone: the code, the page it opens without signing in, and what that page must not open."""

import io
import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image
from pytest_django import Settings

from levelwind.shop.jobs.selectors.photos import PhotoSpot
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.jobs.services.drafts import draft_begin, draft_reel_add
from levelwind.shop.jobs.services.photos import photo_add
from levelwind.shop.models import Draft, Job, Owner, Parcel
from levelwind.web import phone_codes
from levelwind.web.jobs.photos.phone import token_for

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("network")]
HTMX = {"HX-Request": "true"}


@pytest.fixture
def job() -> Job:
    return job_book_in(owner=Owner(name="Tove"), parcel=Parcel(), reels=[Job(reel="old star drag")])[0]


def picture(colour: str = "tan", name: str = "image.jpg") -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (80, 60), colour).save(out, "JPEG")
    return SimpleUploadedFile(name, out.getvalue())


def address(job: Job, **spot: str) -> str:
    return f"/p/{token_for(PhotoSpot(job=job, **spot))}/"  # type: ignore[arg-type]


def test_the_page_with_the_code_asks_for_a_name_and_the_phone_s_page_does_not(phone: Client, job: Job) -> None:
    assert phone.get(f"/photos/phone/?job={job.tag}")["Location"].startswith("/sign-in/")
    assert phone.get(address(job)).status_code == 200


def test_the_code_holds_the_address_the_computer_itself_used(signed_in: Client, phone: Client, job: Job) -> None:
    answer = signed_in.get(f"/photos/phone/?job={job.tag}&moment=left", headers={"host": "192.168.1.20:8017"})
    page = answer.content.decode()
    assert "<svg" in page
    found = re.search(r"http://192\.168\.1\.20:8017(/p/[^/\s<]+/)", page)
    assert found
    phone.post(found[1], {"photos": picture()})
    assert job.photos.get().moment == "left"


def test_a_machine_no_phone_can_reach_says_so_and_keeps_plain_upload(
    client: Client, settings: Settings, job: Job
) -> None:
    settings.NETWORK = ""
    page = client.get(f"/photos/phone/?job={job.tag}").content.decode()
    assert "levelwind open --network" in page
    assert "<svg" not in page
    assert 'type="file"' in page


def test_a_picture_from_the_phone_is_in_the_book_and_seen_on_the_phone(phone: Client, job: Job) -> None:
    answer = phone.post(address(job), {"photos": picture()}, follow=True)
    photo = job.photos.get()
    page = answer.content.decode()
    assert "1 picture in the book" in page
    thumbnail = re.search(r'<img src="([^"]+)"', page)
    assert thumbnail
    answer = phone.get(thumbnail[1])
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/jpeg"
    assert b"".join(answer) == photo.thumbnail.open().read()  # type: ignore[arg-type]


def test_the_script_gets_what_was_taken_and_refusals_alone(phone: Client, job: Job) -> None:
    answer = phone.post(address(job), {"photos": picture()}, headers=HTMX)
    assert "1 picture in the book" in answer.content.decode()
    assert "<html" not in answer.content.decode()
    answer = phone.post(address(job), {"photos": SimpleUploadedFile("image.jpg", b"words")}, headers=HTMX)
    assert answer.status_code == 422
    assert "image.jpg was a text file" in answer.content.decode()


def test_without_a_script_a_refusal_stands_on_the_page(phone: Client, job: Job) -> None:
    answer = phone.post(address(job), {"photos": SimpleUploadedFile("image.jpg", b"words")})
    assert answer.status_code == 422
    assert "image.jpg was a text file" in answer.content.decode()


def test_the_phone_sees_and_reaches_nothing_but_its_own_spot(phone: Client, job: Job) -> None:
    other = photo_add(job=job, file=picture("navy"), moment="left")
    assert phone.get(f"{address(job)}{other.pk}/").status_code == 404
    assert phone.get(f"/media/{other.picture.name}").status_code == 302
    assert phone.get(f"/photos/{other.pk}/").status_code == 302
    assert phone.post(f"/photos/?job={job.tag}", {"photos": picture()}).status_code == 302
    assert job.photos.count() == 1


@pytest.mark.parametrize("spoil", [lambda token: token[:-2] + "AA", lambda token: "x", lambda token: token + ":1:x"])
def test_a_code_that_is_not_whole_opens_nothing(phone: Client, job: Job, spoil) -> None:  # type: ignore[no-untyped-def]
    token = spoil(token_for(PhotoSpot(job=job)))
    answer = phone.post(f"/p/{token}/", {"photos": picture()})
    assert answer.status_code == 410
    assert "has run out or is not whole" in answer.content.decode()
    assert not job.photos.exists()


def test_a_code_runs_out(phone: Client, job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    there = address(job)
    monkeypatch.setattr(phone_codes, "GOOD_FOR", timedelta(seconds=-1))
    assert phone.get(there).status_code == 410
    assert phone.post(there, {"photos": picture()}).status_code == 410


def test_the_code_of_a_booking_closes_with_it(phone: Client) -> None:
    draft = draft_begin()
    there = f"/p/{token_for(PhotoSpot(draft=draft))}/"
    Draft.objects.all().delete()
    answer = phone.get(there)
    assert answer.status_code == 410
    assert "This booking is finished" in answer.content.decode()


def test_in_a_crate_the_phone_says_which_reel_and_goes_on_with_it(phone: Client) -> None:
    draft = draft_begin()
    draft_reel_add(draft=draft)
    there = f"/p/{token_for(PhotoSpot(draft=draft))}/"
    answer = phone.post(there, {"photos": picture(), "place": "2"}, follow=True)
    assert draft.photos.get().place == "2"
    assert '<option value="2" selected>' in answer.content.decode()


def test_the_computer_is_told_to_ask_no_more_once_the_code_has_run_out(signed_in: Client, job: Job) -> None:
    now = int(timezone.now().timestamp())
    photo = photo_add(job=job, file=picture())
    answer = signed_in.get(f"/photos/coming-in/{now + 60}/?job={job.tag}", headers=HTMX)
    assert answer.status_code == 200
    assert f"/photos/{photo.pk}/" in answer.content.decode()
    # htmx stops polling on 286 (htmx documentation, hx-trigger, "Polling")
    assert signed_in.get(f"/photos/coming-in/{now - 1}/?job={job.tag}", headers=HTMX).status_code == 286


def test_the_codes_bare_address_says_what_is_wanting_and_leads_back(signed_in: Client) -> None:
    answer = signed_in.get("/photos/phone/", headers={"referer": "/jobs/"})
    assert answer.status_code == 404
    shown = answer.content.decode()
    assert "does not say which reel the pictures are of" in shown and 'href="/jobs/"' in shown
