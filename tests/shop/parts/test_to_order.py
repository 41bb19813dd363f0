"""What to order: what the shelf knows of use, jobs in hand and suppliers; and goods that came short or wrong."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Part, PartOrder, Price, PriceLine, Sending, Stage, StockEntry, Turn, UsedUp
from levelwind.shop.money.foretold import foretold
from levelwind.shop.parts.selectors.consumables import consumed
from levelwind.shop.parts.selectors.order_plan import order_plan
from levelwind.shop.parts.selectors.shelf import stock_of
from levelwind.shop.parts.selectors.suppliers import days_of, offered, record_of, supplier_names, supplier_rows
from levelwind.shop.parts.selectors.to_order import to_order
from levelwind.shop.parts.services.orders import Asked, orders_make, part_order_add, part_order_came
from levelwind.shop.parts.services.shelf import job_used_up, part_counted, reel_use_say, stock_counted, stock_returned
from levelwind.shop.parts.services.suppliers import offer_keep, offer_made_usual, offer_take_back, supplier_keep
from levelwind.shop.people.services import hours_keep
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


def a_part(number: str = "SK-7", **facts: object) -> Part:
    return Part.objects.create(
        number=number, name="pawl", **{"supplier": "Ferrin Works", "cost_minor": 400, "price_minor": 900} | facts
    )


def entry(part: Part, change: int, why: str, months: int, **facts: object) -> None:
    """In the middle of the month so many months ago."""
    year, month = divmod(TODAY.year * 12 + TODAY.month - 1 - months, 12)
    at = datetime(year, month + 1, 15, 12, tzinfo=UTC)
    StockEntry.objects.create(part=part, change=change, why=why, at=at, **facts)


def priced(job: Job, part: Part, count: int, number: int = 1) -> None:
    price = Price.objects.create(job=job, number=number)
    PriceLine.objects.create(price=price, kind="part", text="a part", count=count, part=part)


def test_use_by_month_and_what_jobs_in_hand_will_take_are_read_from_the_book() -> None:
    """Bought 10 four months ago; 3 and 2 used since, one put back. One agreed job wants 3 and took 1; another may 2."""
    part, one = a_part(), a_job("26-0001", stage=Stage.AGREED)
    other = a_job("26-0002", stage=Stage.PRICE_SENT, owner=one.owner, parcel=one.parcel)
    gone = a_job("26-0003", stage=Stage.HOME, owner=one.owner, parcel=one.parcel)
    entry(part, 10, "bought", 4)
    entry(part, -3, "taken", 3, job=gone)
    entry(part, -3, "taken", 1, job=gone)
    entry(part, 1, "back", 1, job=gone)
    entry(part, -1, "taken", 0, job=one)
    priced(one, part, 9)
    priced(one, part, 3, number=2)
    priced(other, part, 2)
    a_part("X-1", supplier="", keep_at_least=2)
    a_part("X-2", price_minor=300, keep_at_least=1)
    found = to_order(TODAY)
    assert found.shelf is not None
    told = {found.parts[each.key].number: each for each in found.shelf.parts}
    assert told["SK-7"].used == (0, 3, 0, 2)
    assert (told["SK-7"].stock, told["SK-7"].needed, told["SK-7"].on_order) == (4, 2, 0)
    assert told["SK-7"].maybe == pytest.approx((0.8, 0.8))
    assert [each.number for each in found.unsaid] == ["X-1"]
    assert [each.number for each in found.under_cost] == ["X-2"]
    assert found.strangers == ("Ferrin Works",)


def test_what_a_job_is_short_of_is_ordered_today_in_one_press_and_not_twice() -> None:
    part, job = a_part(pack=5), a_job(stage=Stage.AGREED)
    assert order_plan(TODAY) is None, "never here, and nobody needs it"
    priced(job, part, 2)
    supplier_keep(name="ferrin works", postage_minor=500, minimum_minor=1000, days=(2, 4, 9))
    plan = order_plan(TODAY)
    assert plan is not None and plan.proven and plan.left.strangers == ()
    (parcel,) = plan.today
    (line,) = parcel.lines
    assert (parcel.supplier, parcel.postage_minor, parcel.goods_minor) == ("Ferrin Works", 500, 400 * line.units)
    assert line.part == part and line.units in (5, 10), "in packs of five"
    assert plan.more_if_waits_minor is not None and plan.more_if_waits_minor > 0
    for _ in range(2):  # pressed twice
        made = orders_make(asked=[Asked(part, 5, part.supplier)], press="p1")
    assert [(each.count, (each.expected_on - TODAY).days) for each in made if each.expected_on] == [(5, 4)]
    assert PartOrder.objects.count() == 1
    assert not order_plan(TODAY).today  # type: ignore[union-attr]
    with pytest.raises(LevelwindError, match="Nothing was chosen"):
        orders_make(asked=[], press="p2")


def test_of_two_suppliers_the_plan_takes_the_cheaper_way_and_the_cost_is_that_ones() -> None:
    """Two wanted: 4.00 and 9.00 of postage, or 5.00 and no postage; of the second from the first's twenty on."""
    part, job = a_part(), a_job(stage=Stage.AGREED)
    priced(job, part, 2)
    for name, postage in (("Ferrin Works", 900), ("Quay Store", 0)):
        supplier_keep(name=name, postage_minor=postage, days=(2, 4, 9))
    for odd in ({"supplier": " "}, {"supplier": "ferrin works"}, {"cost_minor": 0}):
        with pytest.raises(LevelwindError):
            offer_keep(**{"part": part, "supplier": "Quay Store", "cost_minor": 500} | odd)  # type: ignore[arg-type]
    offer_keep(part=part, supplier="Quay Store", cost_minor=700)
    offer = offer_keep(part=part, supplier="QUAY STORE", cost_minor=500)
    assert part.offers.count() == 1 and "Quay Store" in supplier_names()
    plan = order_plan(TODAY)
    assert plan is not None
    (parcel,) = plan.today
    assert (parcel.supplier, parcel.lines[0].cost_minor) == ("Quay Store", 500 * parcel.lines[0].units)
    assert plan.more_if_waits_minor is not None and parcel.moved_minor is not None
    assert 0 < plan.more_if_waits_minor <= parcel.moved_minor, (
        "the least that waiting costs, and what this parcel's does"
    )
    priced(job, part, 20, number=2)
    plan = order_plan(TODAY)
    assert plan is not None and [parcel.supplier for parcel in plan.today] == ["Ferrin Works"]
    made = orders_make(asked=[Asked(part, 1, "Ferrin Works"), Asked(part, 1, "Quay Store")], press="two")
    for order in made:
        part_order_came(order=order, right=1)
    assert sorted(part.entries.values_list("unit_cost_minor", flat=True)) == [400, 500]
    offer_made_usual(offer=offer)
    part.refresh_from_db()
    assert (part.supplier, part.cost_minor, part.offers.get().supplier) == ("Quay Store", 500, "Ferrin Works")
    offer_take_back(offer=part.offers.get())
    assert [each.supplier for each in offered(part)] == ["Quay Store"]


def test_a_last_buy_is_bought_and_says_how_long_it_lasts() -> None:
    part = a_part(last_buy_years=5)
    for months in range(1, 13):
        entry(part, *((-1, "taken") if months % 3 == 0 else (1, "bought")), months)
    plan = order_plan(TODAY)
    assert plan is not None
    (last,) = plan.last_buys
    assert last.units > 0 and last.years > 2
    assert plan.more_if_waits_minor is None
    with pytest.raises(LevelwindError, match="minimum"):
        supplier_keep(name="Ferrin Works", minimum_minor=10**9)
        order_plan(TODAY)


def test_goods_come_short_wrong_and_go_back_and_the_supplier_is_held_to_it() -> None:
    hours_keep(hours=[6] * 7)
    part, job = a_part(), a_job(stage=Stage.AGREED)
    order = part_order_add(part=part, count=5, job=job, expected_on=TODAY + timedelta(days=3))
    for right, wrong in ((6, 0), (0, 0), (-1, 1)):
        with pytest.raises(LevelwindError, match="how many came"):
            part_order_came(order=order, right=right, wrong=wrong)
    assert part_order_came(order=order, right=0, wrong=2) == order
    assert Part.objects.get(pk=part.pk).entries.count() == 0
    rest = part_order_came(order=order, right=3, wrong=1)
    job.refresh_from_db()
    assert rest is not None and (rest.count, rest.expected_on, job.turn) == (2, None, Turn.PART)
    with pytest.raises(LevelwindError, match="already"):
        part_order_came(order=order, right=3)
    assert part_order_came(order=rest, right=1, rest_comes=False) is None
    job.refresh_from_db()
    assert job.turn == Turn.MINE
    stock_returned(part=part, count=1, note="bent")
    assert sum(each.change for each in part.entries.all()) == 3
    record = record_of("ferrin works")
    assert (record.orders, record.came, record.short, record.wrong) == (1, 2, 1, 3)


def test_a_promise_believes_a_supplier_as_far_as_its_own_orders_were_true() -> None:
    """Eight orders named for five days that took fifteen: the ninth, named for five, is not believed."""
    hours_keep(hours=[6] * 7)
    part, job = a_part(), a_job(stage=Stage.AGREED)
    PartOrder.objects.create(part=part, job=job, supplier="Ferrin Works", expected_on=TODAY + timedelta(days=5))
    Job.objects.update(turn=Turn.PART)
    before = foretold(Job.objects.get())
    begun = TODAY - timedelta(days=20)
    for _ in range(8):
        PartOrder.objects.create(
            part=part,
            supplier="Ferrin Works",
            ordered_on=begun,
            expected_on=begun + timedelta(days=5),
            arrived_on=begun + timedelta(days=15),
        )
    after = foretold(Job.objects.get())
    assert before is not None and after is not None
    assert (after.likely - before.likely).days >= 8
    PartOrder.objects.create(
        part=part, job=job, supplier="Ferrin Works", ordered_on=TODAY, expected_on=TODAY + timedelta(days=3000)
    )
    assert foretold(Job.objects.get()) is not None, "a day far off, stretched by its record, is no refusal"
    days = days_of("FERRIN WORKS", supplier_rows().first())
    assert (days.rests, days.cases, days.spread.likely) == ("record", 8, 15)
    assert (record_of("Ferrin Works").late, record_of("Ferrin Works").late_days) == (8, 10)


def test_what_every_reel_uses_up_is_counted_from_the_reels_that_went_home() -> None:
    """A tin lasts four reels: of six that went home last month one tin and a half, counted whole."""
    tin, job = a_part("GR-1", a_reel=0.25), a_job(stage=Stage.HOME)
    entry(tin, 5, "bought", 2)
    entry(tin, -3, "taken", 1, job=job)
    last = TODAY.replace(day=1) - timedelta(days=1)
    for number in range(2, 8):
        gone = a_job(f"26-{number:04}", stage=Stage.HOME, owner=job.owner, parcel=job.parcel)
        Sending.objects.create(job=gone, sent_at=datetime(last.year, last.month, last.day, 12, tzinfo=UTC))
    found = to_order(TODAY)
    assert found.shelf is not None
    assert [each.used for each in found.shelf.parts] == [(0, 1)]


def test_a_consumable_is_taken_in_its_measure_and_a_tin_leaves_the_shelf_once_it_is_empty() -> None:
    """Tins of 50 g, two there. A reel uses 8 g, of this kind 20: 20, then 90 in all, then 15 after all."""
    tin, job = a_part("GR-1", measure="g", holds=50.0), a_job(pattern=a_pattern(), stage=Stage.TOGETHER)
    assert job.pattern is not None
    stock_counted(part=tin, count=2)
    reel_use_say(part=tin, amount=8.0)
    reel_use_say(part=tin, amount=20.0, family=job.pattern.family)
    assert [(row.usual, row.written, row.left) for row in consumed(job)] == [(20.0, None, 100.0)]
    for _ in range(2):  # pressed twice
        written = job_used_up(job=job, totals={tin: 20.0})
    assert (written, stock_of(tin).all, UsedUp.objects.count()) == (0, 2, 1)
    job_used_up(job=job, totals={tin: 90.0})
    assert (stock_of(tin).all, consumed(job)[0].written, consumed(job)[0].left) == (1, 90.0, pytest.approx(10.0))
    for amount, words in (
        (101.0, "By the book 10 g of GR-1 pawl are left"),
        (-1.0, "used of GR-1"),
        (float("nan"), "used"),
    ):
        with pytest.raises(LevelwindError, match=words):
            job_used_up(job=job, totals={tin: amount})
    job_used_up(job=job, totals={tin: 15.0})
    tin.refresh_from_db()
    assert (stock_of(tin).all, tin.cut_off) == (2, pytest.approx(0.3)), "the way back"
    assert part_counted(part=tin, new=2, used=0, left=10.0) and consumed(job)[0].left == pytest.approx(60.0)
    with pytest.raises(LevelwindError, match="left of the one begun"):
        part_counted(part=tin, new=2, used=0, left=51.0)
    last = (TODAY.replace(day=1) - timedelta(days=1)).replace(day=15)
    at = datetime(last.year, last.month, last.day, 12, tzinfo=UTC)
    UsedUp.objects.create(part=tin, job=job, amount=120.0, at=at)
    entry(tin, 1, "bought", 3)
    found = to_order(TODAY)
    assert found.shelf is not None and found.shelf.parts[0].used == (0, 0, 2), "120 g last month, two tins of it"
    reel_use_say(part=tin, amount=None)
    assert tin.reel_uses.count() == 1
    with pytest.raises(LevelwindError, match="says no measure"):
        job_used_up(job=job, totals={a_part("X-9"): 1.0})


def test_what_reels_use_is_counted_by_their_kind_until_it_is_written() -> None:
    """Six reels of one kind at 25 g each last month, in tins of 100 g: one tin and a half."""
    tin, job = a_part("GR-1", measure="g", holds=100.0), a_job(pattern=a_pattern(), stage=Stage.HOME)
    assert job.pattern is not None
    reel_use_say(part=tin, amount=25.0, family=job.pattern.family)
    entry(tin, 5, "bought", 2)
    last = TODAY.replace(day=1) - timedelta(days=1)
    for number in range(2, 8):
        gone = a_job(f"26-{number:04}", pattern=job.pattern, stage=Stage.HOME, owner=job.owner, parcel=job.parcel)
        Sending.objects.create(job=gone, sent_at=datetime(last.year, last.month, last.day, 12, tzinfo=UTC))
    found = to_order(TODAY)
    assert found.shelf is not None and found.shelf.parts[0].used == (0, 1)


def test_odd_suppliers_are_refused() -> None:
    for days in ((3, 2, 9), (1, None, 4), (0, 0, 0)):
        with pytest.raises(LevelwindError, match="days of the supplier"):
            supplier_keep(name="Ferrin Works", days=days)
    with pytest.raises(LevelwindError, match="needs a name"):
        supplier_keep(name="  ")
