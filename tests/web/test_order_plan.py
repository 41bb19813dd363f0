"""What to order, suppliers, and goods that come short, as pages."""

import pytest
from django.test import Client

from levelwind.shop.models import Part, PartOrder, Price, PriceLine, Stage, Supplier
from levelwind.shop.parts.services.shelf import stock_counted
from levelwind.shop.people.selectors import shop_get
from tests.jobs import a_job, a_pattern
from tests.shop.parts.test_to_order import a_part

pytestmark = pytest.mark.django_db


def said(answer: object) -> str:
    return " ".join(answer.content.decode().split())  # type: ignore[attr-defined]


def test_the_plan_is_asked_for_ordered_in_one_press_and_what_came_is_written_in(client: Client) -> None:
    assert "says both its supplier" in said(client.get("/shelf/orders/plan/?told"))
    part = a_part()
    PriceLine.objects.create(
        price=Price.objects.create(job=a_job(stage=Stage.AGREED)), kind="part", text="a pawl", count=4, part=part
    )
    page = said(client.get("/shelf/orders/plan/"))
    assert 'hx-get="/shelf/orders/plan/"' in page and "Order today" not in page
    plan = said(client.get("/shelf/orders/plan/", headers={"hx-request": "true"}))
    assert "<html" not in plan and "SK-7 pawl" in plan and "more</strong>" in plan and "Ferrin Works neither" in plan
    press = plan.split('name="press" value="')[1][:32]
    typed = {"press": press, "take": [part.pk, "999"], f"part-{part.pk}": "x"}
    assert "a whole number from 1" in said(client.post("/shelf/orders/plan/order/", typed, follow=True))
    for _ in range(2):  # pressed twice
        typed[f"part-{part.pk}"] = "6"
        assert "1 part ordered" in said(client.post("/shelf/orders/plan/order/", typed, follow=True))
    order = PartOrder.objects.get()
    assert order.count == 6
    came = {"right": "4", "wrong": "1", "rest_comes": "on", "then": "/shelf/orders/"}
    assert "2 of SK-7 still to come" in said(client.post(f"/shelf/orders/{order.pk}/came/", came, follow=True))
    assert "already" in said(client.post(f"/shelf/orders/{order.pk}/came/", came, follow=True))
    assert "whole number" in said(client.post(f"/shelf/orders/{order.pk}/came/", {"right": "two"}, follow=True))
    assert "still missing of it" in said(client.get("/shelf/orders/"))
    sent = {"why": "returned", "count": "1", "note": "bent"}
    assert "1 sent back to the supplier" in said(client.post(f"/shelf/part/{part.pk}/entry/", sent, follow=True))


def test_who_has_a_part_is_said_on_its_page_and_the_plan_is_overruled(client: Client) -> None:
    part, other = a_part(), a_part("SK-8", supplier="Tarrish Works", price_minor=100, last_buy_years=4)
    price = Price.objects.create(job=a_job(stage=Stage.AGREED))
    for each in (part, other):
        PriceLine.objects.create(price=price, kind="part", text="a pawl", count=4, part=each)
    at = f"/shelf/part/{part.pk}/"
    refused = client.post(f"{at}offer/", {"offer-supplier": "ferrin works", "offer-cost_minor": "3"})
    assert refused.status_code == 422 and "own supplier" in said(refused)
    client.post(f"{at}offer/", {"offer-supplier": "Quay Store", "offer-cost_minor": "5", "offer-pack": "2"})
    page = said(client.get(at))
    assert "Quay Store</strong>, $5.00, in packs of 2" in page and "the usual one" in page
    plan = said(client.get("/shelf/orders/plan/", headers={"hx-request": "true"}))
    assert "Letting this parcel wait" in plan and "Quay Store, $5.00, in packs of 2</option>" in plan
    assert "Sold for less than they cost: <a" in plan and "SK-8 pawl</a>: buy" in plan and "it does not wait" in plan
    line = f"{part.pk}-t0"
    typed = {"press": "p", "take": line, f"part-{line}": "4", f"from-{line}": "nobody"}
    assert "does not have it any more" in said(client.post("/shelf/orders/plan/order/", typed, follow=True))
    client.post("/shelf/orders/plan/order/", typed | {f"from-{line}": "quay store"})
    assert PartOrder.objects.get().supplier == "Quay Store"
    offer = part.offers.get()
    client.post(f"{at}offer/{offer.pk}/", {"usual": "1"})
    part.refresh_from_db()
    assert (part.supplier, part.cost_minor, part.pack) == ("Quay Store", 500, 2)
    for _ in range(2):  # pressed twice
        client.post(f"{at}offer/{part.offers.values_list('pk', flat=True).first() or 1}/")
    assert not part.offers.exists()


def test_what_a_reel_uses_up_is_said_on_the_part_and_taken_on_the_reels_page(client: Client) -> None:
    part, job = a_part("GR-1"), a_job(pattern=a_pattern(), stage=Stage.TOGETHER)
    at, reel = f"/shelf/part/{part.pk}/", f"/jobs/{job.tag}/parts/"
    assert "Used up on this reel" not in said(client.get(reel))
    Part.objects.update(measure="g", holds=50.0)
    assert "What a reel uses up" in said(client.get(at))
    client.post(f"{at}use/", {"use-family": "", "use-amount": "1.5"})
    assert client.post(f"{at}use/", {"use-family": "", "use-amount": "-1"}).status_code == 422
    stock_counted(part=part, count=1)
    assert 'value="1.5"' in said(client.get(reel)) and "Not written in yet; 50 g on the shelf" in said(client.get(reel))
    name = f"used-{part.pk}"
    assert "a number of g" in said(client.post(f"{reel}used-up/", {name: "much"}, follow=True))
    assert "50 g of GR-1 pawl are left, not 60" in said(client.post(f"{reel}used-up/", {name: "60"}, follow=True))
    assert "Written in; 48 g on the shelf" in said(client.post(f"{reel}used-up/", {name: "2,0"}, follow=True))
    assert "nothing is changed" in said(client.post(f"{reel}used-up/", {name: "2"}, follow=True)), "pressed twice"
    client.post(f"/shelf/count/{part.pk}/", {"new": "1", "left": "30"})
    assert "30 g on the shelf" in said(client.get(reel)), "counted"
    client.post(f"{at}use/", {"use-family": ""})
    assert not part.reel_uses.exists()


def test_suppliers_and_what_waiting_costs_are_said_and_put_right(client: Client) -> None:
    assert "No part says who sends it" in said(client.get("/shelf/suppliers/"))
    a_part()
    assert "mostly 7: a judgement, until you enter it below" in said(client.get("/shelf/suppliers/"))
    given = {"number": "0", "name": "Ferrin Works", "s0-postage_minor": "4.50", "s0-days_low": "2"}
    wrong = client.post("/shelf/suppliers/keep/", given)
    assert wrong.status_code == 422 and "low, likely and high" in said(wrong) and 'value="4.50"' in said(wrong)
    client.post("/shelf/suppliers/keep/", given | {"s0-days_likely": "4", "s0-days_high": "9"})
    assert (Supplier.objects.get().postage_minor, Supplier.objects.get().days_high) == (450, 9)
    assert "as entered below" in said(client.get("/shelf/suppliers/"))
    page = said(client.get("/shelf/orders/plan/"))
    assert "days between orders" in page.lower()
    costs = {"order_days": "14", "was-order_days": "7", "waiting_day_minor": "2", "was-waiting_day_minor": "0.00"}
    client.post("/shelf/orders/plan/costs/", costs | {"holding_percent": "25", "was-holding_percent": "25"})
    assert (shop_get().order_days, shop_get().waiting_day_minor) == (14, 200)
    refused = client.post("/shelf/orders/plan/costs/", {"order_days": "0", "was-order_days": "14"})
    assert refused.status_code == 422
