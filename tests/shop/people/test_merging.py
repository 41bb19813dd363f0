"""Two owners that are one, and back; who owns a job put right; an owner taken away."""

import pytest
from django.test import Client

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.jobs import job_owner_change
from levelwind.shop.models import Job, Owner, Parcel, Shop, Stage
from levelwind.shop.money.selectors import DraftLine
from levelwind.shop.money.services.bills import bill_draft_save, bill_void, owner_bill_make
from levelwind.shop.people.merging import owner_merge, owner_merge_undo
from levelwind.shop.people.selectors import debt_list, owner_list, owner_owes
from tests.jobs import a_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def two() -> tuple[Owner, Owner]:
    """One of them owes 20.00 on a line of no job, and has a reel that is proved."""
    Shop.objects.create(pk=1, name="Bench")
    gone = Owner.objects.create(name="A. Vell", phone="555 0100", email="a@example.org")
    into = Owner.objects.create(name="Ansa Vell", email="ansa@example.org")
    a_job(owner=gone, stage=Stage.PROVED)
    owner_bill_make(owner=gone, jobs=[], lines=[DraftLine("work", "A spool", 2000)])
    return gone, into


def test_what_is_one_owners_goes_over_with_what_is_owed_and_comes_back(
    client: Client, two: tuple[Owner, Owner]
) -> None:
    gone, into = two
    found = client.get(f"/counter/owners/{gone.pk}/?same=ansa").content.decode()
    assert f'value="{into.pk}"' in found
    same = f"/counter/owners/{gone.pk}/is/same/"
    for _ in range(2):
        assert client.post(same, {"owner": into.pk})["Location"] == f"/counter/owners/{into.pk}/"
    job = Job.objects.get()
    assert (job.owner, job.parcel.owner, job.events.count()) == (into, into, 1)
    assert [(debt.owner, debt.owes_minor) for debt in debt_list()] == [(into, 2000)]
    assert (owner_owes(into), list(owner_list())) == (2000, [into])
    into.refresh_from_db()
    assert (into.phone, into.email) == ("555 0100", "ansa@example.org")
    third = Owner.objects.create(name="Vell")
    with pytest.raises(LevelwindError, match="is one with another owner already"):
        owner_merge(gone=into, into=third)
    assert f"/counter/owners/{gone.pk}/" in client.get(f"/counter/owners/{into.pk}/").content.decode()
    assert client.post(f"/counter/owners/{gone.pk}/is/two/").status_code == 302
    job, into = Job.objects.get(), Owner.objects.get(pk=into.pk)
    assert (job.owner, into.phone, owner_owes(into), owner_owes(gone)) == (gone, "", 0, 2000)


def test_a_new_bill_keeps_them_one_and_a_bill_keeps_a_job_with_its_owner(two: tuple[Owner, Owner]) -> None:
    gone, into = two
    owner_merge(gone=gone, into=into)
    job = bill_draft_save(job=Job.objects.get(), lines=[DraftLine("work", "Service", 7000)])
    bill = owner_bill_make(owner=into, jobs=[job])
    with pytest.raises(LevelwindError, match=f"Bill {bill.number} was made to Ansa Vell"):
        owner_merge_undo(gone=Owner.objects.get(pk=gone.pk))
    other = Owner.objects.create(name="Tove Alder")
    with pytest.raises(LevelwindError, match="is made out to Ansa Vell: void it first"):
        job_owner_change(job=job, owner=other)
    bill_void(bill=bill, why="wrong owner")
    job_owner_change(job=job, owner=other)
    assert Job.objects.get().owner == other
    bill.refresh_from_db()
    assert bill.owner == into


def test_only_an_owner_on_whom_nothing_hangs_is_taken_away(client: Client) -> None:
    owner = Owner.objects.create(name="Tove Alder")
    parcel = Parcel.objects.create(owner=owner)
    answer = client.post(f"/counter/owners/{owner.pk}/is/delete/")
    assert (answer.status_code, "In the book it has: 1 parcel." in answer.content.decode()) == (422, True)
    parcel.delete()
    assert client.post(f"/counter/owners/{owner.pk}/is/delete/")["Location"] == "/counter/"
    assert not Owner.objects.exists()
