"""The bench: each job with its next move; and the search."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from django.utils.html import strip_tags
from pytest_django import DjangoAssertNumQueries

from levelwind.shop.finding.selectors import find
from levelwind.shop.jobs.life import NEXT_MOVE
from levelwind.shop.jobs.selectors.jobs import job_list
from levelwind.shop.models import Job, Owner, Parcel, Stage
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def test_an_empty_bench_says_what_to_do_first(client: Client) -> None:
    assert "Book in a reel" in client.get("/").content.decode()


def test_each_job_stands_with_its_next_move(client: Client) -> None:
    a_job(stage=Stage.AGREED)
    page = client.get("/").content.decode()
    assert "Take it apart" in page
    assert "/jobs/26-0001/apart/" in page


def test_every_stage_has_a_next_move() -> None:
    assert set(NEXT_MOVE) == set(Stage)


def test_the_soonest_promise_comes_first_and_what_is_not_mine_last() -> None:
    today = timezone.localdate()
    owner = Owner.objects.create(name="Ansa Vell")
    parcel = Parcel.objects.create(owner=owner)
    for tag, days, turn in [
        ("26-0001", 9, "mine"),
        ("26-0002", 2, "mine"),
        ("26-0003", 1, "part"),
        ("26-0004", None, "mine"),
    ]:
        day = today + timedelta(days=days) if days else None
        a_job(tag, owner=owner, parcel=parcel, promised_on=day, turn=turn)
    assert [job.tag for job in job_list()] == ["26-0002", "26-0001", "26-0004", "26-0003"]


def test_the_morning_is_one_sentence_and_each_part_of_it_a_list(client: Client) -> None:
    today = timezone.localdate()
    owner = Owner.objects.create(name="Ansa Vell")
    parcel = Parcel.objects.create(owner=owner)
    for tag, days, turn in [("26-0001", 3, "mine"), ("26-0002", -2, "mine"), ("26-0003", 30, "part")]:
        a_job(tag, owner=owner, parcel=parcel, promised_on=today + timedelta(days=days), turn=turn)
    a_job("26-0004", owner=owner, parcel=parcel, stage=Stage.HOME, promised_on=today)
    said = " ".join(strip_tags(client.get("/").content.decode()).split())
    assert "3 reels here: 2 my turn, 1 short of a part; 1 promised within a week, 1 past the promise." in said
    assert "the owner’s" not in said.partition("Tag")[0], "a list of nothing is not offered"
    for query, tags in (("?turn=mine", "12"), ("?due=week", "1"), ("?due=late", "2"), ("?turn=part", "3")):
        listed = [job.tag for job in client.get("/" + query).context["page"].jobs]
        assert sorted(listed) == [f"26-000{n}" for n in tags], query


def test_a_late_job_says_so_in_words(client: Client) -> None:
    a_job(promised_on=timezone.localdate() - timedelta(days=2))
    assert "2 days late" in client.get("/").content.decode()


@pytest.mark.parametrize("query", ["?stage=moon", "?turn=moon", "?due=moon", "?page=moon", "?page=9999", "?stage=home"])
def test_an_odd_address_still_shows_a_bench(client: Client, query: str) -> None:
    a_job()
    assert client.get("/" + query).status_code == 200


def test_six_thousand_jobs_take_no_more_questions_than_sixty(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    owner = Owner.objects.create(name="Ansa Vell")
    parcel = Parcel.objects.create(owner=owner)
    pattern = a_pattern()
    Job.objects.bulk_create(
        Job(tag=f"26-{n}", owner=owner, parcel=parcel, pattern=pattern, reel="Skerry 50") for n in range(6000)
    )
    with django_assert_max_num_queries(10):
        page = client.get("/").content.decode()
    assert "1 to 60 of 6000" in page
    with django_assert_max_num_queries(3):
        assert len(find("skerry 26-59").answers) == 12


@pytest.mark.parametrize("words", ["ansa", "SKERRY", "26-0001", "slips vell", "A 12"])
def test_every_word_must_be_somewhere(words: str) -> None:
    job = a_job(serial="A 12")
    assert [one.subject for one in find(words).answers if one.kind == "job"] == [job]
    assert find(words + " elsewhere").answers == ()


def test_the_search_drops_a_list_for_htmx_and_a_page_without(client: Client) -> None:
    a_job()
    dropped = client.get("/find/?q=skerry", headers={"hx-request": "true"}).content.decode()
    assert "<html" not in dropped and "26-0001" in dropped
    assert "<html" in client.get("/find/?q=skerry").content.decode()
    assert "Nothing is found" in client.get("/find/?q=moon").content.decode()
    assert "found by reel" in dropped
    assert "Read as: skerry." in client.get("/find/?q=skery").content.decode()


def test_what_is_typed_into_the_search_is_never_markup(client: Client) -> None:
    assert "<script>x" not in client.get("/find/?q=<script>x").content.decode()
