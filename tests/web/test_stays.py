"""Booking in a reel that was here before, its stays on one page, and what comes back under guarantee."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import Draft, Job, Sending, Shop, Stage
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into
from tests.shop.readings.reading_rows import a_gauge

pytestmark = pytest.mark.django_db


@pytest.fixture
def first() -> Job:
    Shop.objects.create(pk=1, name="Bench", guarantee_days=90, force_unit="N")
    job = a_job("25-0007", serial="A 17", pattern=a_pattern(), stage=Stage.HOME, done_note="Drag washers renewed.")
    Job.objects.update(booked_in_at=timezone.now() - timedelta(days=40))
    Sending.objects.create(job=job, sent_at=timezone.now() - timedelta(days=30))
    a_gauge(job, "end_float", "left", 0.15)
    return Job.objects.get()


def test_a_serial_number_typed_asks_is_it_this_one_and_booked_in_it_stands_with_its_stays(
    client: Client, first: Job
) -> None:
    client.post("/book-in/")
    address = f"/book-in/{Draft.objects.get().pk}/"
    typed = typed_into(client.get(address), owner_name="Tove Alder", reel1_serial="a 17")
    asked = client.post(address, typed, headers={"HX-Request": "true"}).content.decode()
    assert 'id="was-here1"' in asked
    assert "the same serial number" in asked
    client.post(address, {"do": f"same 1-{first.pk}"})
    page = client.get(address).content.decode()
    assert "It was here before" in page
    assert 'value="Skerry 50"' in page
    client.post(address, {"do": "book_in"})
    here = Job.objects.exclude(pk=first.pk).get()
    assert here.history == Job.objects.get(pk=first.pk).history is not None
    stays = client.get(f"/jobs/{here.tag}/stays/").content.decode()
    assert "2 stays of this reel" in stays
    assert "Drag washers renewed." in stays
    client.post(f"/jobs/{here.tag}/stays/other/", {"stay": here.tag})
    assert "Is it one of these?" in client.get(f"/jobs/{here.tag}/stays/").content.decode()
    client.post(f"/jobs/{here.tag}/stays/same/", {"earlier": str(first.pk)})
    assert "The 2 stays of this reel" in client.get(f"/jobs/{here.tag}/").content.decode()


def test_what_came_back_is_one_press_and_is_held_against_how_it_left(client: Client, first: Job) -> None:
    assert "free of charge" in client.get(f"/jobs/{first.tag}/stays/").content.decode()
    address = client.post(f"/jobs/{first.tag}/stays/back/")["Location"]
    assert client.post(f"/jobs/{first.tag}/stays/back/")["Location"] == address
    back = Job.objects.get(comeback_of=first)
    assert "came back, free of charge" in client.get(address).content.decode()
    a_gauge(back, "end_float", "found", 0.45)
    for step in ("look-over", "prove"):
        page = client.get(f"{address}{step}/").content.decode()
        assert "When it left last" in page
        assert "0.15 mm" in page
    assert "Of 1 reel that went home within a year 1 came back" in client.get("/counter/shop/").content.decode()
    client.post(f"{address}stays/charged/")
    assert not Job.objects.get(pk=back.pk).free
    client.post(f"{address}stays/no-comeback/")
    answer = client.post(f"{address}stays/delete/")
    assert (answer.status_code, "In the book it has: 1 reading." in answer.content.decode()) == (422, True)
    again = client.post(f"/jobs/{first.tag}/stays/again/")["Location"]
    assert "It was here before" in client.get(again).content.decode()
