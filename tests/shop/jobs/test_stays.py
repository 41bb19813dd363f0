"""A reel's stays: asked about as it is booked in, linked, taken apart again; what comes back under guarantee."""

from datetime import timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.selectors.stays import comebacks, maybe_earlier, stays_of
from levelwind.shop.jobs.services.comebacks import job_comes_back, job_delete
from levelwind.shop.jobs.services.stays import comeback_charge, comeback_say, comeback_take_back, stay_link, stay_unlink
from levelwind.shop.models import Job, Owner, Reel, Sending, Shop, Stage
from levelwind.shop.money.fitted import beside_the_price
from levelwind.shop.money.selectors import bill_draft_lines
from levelwind.shop.money.services.prices import price_draft
from levelwind.shop.people.selectors import follow_up_list
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


def at_home(tag: str = "25-0007", days: int = 30, **facts: object) -> Job:
    job = a_job(tag, stage=Stage.HOME, booked_in_at=timezone.now() - timedelta(days=days + 10), **facts)
    Sending.objects.create(job=job, sent_at=timezone.now() - timedelta(days=days))
    return job


def test_a_reel_of_one_serial_number_or_of_its_owner_is_asked_about_and_another_is_not() -> None:
    owner, other = Owner.objects.create(name="Ansa Vell"), Owner.objects.create(name="Tove Alder")
    pattern, unlike = a_pattern(), a_pattern(model="Corvane")
    sold_on = at_home("25-0001", owner=other, serial="A 17", pattern=pattern)
    at_home("25-0002", owner=other, serial="A 17", pattern=unlike)
    at_home("25-0003", owner=owner, serial="B 2", pattern=pattern)
    no_serial = at_home("25-0004", owner=owner, pattern=pattern)
    a_job("25-0005", owner=owner, serial="A 17", pattern=pattern)
    here = a_job("26-0001", owner=owner, serial="a 17", pattern=pattern)
    asked = maybe_earlier(here)
    assert [(one.job, one.sure) for one in asked] == [(sold_on, True), (no_serial, False)]
    assert [one.because for one in asked] == ["the same serial number", "the same pattern of the same owner"]


def test_stays_are_linked_once_joined_with_what_each_was_and_taken_apart_again() -> None:
    first, second, other = at_home("25-0001"), at_home("25-0002"), at_home("25-0003")
    here = a_job("26-0001")
    stay_link(job=second, earlier=first)
    stay_link(job=here, earlier=other)
    stay_link(job=here, earlier=first)
    notes = here.events.count()
    stay_link(job=here, earlier=second)
    assert here.events.count() == notes
    assert set(stays_of(second)) == {first, second, other, here}
    assert Reel.objects.count() == 1
    stay_unlink(job=other)
    assert set(stays_of(first)) == {first, second, Job.objects.get(pk=here.pk)}
    stay_unlink(job=second)
    stay_unlink(job=here)
    assert not Reel.objects.exists()
    assert not Job.objects.exclude(history=None).exists()
    beside = a_job("26-0002", parcel=here.parcel)
    for one, why in ((beside, "one parcel"), (a_job("26-0003"), "both on the bench"), (here, "not to itself")):
        with pytest.raises(LevelwindError, match=why):
            stay_link(job=here, earlier=one)


def test_what_comes_back_is_one_press_linked_counted_and_free_within_the_days_the_shop_sets() -> None:
    Shop.objects.create(pk=1, name="Bench", guarantee_days=90)
    first = at_home(serial="A 17", line_name="braid", pattern=a_pattern())
    Sending.objects.update(follow_up_on=timezone.localdate())
    assert (comebacks().home, comebacks().back) == (1, 0)
    back = job_comes_back(job=first)
    assert job_comes_back(job=first) == back
    assert (back.comeback_of, back.free, back.serial, back.line_name) == (first, True, "A 17", "braid")
    assert back.complaint == "Came back with the same trouble: the drag slips"
    assert back.parcel_id != first.parcel_id
    assert list(stays_of(first)) == [back, first]
    assert (comebacks().home, comebacks().back) == (1, 1)
    assert not follow_up_list(timezone.localdate())
    price = price_draft(job=back)
    assert [(line.text, line.high_minor) for line in price.lines.all()] == [("Under guarantee, free of charge", 0)]
    assert bill_draft_lines(back) == ()
    assert beside_the_price(back) == ()
    comeback_charge(job=back, free=False)
    assert price_draft(job=back).lines.count() >= 1
    assert bill_draft_lines(back)[0].amount_minor > 0
    with pytest.raises(LevelwindError, match="is booked in: what is not home"):
        job_comes_back(job=back)
    with pytest.raises(LevelwindError, match="came back under its guarantee"):
        stay_unlink(job=first)


def test_a_comeback_after_the_days_is_charged_and_one_booked_by_mistake_is_taken_away_with_nothing_left_of_it() -> None:
    Shop.objects.create(pk=1, name="Bench", guarantee_days=20)
    first = at_home(days=21)
    back = job_comes_back(job=first)
    assert not back.free
    comeback_take_back(job=back)
    assert (comebacks().back, Job.objects.get(pk=back.pk).comeback_of) == (0, None)
    with pytest.raises(LevelwindError, match="under guarantee is free"):
        comeback_charge(job=back, free=True)
    comeback_say(job=back)
    comeback_say(job=back)
    assert (comebacks().back, back.events.filter(text__startswith="Came back under").count()) == (1, 2)
    comeback_take_back(job=back)
    with pytest.raises(LevelwindError, match="are both on the bench"):
        job_comes_back(job=first)
    assert Job.objects.count() == 2
    Job.objects.filter(pk=back.pk).update(stage=Stage.SENT_BACK)
    again = job_comes_back(job=first)
    price_draft(job=again)
    with pytest.raises(LevelwindError, match=r"cannot be taken away. In the book it has: 1 price\."):
        job_delete(job=again)
    again.prices.all().delete()
    job_delete(job=again)
    assert not Job.objects.filter(pk=again.pk).exists()
    assert list(stays_of(Job.objects.get(pk=first.pk))) == [back, first]


def test_older_books_link_the_same_owner_serial_number_and_pattern_and_nothing_else() -> None:
    owner, pattern = Owner.objects.create(name="Ansa Vell"), a_pattern()
    same = [at_home(f"25-000{n}", owner=owner, pattern=pattern, serial="A 17") for n in (1, 2)]
    at_home("25-0003", owner=owner, pattern=pattern)
    at_home("25-0004", owner=owner, pattern=pattern)
    at_home("25-0005", pattern=pattern, serial="A 17")
    at_home("25-0006", owner=owner, serial="A 17")
    import_module("levelwind.shop.migrations.0031_stays_of_a_reel").link_the_same(apps, connection.schema_editor())
    assert set(Job.objects.exclude(history=None)) == set(same)
    assert Reel.objects.count() == 1
