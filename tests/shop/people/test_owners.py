"""Owners found, what they owe, and whom to ask."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from levelwind.shop.jobs.selectors.jobs import next_move
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.models import Job, MoneyEntry, Owner, Parcel, Sending, Stage
from levelwind.shop.people.selectors import (
    debt_list,
    follow_up_list,
    owner_get,
    owner_jobs,
    owner_list,
    owner_namesakes,
    owner_owes,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 5, 14)


def jobs_of(name: str, count: int = 1) -> list[Job]:
    reels = [Job(reel=f"reel {number}") for number in range(count)]
    return job_book_in(owner=Owner(name=name, phone="555 0117", address="3 Net Lane"), parcel=Parcel(), reels=reels)


def charge(job: Job, amount: int) -> None:
    kind = "charge" if amount > 0 else "payment"
    MoneyEntry.objects.create(job=job, kind=kind, text="work", amount_minor=amount)


def test_every_word_must_occur_somewhere() -> None:
    jobs_of("Ines Vasterholm", 2)
    jobs_of("Ines Quillane")
    assert [owner.name for owner in owner_list("ines VAST")] == ["Ines Vasterholm"]
    assert [(owner.name, owner.job_count) for owner in owner_list("net ines")] == [  # type: ignore[attr-defined]
        ("Ines Quillane", 1),
        ("Ines Vasterholm", 2),
    ]
    assert not owner_list("ines 999").exists()


def test_namesakes_are_found_whatever_the_case_and_the_spaces() -> None:
    jobs_of("Bram Quillane")
    assert owner_namesakes(" bram quillane ")
    assert not owner_namesakes("Bram")
    assert not owner_namesakes("  ")


@pytest.mark.parametrize("pk", ["", "x", "-1", "1.5", "9" * 30, "9" * 5000, "٣"])
def test_a_number_from_outside_that_names_nobody_gives_nobody(pk: str) -> None:
    assert owner_get(pk) is None


def test_what_is_owed_is_the_sum_of_all_entries() -> None:
    first, second = jobs_of("Ines Vasterholm", 2)
    charge(first, 8450)
    charge(first, -2000)
    charge(second, 100)
    owed = {job.tag: job.owes for job in owner_jobs(first.owner)}  # type: ignore[attr-defined]
    assert owed == {first.tag: 6450, second.tag: 100}
    assert owner_owes(first.owner) == 6550


def test_who_owes_most_comes_first_and_who_owes_nothing_is_not_there(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for name, amounts in {"a": [500], "b": [900, -100], "c": [300, -300], "d": [-50], "e": []}.items():
        job = jobs_of(name)[0]
        for amount in amounts:
            charge(job, amount)
    with django_assert_num_queries(2):
        debts = debt_list()
    assert [(debt.owner.name, debt.owes_minor) for debt in debts] == [("b", 800), ("a", 500), ("d", -50)]


def test_follow_ups_are_due_from_their_day_until_the_answer_is_written_down() -> None:
    due, tomorrow, answered, back, on_the_bench = jobs_of("Ines Vasterholm", 5)
    Job.objects.exclude(pk=on_the_bench.pk).update(stage=Stage.HOME)
    Sending.objects.create(job=due, follow_up_on=TODAY)
    Sending.objects.create(job=tomorrow, follow_up_on=TODAY + timedelta(days=1))
    Sending.objects.create(job=answered, follow_up_on=TODAY, follow_up_note="runs well")
    Sending.objects.create(job=back, follow_up_on=TODAY, came_back=True)
    Sending.objects.create(job=on_the_bench, follow_up_on=TODAY)
    assert [sending.job for sending in follow_up_list(TODAY)] == [due]
    moves = {job: next_move(Job.objects.get(pk=job.pk)).words for job in (due, tomorrow, answered, back)}
    ask = "Ask how it is doing"
    assert moves == {due: ask, tomorrow: ask, answered: "Nothing more", back: "Nothing more"}
