"""How the shop did: sums of the reels that went home, each opening to them, and the year's paper."""

from datetime import date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from levelwind.core.writing import month_in_words
from levelwind.shop.models import (
    DayOff,
    Job,
    MoneyEntry,
    Owner,
    Parcel,
    Part,
    PartOrder,
    Price,
    PriceLine,
    Sending,
    Shop,
    Stage,
    StockEntry,
)
from levelwind.shop.money.sunday import owners_not_seen, sunday, the_year
from levelwind.shop.papers.selectors.year import year_sheet
from levelwind.shop.people.services import hours_keep, shop_open
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


def noon(day: date) -> datetime:
    return timezone.make_aware(datetime(day.year, day.month, day.day, 12))  # noqa: DTZ001


def gone_home(
    number: int, days_ago: int, *, took: int = 10, minutes: int = 60, money: int = 9000, **facts: object
) -> Job:
    """A reel priced at so many minutes and billed that sum before tax."""
    home = TODAY - timedelta(days=days_ago)
    job = a_job(f"26-{number:04}", stage=Stage.HOME, booked_in_at=noon(home - timedelta(days=took)), **facts)
    for n, each in enumerate((999, minutes), 1):  # the newest price counts
        price = Price.objects.create(job=job, number=n)
        PriceLine.objects.create(price=price, kind="work", text="all of it", minutes=each)
    MoneyEntry.objects.create(job=job, kind="charge", text="all of it", amount_minor=money, at=noon(home))
    MoneyEntry.objects.create(job=job, kind="tax", text="tax", amount_minor=money // 10, at=noon(home))
    MoneyEntry.objects.create(job=job, kind="payment", text="cash", amount_minor=-money // 2, at=noon(home))
    Sending.objects.create(job=job, sent_at=noon(home))
    return job


def test_the_year_adds_up_and_each_figure_opens_to_its_reels(client: Client) -> None:
    """Three reels of a pattern, one unknown, one of long ago: by hand 4 reels, 5 hours, 400.00 less a part of 5.00."""
    said = lambda url: " ".join(client.get(url).content.decode().split())  # noqa: E731
    assert "No reel went home" in said("/counter/sunday/")
    assert "Everybody who ever brought" in said("/counter/sunday/not-seen/")
    owner = Owner.objects.create(name="Ansa Vell")
    parcel, pattern = Parcel.objects.create(owner=owner), a_pattern()
    shared = {"owner": owner, "parcel": parcel}
    part = Part.objects.create(number="SK-7", name="pawl", cost_minor=500)
    first = gone_home(1, 3, pattern=pattern, minutes=120, money=16000, promised_on=TODAY, **shared)
    StockEntry.objects.create(part=part, change=2, why="bought")
    StockEntry.objects.create(part=part, change=-2, why="taken", job=first)
    StockEntry.objects.create(part=part, change=1, why="back", job=first)
    gone_home(2, 3, pattern=pattern, money=8000, promised_on=TODAY - timedelta(days=9), **shared)
    gone_home(3, 3, pattern=pattern, money=8000, took=30, **shared)
    gone_home(4, 3, money=8000, **shared)
    MoneyEntry.objects.create(job=first, kind="credit", text="the scratch", amount_minor=-1000)
    old = gone_home(5, 800, owner=Owner.objects.create(name="Bo Tarrin"), parcel=parcel)
    PartOrder.objects.create(part=part, job=first, ordered_on=TODAY - timedelta(days=9), arrived_on=TODAY)
    back = a_job("26-0009", comeback_of=first, free=True, complaint="it slips again", **shared)
    PriceLine.objects.create(price=Price.objects.create(job=back), kind="work", text="again", minutes=30)
    StockEntry.objects.create(part=part, change=-1, why="taken", job=back)
    hours_keep(hours=[2] * 7)
    DayOff.objects.create(first=TODAY - timedelta(days=20), last=TODAY - timedelta(days=11))

    found = sunday(the_year(TODAY))
    assert (found.all.reels, found.all.minutes, found.all.money, found.all.parts) == (4, 300, 39000, 500)
    assert found.all.an_hour == 7700
    assert found.hours_worked == 2 * ((TODAY - found.time.first).days + 1 - 10)
    assert [(each.key, each.reels) for each in found.kinds] == [("star_drag", 3), ("", 1)]
    assert [(each.key, each.an_hour) for each in found.patterns] == [(str(pattern.pk), round((31000 - 500) / 4))]
    assert (found.kept, found.promised, found.days) == (1, 2, (10, 24))
    assert len(found.months) == 12 and sum(month.money for month in found.months) == found.all.money
    assert [(each.cost, each.days, each.took) for each in found.comebacks] == [(3500, 3, "pawl")]
    assert [(each.name, each.reels, each.days) for each in found.blocking] == [("SK-7 pawl", 1, 9)]
    assert [each.name for each in owners_not_seen(TODAY)] == ["Bo Tarrin"]
    page = said("/counter/sunday/")
    assert "4</strong> reels went home" in page and "1</strong> of 2 promises kept" in page and "<svg" in page
    assert "it slips again" in page and "not in the pattern book" in page.lower()
    for query, tags in (("kept=no", "2"), ("family=", "4"), (f"pattern={pattern.pk}", "123"), ("month=1999-01", "")):
        listed = said(f"/counter/sunday/reels/?{query}")
        assert [n for n in "12345" if f"/jobs/26-000{n}/" in listed] == list(tags), query
    assert old.owner.name in said("/counter/sunday/not-seen/")
    for odd in ("?year=0000", "?year=x", "?year=99999", f"?year={TODAY.year}"):
        assert "How the shop did" in said(f"/counter/sunday/{odd}")


def test_a_year_goes_to_the_accountant(client: Client) -> None:
    shop_open()
    year = TODAY.year - 1
    owner = Owner.objects.create(name="Ansa Vell")
    for day, kind, amount, percent in (
        (date(year, 3, 5), "charge", 10000, 10),
        (date(year, 3, 5), "tax", 1000, 10),
        (date(year, 4, 2), "credit", -2000, 10),
        (date(year, 4, 2), "payment", -6000, None),
        (date(year - 1, 12, 31), "charge", 777, 10),
    ):
        MoneyEntry.objects.create(
            owner=owner, kind=kind, text=kind, amount_minor=amount, at=noon(day), tax_percent=percent
        )
    sheet = year_sheet(year)
    assert [(m.name, m.before_tax, m.tax, m.received) for m in sheet.months if m.before_tax] == [
        ("March", 10000, 1000, 0),
        ("April", -2000, 0, 6000),
    ]
    assert (len(sheet.months), sheet.owed, sheet.last) == (12, 3777, date(year, 12, 31))
    assert [(rate.before_tax, rate.tax) for rate in sheet.rates] == [(8000, 1000)]
    answer = client.get(f"/counter/sunday/year-{year}.pdf")
    assert answer.headers["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    assert client.get("/counter/sunday/year-9999.pdf").status_code == 404


def test_reels_of_a_list_are_said_beside_the_figures_and_years_without_a_reel_are_not_offered(client: Client) -> None:
    said = lambda url: " ".join(client.get(url).content.decode().split())  # noqa: E731
    long_ago = noon(TODAY - timedelta(days=200))
    a_job("26-0901", stage=Stage.HOME, booked_in_at=long_ago, stage_since=long_ago)
    page = said("/counter/sunday/")
    assert (
        "1 reel that went home in this time stands in a list of before this book. What it brought is in no figure"
        in page
    )
    assert "No reel of this book went home from" in page
    assert f"?year={TODAY.year}" in page and f"?year={TODAY.year - 1}" not in page
    gone_home(2, 400)
    page = said("/counter/sunday/")
    assert f"?year={(TODAY - timedelta(days=400)).year}" in page and f"?year={TODAY.year - 3}" not in page
    gone_home(3, 20)
    home = TODAY - timedelta(days=20)
    page = said("/counter/sunday/")
    assert f">{month_in_words(home)}</a>" in page and f">{home:%Y-%m}</a>" not in page
    assert month_in_words(home) in said(f"/counter/sunday/reels/?month={home:%Y-%m}")
    Shop.objects.update_or_create(pk=1, defaults={"days_written": "points"})
    assert f">{home:%m.%Y}</a>" in said("/counter/sunday/")
    assert client.get("/counter/sunday/reels/?month=nonsense").status_code == 200
