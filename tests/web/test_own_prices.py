"""What an hour costs and the shop's own prices: kept, put right, offered on a reel's price beside the made-up one."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.shop.models import FlatPrice, Job, Price, PriceLine, Sending, Shop, Stage, YearlyCost
from levelwind.shop.money.hour import hour_now
from levelwind.shop.people.selectors import shop_get
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
URL, PRICE = "/counter/prices/", "/jobs/26-0001/price/"
HTMX = {"hx-request": "true"}


def said(client: Client, url: str) -> str:
    return client.get(url).content.decode()


def test_an_hour_costs_what_the_year_and_the_hours_say(client: Client) -> None:
    """By hand: 100 days of 5 h; of 365.00 and 730.00 a year 300.00 are theirs; (300 + 20 × 500 h) / 8 h = 1287.50."""
    Shop.objects.create(pk=1, name="Bench", hours=[5.0] * 7)
    assert "Enter what an hour of your own is to bring you" in said(client, URL)
    client.post(URL + "hour/", {"own_hour_minor": "20", "desk_hours": ""})
    assert "Too short a time to tell: 0 reels went home in 1 days" in said(client, URL)
    for text, sum_ in (("Rent", "365"), ("Post", "730"), ("Post", "730")):
        client.post(URL + "costs/", {"cost-text": text, "cost-amount_minor": sum_})
    assert client.post(URL + "costs/", {"cost-text": "", "cost-amount_minor": "x"}).status_code == 422
    now = timezone.now()
    for n in range(8):
        job = a_job(f"26-01{n:02}", booked_in_at=now - timedelta(days=99))
        Sending.objects.create(job=job, sent_at=now)
        PriceLine.objects.create(price=Price.objects.create(job=job), text="Service", minutes=60)
    hour = hour_now(timezone.localdate())
    assert (hour.days, hour.costs_minor, hour.bench, hour.billed) == (100, 30_000, Decimal(500), Decimal(8))
    assert hour.cost_minor == 128_750
    assert "costs <strong>$1,287.50</strong>" in said(client, URL)
    client.post(URL + "hour/", {"own_hour_minor": "20", "desk_hours": "7"})
    assert hour_now(timezone.localdate()).cost_minor == 153_750, "another hundred hours beside the bench"
    client.post(URL + "hour/go-by/")
    assert "Your hour is below its cost by $1,477.50" in said(client, URL)
    client.post(URL + "hour/go-by/", {"nothing": "1"})
    assert shop_get().hour_cost_minor is None and "below its cost" not in said(client, URL)
    client.post(URL + "costs/", {"remove": YearlyCost.objects.get(text="Rent").pk})
    assert list(YearlyCost.objects.values_list("text", flat=True)) == ["Post"]
    assert client.post(URL + "hour/", {"own_hour_minor": "-1"}).status_code == 422


def test_an_own_price_is_asked_in_place_of_the_made_up_work(client: Client) -> None:
    Shop.objects.create(pk=1, name="Bench", hour_cost_minor=9000)
    job = a_job(stage=Stage.LOOKED_OVER, pattern=a_pattern())
    assert "Your own prices" not in said(client, PRICE)
    new = {"new-text": "Full service", "new-family": "star_drag", "new-amount_minor": "85", "new-minutes": ""}
    client.post(URL + "add/", new)
    client.post(URL + "add/", new)
    client.post(URL + "add/", new | {"new-text": "Fly reel", "new-family": "fly"})
    flat, other = FlatPrice.objects.order_by("-text")
    assert "can be one of" not in said(client, URL)
    assert client.post(URL + "add/", new | {"new-family": "moon"}).status_code == 422
    client.post(PRICE + "draft/")
    made = {line.text: line for line in Price.objects.get().lines.all()}
    work = [line for line in made.values() if line.kind == "work"]
    page = said(client, PRICE)
    assert "Your own prices" in page and "Fly reel" not in page and "Is enough in" in page
    for _ in range(2):
        client.post(PRICE + "own/", {"flat": flat.pk})
    assert Price.objects.count() == 2, "pressed twice, it is asked once"
    lines = list(Price.objects.get(number=2).lines.all())
    assert [(line.text, line.likely_minor, line.flat) for line in lines if line.kind == "work"] == [
        ("Full service", 8500, flat)
    ]
    assert {line.text for line in lines if line.kind == "part"} == {
        text for text, line in made.items() if line.kind == "part"
    }
    likely = sum(line.likely_minor for line in work)
    assert f"Made up, the work would be ${likely / 100:.2f}" in lines[0].because
    minutes = lines[0].minutes or 0
    assert minutes == sum(line.minutes or 0 for line in work if line.likely_minor)
    page = said(client, PRICE)
    assert "It is on this price." in page and f"{minutes} minutes cost the shop ${minutes * 1.5:.2f}" in page
    typed = {f"line{lines[0].pk}-{end}_minor": "300" for end in ("low", "likely", "high")}
    answer = client.post(f"{PRICE}line/{lines[0].pk}/", typed_into(client.get(PRICE), **typed), headers=HTMX)
    assert "Below its cost" not in answer.content.decode()
    assert "not on your list any more" in client.post(PRICE + "own/", {"flat": "99"}, follow=True).content.decode()
    client.post(PRICE + "own/", {"line": other.pk})
    client.post(PRICE + "own/", {"line": other.pk})
    assert Price.objects.get(number=2).lines.filter(flat=other).count() == 1, "one more line, once"
    client.post(PRICE + "draft/")
    assert not Price.objects.get(number=3).lines.filter(flat__isnull=False).exists(), "made up instead"
    typed = typed_into(client.get(URL), **{f"flat{flat.pk}-amount_minor": "90"})
    client.post(f"{URL}{flat.pk}/", typed, headers=HTMX)
    flat.refresh_from_db()
    assert flat.amount_minor == 9000
    client.post(f"{URL}{flat.pk}/", {"remove": "1"})
    assert client.post(f"{URL}{flat.pk}/", {"remove": "1"}).status_code == 404
    assert PriceLine.objects.get(pk=lines[0].pk).flat is None, "its line stands as it was asked"
    assert other.text == "Fly reel" and Job.objects.get() == job
