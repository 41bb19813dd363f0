"""The counter: owners found, what they owe, whom to ask, and the shop's own form."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from levelwind.shop.jobs.services.booking import job_book_in
from levelwind.shop.models import Job, MoneyEntry, Owner, Parcel, Sending, Shop, Stage
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def job() -> Job:
    owner = Owner(name="Ines Vasterholm", phone="555 0117")
    return job_book_in(owner=owner, parcel=Parcel(), reels=[Job(reel="old star drag")])[0]


def test_the_counter_shows_who_owes_and_whom_to_ask(client: Client, job: Job) -> None:
    MoneyEntry.objects.create(job=job, kind="charge", text="work", amount_minor=123450)
    Job.objects.update(stage=Stage.HOME)
    Sending.objects.create(job=job, follow_up_on=timezone.localdate() - timedelta(days=1))
    page = client.get("/counter/").content.decode()
    assert "$1,234.50" in page
    assert f"/jobs/{job.tag}/box/" in page


def test_an_empty_book_says_what_to_do_first(client: Client) -> None:
    page = client.get("/counter/").content.decode()
    assert "Fill in the shop" in page
    assert "No owners yet" in page


def test_owners_are_found_as_you_type_and_with_the_button(client: Client, job: Job) -> None:
    Owner.objects.create(name="Bram Quillane")
    for headers in (HTMX, {}):
        page = client.get("/counter/", {"owner": "vaster"}, headers=headers).content.decode()
        assert f"/counter/owners/{job.owner_id}/" in page
        assert "Bram Quillane" not in page
        assert ("<html" in page) == (not headers)


def test_owners_without_a_reel_here_are_folded_away(client: Client, job: Job) -> None:
    """Somebody whose only job is over is among them; a search finds both kinds in one list."""
    gone = job_book_in(owner=Owner(name="Ines Quillane"), parcel=Parcel(), reels=[Job(reel="a fly reel")])[0]
    Job.objects.filter(pk=gone.pk).update(stage=Stage.HOME)
    shown, fold, folded = client.get("/counter/").content.decode().partition("1 owner without a reel here")
    assert fold and "Ines Vasterholm" in shown and "1 here" in shown and "<details>" in shown
    assert "Ines Quillane" not in shown and "Ines Quillane" in folded and "Ines Vasterholm" not in folded
    found = client.get("/counter/", {"owner": "ines"}, headers=HTMX).content.decode()
    assert "Ines Vasterholm" in found and "Ines Quillane" in found and "<details" not in found


def test_two_thousand_owners_come_a_page_at_a_time_in_few_queries(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    Owner.objects.bulk_create(Owner(name=f"Owner {number:04d}") for number in range(2000))
    client.get("/counter/")  # a book's first look at it writes down that no copy was made yet
    with django_assert_max_num_queries(7):
        page = client.get("/counter/", {"others": "3"}).content.decode()
    assert "Owner 0100" in page
    assert "Owner 0150" not in page
    assert "101 to 150 of 2000" in page
    assert 'href="/counter/?others=4#owners"' in page
    found = client.get("/counter/", {"owner": "Owner 0", "page": "2"}).content.decode()
    assert 'href="/counter/?owner=Owner+0&page=3#owners"' in found


def test_a_new_owner_is_written_down(client: Client) -> None:
    answer = client.post("/counter/owners/new/", {"name": "Ruan Pellowe"})
    assert answer["Location"] == f"/counter/owners/{Owner.objects.get().pk}/"


@pytest.mark.parametrize(
    ("name", "said"), [("", "Fill this in"), ("x" * 121, "120 letters at most"), ("ines vasterholm", "in the book")]
)
def test_a_new_owner_is_refused_beside_the_field(client: Client, job: Job, name: str, said: str) -> None:
    answer = client.post("/counter/owners/new/", {"name": name})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert Owner.objects.count() == 1


def test_an_owner_s_page_adds_up_what_they_owe(client: Client, job: Job) -> None:
    MoneyEntry.objects.create(job=job, kind="charge", text="work", amount_minor=8450)
    MoneyEntry.objects.create(job=job, kind="payment", text="cash", amount_minor=-2000)
    page = client.get(f"/counter/owners/{job.owner_id}/").content.decode()
    assert "Owes $64.50" in page
    assert address_of(job) in page


def address_of(job: Job) -> str:
    return f"/jobs/{job.tag}/"


def test_an_owner_of_many_jobs_asks_the_book_no_more(
    client: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    reels = [Job(reel=f"reel {number}") for number in range(30)]
    jobs = job_book_in(owner=Owner(name="Charter boat Merrow"), parcel=Parcel(), reels=reels)
    for job in jobs:
        MoneyEntry.objects.create(job=job, kind="charge", text="work", amount_minor=100)
    with django_assert_max_num_queries(6):
        client.get(f"/counter/owners/{jobs[0].owner_id}/")


def test_an_owner_s_details_save_as_you_go_and_wrong_ones_are_refused(client: Client, job: Job) -> None:
    there = f"/counter/owners/{job.owner_id}/"
    typed = typed_into(client.get(there), email="no mail", note="rings the bell twice")
    answer = client.post(there, typed, headers=HTMX)
    owner = Owner.objects.get()
    assert "valid email" in answer.content.decode()
    assert (owner.email, owner.note) == ("", "rings the bell twice")
    assert client.get("/counter/owners/999/").status_code == 404


def test_the_shop_is_filled_in_from_nothing(client: Client) -> None:
    typed = typed_into(client.get("/counter/shop/"), name="Harbour Reel Bench", currency_code="eur", hour_minor="75")
    assert not Shop.objects.exists()
    client.post("/counter/shop/", typed)
    shop = Shop.objects.get()
    assert (shop.name, shop.currency_code, shop.hour_minor) == ("Harbour Reel Bench", "EUR", 7500)


def test_an_empty_book_leads_through_the_shop_to_its_first_reel(client: Client) -> None:
    bench = client.get("/").content.decode()
    assert "An empty book" in bench and 'href="/counter/shop/first/"' in bench and "How far the reels are" not in bench
    nameless = client.post("/counter/shop/first/", typed_into(client.get("/counter/shop/first/"), phone="555 0134"))
    assert "Enter the name of the shop: every paper begins with it." in nameless.content.decode()
    typed = typed_into(client.get("/counter/shop/first/"), name="Harbour Reel Bench", address="1 Quay\nInvented")
    kept = client.post("/counter/shop/first/", typed, headers=HTMX).content.decode()
    assert "Saved" in kept and "<strong>Harbour Reel Bench</strong>" in kept and "1 Quay<br>Invented" in kept
    typed = typed_into(client.get("/counter/shop/first/"), tax_percent="7.5", hour_minor="75")
    assert client.post("/counter/shop/first/", typed).headers["location"] == "/book-in/"
    shop = Shop.objects.get()
    assert (shop.name, shop.phone, shop.hour_minor, shop.tax_percent) == (
        "Harbour Reel Bench",
        "555 0134",
        7500,
        Decimal("7.5"),
    )
    bench = client.get("/").content.decode()
    assert "An empty book" not in bench and "Book in a reel" in bench


def test_what_the_scale_can_read_is_kept_in_newtons_and_shown_in_the_shops_unit(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", force_unit="kgf")
    client.post("/counter/shop/", typed_into(client.get("/counter/shop/"), scale_most_N="110 lb"))
    assert Shop.objects.get().scale_most_N == pytest.approx(110 * 4.44822, rel=1e-5)
    page = client.get("/counter/shop/")
    assert typed_into(page)["scale_most_N"] == "49.9"
    client.post("/counter/shop/", typed_into(page, scale_most_N=""))
    assert Shop.objects.get().scale_most_N is None


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("currency_code", "e€", "three capital letters"),
        ("currency_decimals", "9", "0 to 4"),
        ("tax_percent", "120", "100"),
        ("tax_percent", "-1", "0"),
        ("hour_minor", "-60", "can be 0 or more"),
        ("hour_minor", "", "Fill this in"),
        ("paper", "parchment", "not in this list"),
        ("name", "", "Enter the name of the shop"),
        ("scale_most_N", "lots", "It was “lots”"),
        ("scale_most_N", "-5", "more than 0"),
        ("scale_most_N", "99999 kg", "at most"),
    ],
)
def test_the_shop_refuses_beside_the_field_and_saves_the_rest(
    client: Client, field: str, typed: str, said: str
) -> None:
    Shop.objects.create(pk=1, name="Bench")
    fields = typed_into(client.get("/counter/shop/"), **{"phone": "555 0134", field: typed})
    answer = client.post("/counter/shop/", fields, headers=HTMX).content.decode()
    beside = answer.split(f'id="id_{field}_refusal"', 1)[1].split("</div>")[0]
    assert said in beside
    assert Shop.objects.get().phone == "555 0134"
