"""Two parts that are one: what lies there, what it fits, what is on order and was fitted; and two again."""

import pytest
from django.test import Client

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Part, PartOrder, Price, Stage
from levelwind.shop.money.fitted import beside_the_price, bill_lines, fitted
from levelwind.shop.money.services.bills import bill_make
from levelwind.shop.money.services.prices import price_line_add
from levelwind.shop.parts.selectors.fits import offers
from levelwind.shop.parts.selectors.shelf import part_entries, part_list, part_with_number, stock_of
from levelwind.shop.parts.services.fits import fit_say, part_replaces
from levelwind.shop.parts.services.merging import part_merge, part_merge_undo
from levelwind.shop.parts.services.orders import part_order_add, part_order_arrived
from levelwind.shop.parts.services.shelf import part_add, stock_from_donor, stock_put_back, stock_take
from levelwind.shop.parts.services.suppliers import offer_keep
from levelwind.shop.patterns.selectors.layouts import pattern_places
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db


@pytest.fixture
def two() -> tuple[Part, Part]:
    """One gear under two numbers: 3 new and 1 second-hand lie under the old one, 2 new under the other."""
    old = part_add(number="OLD-7", name="Main gear", price_minor=3800, spot="drawer 2", count=3)
    stock_from_donor(part=old, count=1)
    return old, part_add(number="NEW-7", name="Main gear", count=2)


def test_what_lies_there_fits_and_is_on_order_goes_over_and_comes_back(two: tuple[Part, Part]) -> None:
    old, new = two
    pattern = a_pattern()
    for part in two:
        fit_say(part=part, pattern=pattern, place="main_gear")
    fit_say(part=old, pattern=pattern, place="main_gear", basis="tried")
    part_replaces(part=new, instead_of=old)
    order = part_order_add(part=old, count=2)
    for part, names in ((old, ("Quay Store", "Ferrin Works")), (new, ("quay store",))):
        for name in names:
            offer_keep(part=part, supplier=name, cost_minor=500)
    part_merge(gone=old, into=new)
    part_merge(gone=old, into=new)  # said again
    old, new = (Part.objects.get(pk=part.pk) for part in two)
    assert (stock_of(old).all, stock_of(new).new, stock_of(new).used) == (0, 5, 1)
    assert (new.price_minor, new.spot, part_with_number("old-7")) == (3800, "drawer 2", new)
    assert [part.pk for part in part_list()] == [new.pk]
    assert PartOrder.objects.get().part == new and new.fits.count() == 2 and old.fits.count() == 1
    gear = [place for place in pattern_places(pattern) if place.key == "main_gear"]
    assert [offer.part.pk for offer in offers(pattern, gear)["main_gear"]] == [new.pk]
    ledger = [(entry.part_id, entry.change) for entry in part_entries(new)]
    assert (old.pk, 3) in ledger and (new.pk, 3) in ledger and part_entries(new)[0].after in (1, 5)  # type: ignore[attr-defined]
    assert [[row.supplier for row in part.offers.all()] for part in (new, old)] == [
        ["Ferrin Works", "quay store"],
        ["Quay Store"],
    ]
    for gone, into in ((new, old), (old, part_add(number="X", name="Odd")), (new, new)):
        with pytest.raises(LevelwindError, match=r"one with another|not into itself"):
            part_merge(gone=gone, into=into)

    part_merge_undo(gone=old)
    part_merge_undo(gone=Part.objects.get(pk=old.pk))  # said again
    old, new = (Part.objects.get(pk=part.pk) for part in two)
    assert ((stock_of(old).new, stock_of(old).used), stock_of(new).new) == ((3, 1), 2)
    assert (PartOrder.objects.get().part, old.fits.count(), new.price_minor, new.spot) == (old, 2, 0, "")
    assert (old.offers.count(), new.offers.count()) == (2, 1)
    part_merge(gone=old, into=new)
    order.refresh_from_db()
    part_order_arrived(order=order)
    assert stock_of(new).new == 7
    with pytest.raises(LevelwindError, match="An order that went over to NEW-7 has come"):
        part_merge_undo(gone=Part.objects.get(pk=old.pk))


def test_what_was_fitted_is_billed_once_and_put_back_where_it_lies_now(two: tuple[Part, Part]) -> None:
    """Two taken under the old number and one on the price: one is beside it before and after, under the new number."""
    old, new = two
    job = a_job(stage=Stage.PROVED)
    taken = stock_take(part=old, job=job, count=2)
    price = Price.objects.create(job=job)
    price_line_add(price=price, kind="part", text="Gear", part=old, likely_minor=3800, high_minor=3800)
    assert [one.count for one in beside_the_price(job)] == [1]
    part_merge(gone=old, into=new)
    assert [(one.part, one.count) for one in beside_the_price(job)] == [(new, 1)]
    assert [(one.part, one.count) for one in fitted(job)] == [(new, 2)]
    bill_make(job=job)
    assert bill_lines(Job.objects.get()) == () == beside_the_price(Job.objects.get())
    stock_put_back(taken=taken, count=1)
    assert (stock_of(old).all, stock_of(new).new) == (0, 4)
    with pytest.raises(LevelwindError, match="is the same as NEW-7 Main gear: take that"):
        stock_take(part=old, job=job)
    stock_take(part=new, job=job, count=4)
    with pytest.raises(LevelwindError, match="1 new and 1 second-hand went over to NEW-7, and 0 and 1 lie there now"):
        part_merge_undo(gone=Part.objects.get(pk=old.pk))


def test_merged_and_parted_from_the_parts_page(client: Client, two: tuple[Part, Part]) -> None:
    old, new = two
    there = f"/shelf/part/{old.pk}/"
    assert "no part “nothing”" in client.post(f"{there}same/", {"same_as": "nothing"}, follow=True).content.decode()
    assert client.post(f"{there}same/", {"same_as": "new-7"}).headers["location"] == f"/shelf/part/{new.pk}/"
    assert "The same as" in client.get(there).content.decode()
    assert "Was also in the book as" in client.get(f"/shelf/part/{new.pk}/").content.decode()
    client.post(f"{there}same/", {"two": "1"})
    assert "These are two after all" not in client.get(there).content.decode()
