"""The owner's ceiling stands in the head; what is taken or ordered past it says so, and can be asked or billed."""

import pytest
from django.test import Client

from levelwind.core.errors import LevelwindError
from levelwind.shop.jobs.services.jobs import job_move
from levelwind.shop.models import Fit, Job, JobEvent, Part, Price, Stage, StockEntry
from levelwind.shop.money.fitted import beside_the_price, bill_lines
from levelwind.shop.money.services.bills import bill_make, bill_void
from levelwind.shop.money.services.prices import price_line_add, word_record
from levelwind.shop.parts.services.shelf import part_add
from tests.pages import typed_into
from tests.shop.takedown.pieces_jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
JOB = "/jobs/26-0001/"


@pytest.fixture
def gear() -> Part:
    return part_add(number="G 38", name="main gear", price_minor=3800, count=2)


@pytest.fixture
def job(gear: Part) -> Job:
    job = a_job(a_pattern(), stage=Stage.LOOKED_OVER)
    assert job.pattern is not None
    Fit.objects.create(part=gear, pattern=job.pattern, place="main_gear", basis="declared")
    price = Price.objects.create(job=job)
    for kind, text, place in (("work", "Service", ""), ("part", "Drag set", "friction_1")):
        price_line_add(price=price, kind=kind, text=text, place=place, likely_minor=3000, high_minor=4000)
    word_record(price=price, said="up_to", up_to_minor=9000, how="phone")
    return job


def _take(client: Client, gear: Part, what: str) -> str:
    press = {"place": "main_gear", "part": gear.pk, "count": 1}
    return client.post(f"{JOB}parts/{what}/", press, follow=True).content.decode()


@pytest.mark.parametrize(("what", "how"), [("take", "fitted"), ("order", "on order")])
def test_a_part_past_the_ceiling_says_so_and_offers_to_ask(
    client: Client, job: Job, gear: Part, what: str, how: str
) -> None:
    head = client.get(JOB + "parts/").content.decode()
    assert "agreed up to $90.00" in head and "over the owner’s word" not in head
    page = _take(client, gear, what)
    assert "comes to $98.00: $8.00 over the owner’s word of $90.00" in page
    assert f"main gear G 38, $38.00: {how}, and not on the price" in page
    client.post(JOB + "price/ask-again/")
    newest = Price.objects.order_by("number").last()
    assert newest is not None and newest.number == 2
    assert [line.text for line in newest.lines.all()] == ["Service", "Drag set", "main gear G 38"]
    assert beside_the_price(job) == ()
    client.post(JOB + "price/ask-again/")
    assert newest.lines.count() == 3
    assert "$8.00 over" in client.get(JOB + "price/").content.decode()
    client.post(JOB + "price/word/", {"said": "yes", "how": "phone", "jump": "1"})
    assert "agreed up to $118.00" in client.get(JOB + "price/").content.decode()


def test_what_was_fitted_is_on_the_bill_by_itself_once_and_never_over_the_word(
    client: Client, job: Job, gear: Part
) -> None:
    _take(client, gear, "take")
    job_move(job=job, stage=Stage.PROVED)
    box = client.get(JOB + "box/")
    page = box.content.decode()
    assert "main gear G 38" in page and page.count("added: not on the price") == 1
    assert page.count("agreed: likely $30.00, at most $40.00") == 2
    assert "more than the owner agreed to" in client.post(JOB + "box/do/bill/", follow=True).content.decode()
    unsaid = client.post(JOB + "box/do/agreed/")
    assert (unsaid.status_code, "How: This field cannot be blank" in unsaid.content.decode()) == (422, True)
    client.post(JOB + "box/do/agreed/", {"how": "phone"})
    client.post(JOB + "box/bill/", typed_into(box, bill__2__text="A gear, cut to fit"))
    bill = bill_make(job=Job.objects.get())
    assert [(row.text, row.amount_minor) for row in bill.entries.all()] == [
        ("Service", 3000),
        ("Drag set", 3000),
        ("A gear, cut to fit", 3800),
    ]
    assert beside_the_price(Job.objects.get()) == ()
    with pytest.raises(LevelwindError, match="without a line"):
        bill_make(job=Job.objects.get())
    StockEntry.objects.create(part=gear, change=-1, why="taken", job=job)
    assert [(line.count, line.amount_minor) for line in bill_lines(Job.objects.get())] == [(1, 3800)]
    bill_void(bill=bill, why="the gear was another")
    assert sum(line.count for line in bill_lines(Job.objects.get()) if line.part) == 2


def test_a_part_can_be_given_away_and_is_said_so_and_what_is_put_back_is_off_the_bill(
    client: Client, job: Job, gear: Part
) -> None:
    _take(client, gear, "take")
    job_move(job=job, stage=Stage.PROVED)
    box = client.get(JOB + "box/")
    client.post(JOB + "box/bill/", typed_into(box, bill__2__given="on"))
    assert [line.charged_minor for line in bill_lines(Job.objects.get())] == [3000, 3000, 0]
    client.post(JOB + "box/bill/", typed_into(box, was=""))
    assert [line.charged_minor for line in bill_lines(Job.objects.get())] == [3000, 3000, 3800]
    client.post(f"{JOB}parts/back/", {"place": "main_gear"})
    assert len(bill_lines(Job.objects.get())) == 2
    _take(client, gear, "take")
    box = client.get(JOB + "box/")
    client.post(JOB + "box/bill/", typed_into(box, bill__2__given="on"))
    bill = bill_make(job=Job.objects.get())
    assert [(row.text, row.amount_minor) for row in bill.entries.all()][2] == ("main gear G 38, given away", 0)
    assert JobEvent.objects.filter(text="Given away: main gear G 38, $38.00.").count() == 1
    assert bill_lines(Job.objects.get()) == () == beside_the_price(Job.objects.get())


def test_what_the_price_stands_for_is_not_told_twice(client: Client, job: Job, gear: Part) -> None:
    washers = part_add(number="W 1", name="drag washer", price_minor=500, count=9)
    client.post(f"{JOB}parts/take/", {"place": "friction_1", "part": washers.pk, "count": 1})
    assert beside_the_price(job) == ()
    _take(client, gear, "take")
    assert [one.part for one in beside_the_price(job)] == [gear]
    client.post(f"{JOB}parts/back/", {"place": "main_gear"})
    assert beside_the_price(job) == ()


def test_a_second_of_a_part_on_the_price_is_added_by_itself(client: Client, job: Job, gear: Part) -> None:
    """The first was spoilt as it went in: the price stands for one, and the other is beside it and on the bill."""
    _take(client, gear, "take")
    client.post(JOB + "price/ask-again/")
    client.post(JOB + "price/word/", {"said": "yes", "how": "phone", "jump": "1"})
    job = Job.objects.get()
    assert beside_the_price(job) == () and [line.text for line in bill_lines(job)][2:] == ["main gear G 38"]
    piece = StockEntry.objects.get(why="taken").piece
    StockEntry.objects.create(part=gear, change=-1, why="taken", job=job, piece=piece)
    assert [(one.part, one.count) for one in beside_the_price(job)] == [(gear, 1)]
    assert [line.amount_minor for line in bill_lines(job)] == [3000, 3000, 3800, 3800]
    job_move(job=job, stage=Stage.PROVED)
    with pytest.raises(LevelwindError, match="more than the owner agreed to"):
        bill_make(job=job)
