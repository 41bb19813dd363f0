"""A reel of the shop's own is bought, mended and sold, and comes back; a box of dead reels is paid for as one."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.reference.families import family
from levelwind.shop.jobs.selectors.jobs import next_move
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Bill, BoneReel, Draft, Job, Owner, Shop, Stage, StepDone
from levelwind.shop.money.own import own_reel
from levelwind.shop.money.selectors import DraftLine, owed_on
from levelwind.shop.money.services.bills import bill_draft_save, bill_make
from levelwind.shop.money.services.sales import SoldReel, counter_sell, reel_bring_back, sale_void
from levelwind.shop.money.worth import own_worth
from levelwind.shop.parts.services.bones import bone_delete, bone_strip
from levelwind.shop.parts.services.shelf import part_add, stock_put_back, stock_take
from levelwind.shop.people.services import owner_shop
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db


def test_a_reel_is_bought_mended_sold_and_brought_back(client: Client) -> None:
    """40.00 for the reel and 2 × 6.00 for its parts; sold for 110.00 that hold 10.00 tax: 48.00 left for the work."""
    Shop.objects.create(pk=1, name="Bench", tax_label="Tax", tax_percent=10, tax_included=True)
    begun = client.post("/counter/own/").headers["location"]
    assert Draft.objects.get().data["owner"] == owner_shop().pk and begun == f"/book-in/{Draft.objects.get().pk}/"
    job = a_job(owner=owner_shop(), serial="S-7")
    client.post(f"/jobs/{job.tag}/", typed_into(client.get(f"/jobs/{job.tag}/"), bought_minor="40"))
    gear = part_add(number="G-1", name="Gear", price_minor=1500, count=3)
    gear.cost_minor = 600
    gear.save()
    taken = stock_take(part=gear, job=job, count=3)
    stock_put_back(taken=taken, count=1)
    job = job_move(job=Job.objects.get(), stage=Stage.LOOKED_OVER)
    assert next_move(job).words == "Take it apart"
    job_move(job=job, stage=Stage.PROVED)
    assert next_move(job).words == "Sell it"
    assert "price sent" not in job.events.get(text__startswith="Now proved").text
    with pytest.raises(LevelwindError, match="sold over the counter, not billed"):
        bill_make(job=bill_draft_save(job=job, lines=[DraftLine("work", "Service", 1)]))

    there = f"/counter/sell/?add={job.pk}-reel"
    assert "is sold for" in client.post("/counter/sell/", typed_into(client.get(there), how="cash")).content.decode()
    typed = typed_into(client.get(there), how="card", **{f"{job.pk}-reel-amount_minor": "110"})
    client.post("/counter/sell/", typed)
    client.post("/counter/sell/", typed)
    bill, job = Bill.objects.get(), Job.objects.get()
    own = own_reel(job)
    assert (job.stage, own.cost_minor, own.sold_minor, own.left_minor) == (Stage.SOLD, 5200, 10000, 4800)
    for address in (f"/jobs/{job.tag}/", "/counter/own/"):
        assert "$48.00" in client.get(address).content.decode()
    with pytest.raises(LevelwindError, match="bring it back on its bill first"):
        counter_sell(reels=[SoldReel(job, 100)], how="cash")

    client.post(f"/counter/bills/{bill.number}/reel-back/", {"reel": job.tag})
    job = Job.objects.get()
    assert (job.stage, job.sold_for, owed_on(bill)) == (Stage.PROVED, None, -11000)
    counter_sell(reels=[SoldReel(job, 9000)], owner=Owner(name="Ines Vasterholm"))
    again = Bill.objects.exclude(pk=bill.pk).get()
    sale_void(bill=again, why="changed their mind", back=True)
    assert Job.objects.get().stage == Stage.PROVED and owed_on(again) == 0
    with pytest.raises(LevelwindError, match="not sold"):
        reel_bring_back(job=job)


def test_what_is_not_the_shops_or_lies_in_pieces_is_not_sold() -> None:
    with pytest.raises(LevelwindError, match="not the shop's own: it belongs to Ansa Vell"):
        counter_sell(reels=[SoldReel(a_job(), 100)], how="cash")
    own = a_job("26-0002", owner=owner_shop())
    own.pieces.create(place="gear", name="gear", where="cell", cell=1)
    with pytest.raises(LevelwindError, match="lie in the tray"):
        counter_sell(reels=[SoldReel(own, 100)], how="cash")
    assert not Bill.objects.exists()


def test_a_box_of_dead_reels_is_taken_in_and_paid_for_as_one(client: Client) -> None:
    """100.00 over three reels: 33.33, 33.34, 33.33."""
    pattern = a_pattern()
    typed = typed_into(client.get("/shelf/bone-box/")) | {"reel": "", "paid_minor": "100"}
    box = typed | {"text": f"2 × {pattern}\n\n old  star drag \n"}
    for _ in range(2):
        client.post("/shelf/bone-box/", box)
    reels = list(BoneReel.objects.order_by("pk"))
    assert [(reel.reel, reel.pattern, reel.paid_minor) for reel in reels] == [
        (str(pattern), pattern, 3333),
        (str(pattern), pattern, 3334),
        ("old star drag", None, 3333),
    ]
    page = client.get(f"/shelf/bone-box/{reels[0].pk}/").content.decode()
    assert "One of 3 that came in a box" in page and "$100.00" in page
    assert (
        "from 1 to 100" in client.post("/shelf/bone-box/", box | {"text": "-\n" * 101, "press": "x"}).content.decode()
    )
    bone_strip(bone=reels[0], parts={part_add(number="G-1", name="Gear"): 1})
    with pytest.raises(LevelwindError, match="Parts came off"):
        bone_delete(bone=reels[0])
    client.post(f"/shelf/bone-box/{reels[2].pk}/take-away/")
    assert BoneReel.objects.count() == 2


def test_an_own_reel_is_weighed_until_it_is_mended_and_its_hour_is_told(client: Client) -> None:
    """Half an hour on the clock; bought for 40.00, sold for 60.00: an hour brought 40.00."""
    Shop.objects.create(pk=1, name="Bench", hour_minor=3000, hour_cost_minor=2500)
    job = a_job(owner=owner_shop(), pattern=a_pattern(), bought_minor=4000)
    page = f"/jobs/{job.tag}/"
    assert "Nothing is known yet that it could bring" in client.get(page).content.decode()
    client.post(page, typed_into(client.get(page), asks_minor="120"))
    shut = own_worth(Job.objects.get())
    assert shut and shut.told.advice == "mended" and "Mend it and sell it whole." in client.get(page).content.decode()
    job_move(job=Job.objects.get(), stage=Stage.APART)
    opened = own_worth(Job.objects.get())
    assert opened and opened.told.most_to_pay > shut.told.most_to_pay, "the way in is behind it"
    now = timezone.now()
    for n, step in enumerate(family("star_drag").rules.steps[:4]):
        StepDone.objects.create(job=job, phase="apart", step=step.key, at=now + timedelta(minutes=10 * n))
    job_move(job=Job.objects.get(), stage=Stage.PROVED)
    assert own_worth(Job.objects.get()) is None and 'id="worth"' not in client.get(page).content.decode()
    counter_sell(reels=[SoldReel(Job.objects.get(), 6000)], owner=Owner(name="Ines Vasterholm"))
    own = own_reel(Job.objects.get())
    assert (own.left_minor, own.minutes, own.an_hour_minor) == (2000, 30.0, 4000)
    assert "An hour on the clock brought $40.00; it costs $25.00" in " ".join(client.get(page).content.decode().split())
    assert "$40.00" in client.get("/counter/own/").content.decode()
