"""Pictures on the pages: uploaded in a plain form, given words, removed; wrong files refused by name."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from PIL import Image
from pytest_django import DjangoAssertNumQueries

from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.jobs.services.drafts import draft_begin, draft_reel_add
from levelwind.shop.jobs.services.photos import photo_add
from levelwind.shop.models import Job, Owner, Parcel, Photo
from tests.pages import typed_into

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


@pytest.fixture
def job() -> Job:
    return job_book_in(owner=Owner(name="Tove"), parcel=Parcel(), reels=[Job(reel="old star drag")])[0]


def picture(colour: str = "tan", name: str = "IMG_1.jpg", kind: str = "JPEG") -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (80, 60), colour).save(out, kind)
    return SimpleUploadedFile(name, out.getvalue())


def spot(job: Job, **more: str) -> str:
    return f"/photos/?job={job.tag}" + "".join(f"&{name}={value}" for name, value in more.items())


def test_several_pictures_go_up_in_a_plain_form_and_back_to_the_page(client: Client, job: Job) -> None:
    files = [picture("tan"), picture("navy", "IMG_2.png", "PNG"), picture("teal", "IMG_3.webp", "WEBP")]
    answer = client.post(spot(job), {"photos": files, "back": f"/jobs/{job.tag}/#pictures-found"})
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{job.tag}/#pictures-found")
    assert job.photos.count() == 3
    page = client.get(f"/jobs/{job.tag}/").content.decode()
    assert all(f"/photos/{photo.pk}/" in page for photo in job.photos.all())


def test_a_heic_from_a_phone_is_kept(client: Client, job: Job) -> None:
    from pillow_heif import from_pillow

    out = io.BytesIO()
    from_pillow(Image.new("RGB", (80, 60), "tan")).save(out)
    client.post(spot(job), {"photos": SimpleUploadedFile("IMG_1.HEIC", out.getvalue())})
    assert job.photos.get().width == 80


def test_a_wrong_file_is_refused_by_name_and_the_right_ones_are_kept(client: Client, job: Job) -> None:
    words = SimpleUploadedFile("letter.jpg", b"Dear shop, here is my reel")
    answer = client.post(spot(job), {"photos": [words, picture()]}, follow=True)
    assert answer.status_code == 200
    assert "letter.jpg was a text file" in answer.content.decode()
    assert job.photos.count() == 1


def test_a_script_gets_the_refusal_alone_and_the_pictures_alone(client: Client, job: Job) -> None:
    htmx = {"HX-Request": "true"}
    answer = client.post(spot(job), {"photos": SimpleUploadedFile("a.jpg", b"words")}, headers=htmx)
    assert (answer.status_code, "<html" in answer.content.decode()) == (422, False)
    answer = client.post(spot(job), {"photos": picture()}, headers=htmx)
    assert answer.status_code == 200
    assert "<img" in answer.content.decode()
    assert "<html" not in answer.content.decode()


def test_pressing_add_with_nothing_chosen_says_what_to_do(client: Client, job: Job) -> None:
    assert "choose one or more" in client.post(spot(job), {}, follow=True).content.decode()


@pytest.mark.parametrize(
    "address",
    [
        "/photos/?job=99-9999",
        "/photos/?draft=12",
        "/photos/?draft=x",
        "/photos/",
        "/photos/77/",
        "/photos/?draft=" + "9" * 40,
    ],
)
def test_pictures_of_nothing_are_not_found(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404


def test_a_moment_nobody_knows_is_not_found(client: Client, job: Job) -> None:
    assert client.get(spot(job, moment="never")).status_code == 404


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)"])
def test_the_way_back_never_leads_elsewhere(client: Client, job: Job, back: str) -> None:
    answer = client.post(spot(job), {"photos": picture(), "back": back})
    assert answer["Location"] == f"/jobs/{job.tag}/"


def test_words_are_saved_as_they_are_typed_and_somebody_else_s_are_not_lost(client: Client, job: Job) -> None:
    photo = photo_add(job=job, file=picture())
    address = f"/photos/{photo.pk}/"
    one = typed_into(client.get(address), caption="salt under the star")
    other = typed_into(client.get(address), caption="corroded star")
    client.post(address, one, headers={"HX-Request": "true"})
    answer = client.post(address, other)
    photo.refresh_from_db()
    assert photo.caption == "salt under the star"
    assert "Somebody saved “salt under the star” here" in answer.content.decode()
    assert "corroded star" in answer.content.decode()


def test_words_too_long_are_refused_beside_the_field(client: Client, job: Job) -> None:
    photo = photo_add(job=job, file=picture())
    answer = client.post(f"/photos/{photo.pk}/", typed_into(client.get(f"/photos/{photo.pk}/"), caption="x" * 121))
    assert "can have 120 letters at most" in answer.content.decode()


def test_a_picture_of_a_booking_is_given_to_the_reel_it_shows(client: Client) -> None:
    draft = draft_begin()
    draft_reel_add(draft=draft)
    client.post(f"/photos/?draft={draft.pk}", {"photos": picture(), "place": "2"})
    client.post(f"/photos/?draft={draft.pk}", {"photos": picture("navy"), "place": "99"})
    right, of_the_parcel = Photo.objects.all()
    assert (right.place, of_the_parcel.place) == ("2", "")
    address = f"/photos/{of_the_parcel.pk}/"
    client.post(address, typed_into(client.get(address), place="1"))
    of_the_parcel.refresh_from_db()
    assert of_the_parcel.place == "1"
    answer = client.post(address, typed_into(client.get(address), place="99"))
    assert "not in this list" in answer.content.decode()


def test_a_wrong_picture_is_removed(client: Client, job: Job) -> None:
    photo = photo_add(job=job, file=picture())
    assert client.get(f"/photos/{photo.pk}/remove/").status_code == 405
    answer = client.post(f"/photos/{photo.pk}/remove/", {"back": f"/jobs/{job.tag}/"})
    assert answer["Location"] == f"/jobs/{job.tag}/"
    assert not Photo.objects.exists()
    assert client.post(f"/photos/{photo.pk}/remove/").status_code == 404


def test_any_step_can_show_its_own_pictures_by_one_include(rf: RequestFactory, job: Job) -> None:
    mine = photo_add(job=job, file=picture(), moment="step", step="star nut")
    other = photo_add(job=job, file=picture(), moment="found")
    block = render_to_string(
        "jobs/photos_block.html", {"job": job, "moment": "step", "step": "star nut"}, rf.get("/jobs/26-0001/apart/")
    )
    assert f"/photos/{mine.pk}/" in block
    assert f"/photos/{other.pk}/" not in block
    assert f"?job={job.tag}&amp;moment=step&amp;step=star+nut&amp;place=" in block


def test_many_pictures_ask_the_book_no_more_than_one(
    client: Client, job: Job, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for shade in range(8):
        photo_add(job=job, file=picture(f"rgb({shade},0,0)"))
    with django_assert_max_num_queries(3):
        client.get(spot(job))


def test_a_block_in_a_fragment_leads_back_to_the_page_it_is_told(rf: RequestFactory, job: Job) -> None:
    context = {"job": job, "moment": "step", "step": "star nut", "back": "/jobs/26-0001/apart/"}
    block = render_to_string("jobs/photos_block.html", context, rf.post("/jobs/26-0001/apart/tick/"))
    assert 'value="/jobs/26-0001/apart/#pictures-step-star-nut"' in " ".join(block.split())
    assert "/tick/" not in block
