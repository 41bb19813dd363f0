"""A crate as one: booked in as rows, one price, one word, one parcel home; each reel with its own lines and proof."""

import re

import pytest
from django.test import Client

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Draft, Job, Owner, Parcel, Price, Shop, Stage, Word
from levelwind.shop.money.crates import crate_of
from levelwind.shop.money.services.crates import crate_word
from levelwind.shop.money.services.prices import price_line_add
from levelwind.shop.papers.selectors.crates import crate_sheet
from levelwind.shop.people.selectors import shop_get
from tests.pages import typed_into

pytestmark = pytest.mark.django_db


@pytest.fixture
def parcel() -> Parcel:
    """Three reels: priced at 10 to 30, at 20 to 60, and not priced; 10 % tax on all."""
    Shop.objects.create(pk=1, name="Bench", tax_label="Tax", tax_percent=10)
    reels = [Job(reel=f"trolling reel {number}", serial=f"N {number}") for number in (1, 2, 3)]
    jobs = job_book_in(owner=Owner(name="Charter boat Merrow"), parcel=Parcel(), reels=reels)
    for times, job in enumerate(jobs[:2], 1):
        price = Price.objects.create(job=job)
        price_line_add(
            price=price, kind="work", text="Service", low_minor=1000, likely_minor=1000 * times, high_minor=3000 * times
        )
    return jobs[0].parcel


def test_twenty_are_rows_copied_from_the_one_above(client: Client) -> None:
    client.post("/book-in/")
    address = f"/book-in/{Draft.objects.get().pk}/"
    single = client.get(address)
    assert "What came with it, how it looked, its line" not in single.content.decode()
    typed = typed_into(single, owner_name="Merrow", reel1_reel="trolling reel", reel1_serial="A 1", copies="19")
    client.post(address, typed | {"do": "more"})
    page = client.get(address).content.decode()
    assert page.count("What came with it, how it looked, its line") == 20
    assert "<details open" not in page and 'reel-row" open' not in page
    assert "Reel 1: trolling reel, No. A 1" in page and "Reel 20: trolling reel<" in page
    assert page.count('value="trolling reel"') >= 20
    typed = {"reel2_reel": "", "was-reel2_reel": "trolling reel"}
    kept = client.post(address, typed, headers={"HX-Request": "true"}).content.decode()
    assert re.search(r'<span id="title2" hx-swap-oob="true">Reel \d+, not named yet</span>', kept)
    assert client.get(address).content.decode().count('reel-row" open') == 1
    client.post(address, {"reel2_reel": "trolling reel", "was-reel2_reel": ""})
    assert client.post(address, {"copies": "0", "do": "more"}).status_code == 422
    assert client.post(address, {"copies": "40", "do": "more"}).status_code == 422
    client.post(address, {"do": "book_in"})
    assert (Job.objects.count(), Job.objects.filter(serial="A 1").count()) == (20, 1)


def test_one_price_one_word_and_a_no_to_a_single_reel(client: Client, parcel: Parcel) -> None:
    address = f"/parcels/{parcel.pk}/crate/"
    page = client.get(address).content.decode()
    assert "likely $33.00, at most $99.00, with tax" in page
    mostly = int(page.split("</strong> is enough for all of them together")[0].rsplit("$", 1)[1].replace(".", ""))
    assert 4000 < mostly < 7500, "two dear surprises at once are rare: under nine tenths of the highest"
    assert "Make up the 1 price still missing" in page
    sheet = crate_sheet(crate_of(parcel, shop_get()))
    assert [(line.what[8:], line.likely, line.high) for line in sheet.lines] == [
        ("trolling reel 1, No. N 1", 1000, 3000),
        ("trolling reel 2, No. N 2", 2000, 6000),
    ]
    assert (sheet.total[1], sheet.job.reel) == (3300, "2 reels")
    assert client.get(address + "price.pdf").content[:5] == b"%PDF-"
    client.post(address + "do/send/")
    assert Price.objects.filter(sent_at=None).count() == 0
    first, second, bare = Job.objects.order_by("tag")
    up_to = {"said": "up_to", "up_to_minor": "60", "how": "phone"}
    client.post(address + "word/", up_to | {"job": [first.tag, second.tag]})
    client.post(address + "word/", up_to | {"job": [first.tag, second.tag]})
    assert list(Word.objects.values_list("price__job__tag", "said", "up_to_minor")) == [
        (first.tag, "up_to", 2000),
        (second.tag, "up_to", 4000),
    ]
    client.post(address + "word/", {"said": "yes", "how": "mail", "job": [second.tag]})
    assert [word.said for word in Word.objects.filter(price__job=first)] == ["up_to", "no"]
    assert Job.objects.get(pk=second.pk).ceiling_minor == 6600
    answer = client.post(address + "word/", {"said": "up_to", "how": "mail", "job": [second.tag]})
    assert (answer.status_code, "for the whole crate" in answer.content.decode()) == (422, True)
    with pytest.raises(LevelwindError, match="is a no"):
        crate_word(parcel=parcel, said="yes", how="mail", to=[])
    client.post(address + "do/price/")
    client.post(address + "do/price/")
    assert bare.prices.count() == 1


def test_what_is_boxed_goes_home_in_one_parcel_each_with_its_proof(client: Client, parcel: Parcel) -> None:
    address = f"/parcels/{parcel.pk}/crate/"
    assert "is boxed: box them one by one" in client.post(address + "home/", {"carrier": "Van"}).content.decode()
    first, second, _ = Job.objects.order_by("tag")
    for job in (first, second):
        job_move(job=job, stage=Stage.BOXED)
    client.post(address + "home/", {"carrier": "Harbour van", "tracking": "HV 7"})
    assert [job.stage for job in Job.objects.order_by("tag")] == [Stage.HOME, Stage.HOME, Stage.BOOKED_IN]
    assert {(job.sending.tracking, bool(job.sending.proof)) for job in (first, second)} == {("HV 7", True)}
