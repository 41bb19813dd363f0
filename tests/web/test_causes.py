"""What comebacks cost and which fault, part or hurry they come from; each figure opens to its reels."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import Job, Owner, Parcel, Part, Piece, Price, PriceLine, Sending, Shop, Stage, StockEntry
from levelwind.shop.money.causes import causes
from levelwind.shop.money.sunday import the_year
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
URL = "/counter/sunday/comebacks/"
NOW = timezone.now()


def said(client: Client, url: str) -> str:
    return " ".join(client.get(url).content.decode().split())


def test_three_of_four_with_one_pawl_came_back(client: Client) -> None:
    """Twenty went home, four came back, three of them of the four with that pawl: by hand 65 of 4845 by chance alone.

    Each comeback costs an hour at 60.00, those with the pawl 5.00 for another: 3 · 65.00 + 60.00.
    """
    Shop.objects.create(pk=1, name="Bench", hour_minor=6000)
    assert "0</strong> reels" in said(client, URL)
    owner, pattern = Owner.objects.create(name="Ansa Vell"), a_pattern()
    shared = {"owner": owner, "parcel": Parcel.objects.create(owner=owner), "pattern": pattern}
    pawl = Part.objects.create(number="SK-7", name="pawl", cost_minor=500)
    ring = Part.objects.create(number="SK-9", name="ring", cost_minor=100)
    homes = []
    for n in range(20):
        job = a_job(f"26-{n:04}", stage=Stage.HOME, booked_in_at=NOW - timedelta(days=40), urgent=n == 0, **shared)
        Sending.objects.create(job=job, sent_at=NOW - timedelta(days=20))
        homes.append(job)
    StockEntry.objects.create(part=pawl, change=20, why="bought")
    StockEntry.objects.create(part=ring, change=20, why="bought")
    for job in homes[:4]:
        StockEntry.objects.create(part=pawl, change=-1, why="taken", job=job)
        Piece.objects.create(job=job, place="pawl", name="pawl", state="worn")
    for job in homes[3:9]:
        StockEntry.objects.create(part=ring, change=-1, why="taken", job=job)
    StockEntry.objects.create(part=pawl, change=-1, why="taken", job=homes[9])
    StockEntry.objects.create(part=pawl, change=1, why="back", job=homes[9])
    for n, before in enumerate((*homes[:3], homes[12])):
        back = a_job(f"26-01{n:02}", comeback_of=before, free=True, booked_in_at=NOW, **shared)
        PriceLine.objects.create(price=Price.objects.create(job=back), kind="work", text="again", minutes=60)
        if n < 3:
            StockEntry.objects.create(part=pawl, change=-1, why="taken", job=back)

    found = causes(the_year(timezone.localdate()))
    assert (len(found.homes), len(found.comebacks), found.cost) == (20, 4, 25_500)
    (part,) = found.rows["part"]
    assert (part.name, len(part.homes), len(part.back), part.cost) == ("SK-7 pawl", 4, 3, 19_500)
    assert part.chance == pytest.approx(65 / 4845) and part.of_rows == 2 and part.oftener
    (fault,) = found.rows["fault"]
    assert (fault.key, len(fault.homes), len(fault.back)) == ("pawl_worn", 4, 3)
    (hurry,) = found.rows["hurry"]
    assert (hurry.key, hurry.chance, hurry.oftener) == ("urgent", pytest.approx(4 / 20), False)
    page = said(client, URL)
    assert "$255.00" in page and "<strong>Yes</strong>, by chance alone 1 %" in page and "Too few to tell" in page
    one = said(client, f"{URL}part/{pawl.pk}/")
    assert "3 of 4 came back" in one and "26-0100" in one and "26-0003" in one and "26-0009" not in one
    assert client.get(f"{URL}part/{ring.pk}/").status_code == 404
    year = timezone.localdate().year
    assert "0</strong> reels" in said(client, f"{URL}?year={year - 5}") and Job.objects.count() == 24
    assert "Which fault, part or hurry they come from" in said(client, "/counter/sunday/")
