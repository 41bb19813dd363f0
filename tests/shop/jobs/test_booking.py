"""Booking in: tag numbers that cannot clash, the parcel and its reels, and what a draft hands over."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier
from unittest.mock import patch

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection

from levelwind.core.errors import InputError, LevelwindError
from levelwind.shop.jobs.services import booking
from levelwind.shop.jobs.services.booking import draft_book_in, job_book_in, last_number
from levelwind.shop.jobs.services.drafts import draft_begin, draft_reel_add
from levelwind.shop.models import Draft, Job, Owner, Parcel, Photo
from tests.emptied import emptied_afterwards, triggers_back

__all__ = ["emptied_afterwards", "triggers_back"]

IN_2026 = datetime(2026, 5, 14, 9, tzinfo=UTC)


def book_in(*reels: str, at: datetime = IN_2026, owner: Owner | None = None) -> list[Job]:
    owner = owner or Owner(name="Tove Aldersund")
    return job_book_in(
        owner=owner, parcel=Parcel(carrier="Coast Post"), reels=[Job(reel=reel) for reel in reels], at=at
    )


@pytest.mark.django_db
def test_reels_of_a_parcel_get_the_year_and_running_numbers() -> None:
    jobs = book_in("one", "two") + book_in("three")
    assert [job.tag for job in jobs] == ["26-0001", "26-0002", "26-0003"]
    assert jobs[0].parcel == jobs[1].parcel != jobs[2].parcel
    assert jobs[0].booked_in_at == jobs[0].stage_since == jobs[0].parcel.arrived_at == IN_2026


@pytest.mark.django_db
def test_numbers_begin_again_with_the_year_of_the_shop_s_own_clock() -> None:
    book_in("last of the year", at=datetime(2026, 12, 31, 12, tzinfo=UTC))
    assert book_in("first", at=datetime(2027, 1, 2, 12, tzinfo=UTC))[0].tag == "27-0001"


@pytest.mark.django_db
def test_numbers_go_on_past_four_figures_and_past_tags_of_another_kind() -> None:
    for tag in ("26-9999", "26-10000", "26-old"):
        job = book_in("reel")[0]
        Job.objects.filter(pk=job.pk).update(tag=tag)
    assert last_number(2026) == 10000
    assert book_in("reel")[0].tag == "26-10001"


@pytest.mark.django_db
def test_history_begins_with_how_it_came() -> None:
    job = book_in("one", "two")[0]
    event = job.events.get()
    assert event.text == "Booked in: came by post with Coast Post, one of a crate of 2."
    assert event.at == IN_2026


@pytest.mark.django_db
def test_an_owner_in_the_book_is_not_written_again() -> None:
    owner = Owner.objects.create(name="Bram Quillane")
    book_in("one", owner=owner)
    assert Owner.objects.get() == owner


@pytest.mark.django_db
@pytest.mark.parametrize(
    "wrong",
    [Job(reel=""), Job(reel="x" * 121), Job(reel="reel", declared_minor=-1), Job(reel="reel", line_strength_N=-4.0)],
)
def test_what_the_models_refuse_leaves_nothing_behind(wrong: Job) -> None:
    with pytest.raises(ValidationError):
        job_book_in(owner=Owner(name="Tove"), parcel=Parcel(), reels=[Job(reel="right"), wrong])
    assert not Owner.objects.exists()
    assert not Parcel.objects.exists()
    assert not Job.objects.exists()


@pytest.mark.django_db
def test_a_parcel_without_a_reel_is_refused() -> None:
    with pytest.raises(InputError, match="at least one"):
        book_in()


@pytest.mark.django_db
def test_a_number_somebody_took_first_is_passed_over() -> None:
    """What PostgreSQL can show a second booking: the number it read was given meanwhile."""
    book_in("theirs")
    true = last_number
    with patch.object(booking, "last_number", side_effect=[0, 0, true(2026)]):
        assert book_in("ours", "ours too")[1].tag == "26-0003"


@pytest.mark.django_db
def test_a_clash_that_does_not_end_is_said_and_leaves_nothing_behind() -> None:
    book_in("theirs")
    with patch.object(booking, "last_number", return_value=0), pytest.raises(LevelwindError, match="once more"):
        book_in("ours")
    assert Job.objects.count() == 1
    assert Parcel.objects.count() == 1


@pytest.mark.django_db
def test_the_constraint_itself_refuses_a_second_job_of_one_tag() -> None:
    job = book_in("one")[0]
    with pytest.raises(IntegrityError):
        Job.objects.create(tag=job.tag, owner=job.owner, parcel=job.parcel, reel="two")


def test_many_who_book_in_at_once_get_different_numbers(emptied_afterwards: None) -> None:
    together = Barrier(6)

    def one(number: int) -> list[str]:
        together.wait()
        try:
            return [job.tag for job in book_in(f"reel {number}", f"reel {number} too")]
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as hands:
        tags = [tag for pair in hands.map(one, range(6)) for tag in pair]
    assert sorted(tags) == [f"26-{number:04d}" for number in range(1, 13)]


def photo(draft: Draft, name: str, place: str = "") -> Photo:
    return Photo.objects.create(
        draft=draft, picture=f"{name}.jpg", thumbnail=f"{name}-small.jpg", width=4, height=3, sha256=name, place=place
    )


@pytest.mark.django_db
def test_pictures_go_to_the_reel_they_show_and_those_of_the_parcel_to_every_reel() -> None:
    draft = draft_begin()
    second = draft_reel_add(draft=draft)
    photo(draft, "crate")
    photo(draft, "second", place=str(second))
    photo(draft, "of-a-reel-taken-away", place="77")
    reels = {1: Job(reel="one"), second: Job(reel="two")}
    draft_book_in(draft=draft, owner=Owner(name="Tove"), parcel=Parcel(), reels=reels)
    shown = [sorted(job.photos.values_list("sha256", flat=True)) for job in Job.objects.order_by("tag")]
    assert shown == [["crate", "of-a-reel-taken-away"], ["crate", "of-a-reel-taken-away", "second"]]
    assert not Photo.objects.exclude(place="").exists()
    assert not Draft.objects.exists()


@pytest.mark.django_db
def test_a_draft_that_is_gone_books_nothing_in() -> None:
    draft = draft_begin()
    Draft.objects.all().delete()
    with pytest.raises(LevelwindError, match="finished or thrown away"):
        draft_book_in(draft=draft, owner=Owner(name="Tove"), parcel=Parcel(), reels={1: Job(reel="one")})
    assert not Job.objects.exists()
