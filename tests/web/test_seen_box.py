"""A box seen at a sale: counted line by line, what to pay at most, bought into the bone box, and what came of it."""

import pytest
from django.test import Client

from levelwind.shop.jobs.services.comebacks import job_delete
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import BoneReel, Fit, Job, Owner, Part, SeenBox, SeenReels, Shop, Stage
from levelwind.shop.money.seen_boxes import box_came, seen_worth
from levelwind.shop.money.services.sales import SoldReel, counter_sell
from levelwind.shop.parts.services.bones import bone_strip
from tests.jobs import a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
HTMX = {"hx-request": "true"}


def said(client: Client, url: str) -> str:
    return " ".join(client.get(url).content.decode().split())


@pytest.fixture
def box(client: Client) -> SeenBox:
    Shop.objects.create(pk=1, name="Bench", hour_minor=3000)
    assert "None yet" in said(client, "/shelf/boxes/")
    for _ in range(2):
        client.post("/shelf/boxes/")
    return SeenBox.objects.get()  # pressed twice, an empty one is taken up


def line(client: Client, box: SeenBox, number: int, **typed: str) -> str:
    row = box.reels.all()[number]
    fields = typed_into(
        client.get(f"/shelf/boxes/{box.pk}/"), **{f"row{row.pk}-{name}": t for name, t in typed.items()}
    )
    return client.post(f"/shelf/boxes/{box.pk}/line/{row.pk}/", fields, headers=HTMX).content.decode()


def test_counted_line_by_line_it_says_what_to_pay_at_most(client: Client, box: SeenBox) -> None:
    address, pattern = f"/shelf/boxes/{box.pk}/", a_pattern()
    assert "Count the reels." in said(client, address)
    assert "Name a pattern of the book" in line(client, box, 0, text="skerry", good="1", turns="1", dead="2")
    gear = Part.objects.create(number="G-1", name="gear", price_minor=3000)
    Fit.objects.create(part=gear, pattern=pattern, place="main_gear", basis="number", sure=0.99)
    worth = line(client, box, 0, text="skerry", whole_minor="120")
    assert 'hx-swap-oob="true"' in worth and "to be careful, never more than" in worth and "Skerry 50" in worth
    found = seen_worth(SeenBox.objects.get())
    (row,) = found.rows
    assert (found.count, found.untold, len(row.each)) == (4, 0, 4)
    assert row.each[0] > row.each[1] > row.each[2], "the better it turns, the more it is worth"
    assert 0 < found.careful_minor < found.most_minor == pytest.approx(sum(row.each), abs=2)
    line(client, box, 1, text="a nameless one", dead="3")
    assert "of which 3 count nothing" in said(client, address)
    assert "This can be 0 or more." in line(client, box, 2, text="x", dead="-1")
    assert SeenReels.objects.get(text="x").dead == 0
    client.post(address, typed_into(client.get(address), where="the quay sale", asked_minor="9000"), headers=HTMX)
    assert "it is a loss with" in said(client, address)
    for _ in range(2):
        client.post(f"{address}do/more/")
    assert box.reels.count() == 10, "more lines only where few are empty"


def test_bought_its_reels_are_followed_and_it_can_be_taken_back(client: Client, box: SeenBox) -> None:
    """40.00 for two, shared by what each was thought to be worth; one is sold for 90.00, 6.00 came off the other."""
    address, pattern = f"/shelf/boxes/{box.pk}/", a_pattern()
    assert "Count the reels in it first" in client.post(f"{address}buy/", {"paid_minor": "40"}).content.decode()
    line(client, box, 0, text=str(pattern), good="1", dead="1", whole_minor="120")
    for _ in range(2):
        client.post(f"{address}buy/", {"paid_minor": "40", "spot": "crate B"})
    good, dead = BoneReel.objects.order_by("pk")
    assert good.paid_minor + dead.paid_minor == 4000 and good.paid_minor > dead.paid_minor
    assert (good.pattern, good.spot, good.condition, good.whole_minor) == (
        pattern,
        "crate B",
        "At the sale: turns well.",
        12000,
    )
    client.post(f"{address}do/not-bought/")
    assert not BoneReel.objects.exists() and SeenBox.objects.get().paid_minor is None
    client.post(f"{address}buy/", {"paid_minor": "40"})
    good, dead = BoneReel.objects.order_by("pk")
    for _ in range(2):
        client.post(f"/shelf/bone-box/{good.pk}/bench/")
    job = Job.objects.get()
    assert (job.is_own, job.pattern, job.bought_minor) == (True, pattern, good.paid_minor)
    assert f'on the bench as <a href="/jobs/{job.tag}/"' in said(client, f"/shelf/bone-box/{good.pk}/")
    assert good.reel not in [bone.reel for bone in BoneReel.objects.filter(mended_as=None).exclude(pk=dead.pk)]
    assert "is on the bench as" in client.post(f"{address}do/not-bought/", follow=True).content.decode()
    gear = Part.objects.create(number="G-1", name="gear", price_minor=1000)
    bone_strip(bone=dead, parts={gear: 1}, bare=True)
    assert "not whole any more" in client.post(f"/shelf/bone-box/{dead.pk}/bench/", follow=True).content.decode()
    came = box_came(SeenBox.objects.get())
    assert (came.brought_minor, came.left_minor, came.open) == (600, -3400, 1)
    job_move(job=job, stage=Stage.PROVED)
    counter_sell(reels=[SoldReel(Job.objects.get(), 9000)], owner=Owner(name="Ines Vasterholm"))
    came = box_came(SeenBox.objects.get())
    assert (came.brought_minor, came.left_minor, came.open) == (9600, 5600, 0)
    page = said(client, address)
    assert "$96.00" in page and "$56.00</strong> left for the work" in page and "Nothing more is to come of it." in page
    assert "was bought" in client.post(f"{address}do/take-away/", follow=True).content.decode()


def test_a_reel_booked_in_by_mistake_lies_in_the_box_again(client: Client, box: SeenBox) -> None:
    bone = BoneReel.objects.create(reel="old star drag")
    client.post(f"/shelf/bone-box/{bone.pk}/bench/")
    job_delete(job=Job.objects.get())
    assert client.post(f"/shelf/boxes/{box.pk}/do/take-away/").status_code == 302 and not SeenBox.objects.exists()
    assert client.get("/shelf/boxes/1/").status_code == 404
    bone.refresh_from_db()
    assert bone.mended_as is None and not Job.objects.exists()


def test_more_reels_than_are_weighed_are_refused_and_the_page_stays(client: Client, box: SeenBox) -> None:
    """It takes seconds to weigh more than 500; a page that cannot be drawn would be lost with all that was counted."""
    for number in range(2):
        line(client, box, number, text="reels", whole_minor="20", good="99", turns="99", dead="40")
    assert "a box can hold 500 reels here. This line would make it 512" in line(
        client, box, 2, text="reels", whole_minor="20", good="36"
    )
    assert seen_worth(SeenBox.objects.get()).count == 476
    assert client.get(f"/shelf/boxes/{box.pk}/").status_code == 200
