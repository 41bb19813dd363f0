"""Parts of a job: take, put back, order, go without, each by a button that works without JavaScript."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from levelwind.core.errors import LevelwindError
from levelwind.shop.models import Job, Part, Pattern, Turn
from levelwind.shop.money.services.prices import price_send
from levelwind.shop.parts.selectors.shelf import Stock, stock_of
from levelwind.shop.parts.services.bones import bone_add
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.shelf import part_add, stock_cut, stock_from_donor
from levelwind.shop.patterns.selectors.layouts import job_places
from levelwind.shop.takedown.services.pieces import job_pattern_choose, piece_judge, piece_measure
from tests.jobs import a_job, a_pattern

pytestmark = pytest.mark.django_db
URL = "/jobs/26-0001/parts/"


@pytest.fixture
def pattern() -> Pattern:
    return a_pattern()


@pytest.fixture
def job(pattern: Pattern) -> Job:
    job = a_job()
    job_pattern_choose(job=job, pattern=pattern)
    piece_judge(piece=job.pieces.get(place="dog"), state="worn")
    return job


@pytest.fixture
def dog(pattern: Pattern) -> Part:
    part = part_add(number="D-1", name="dog of steel", spot="drawer 7", price_minor=900, count=1)
    fit_say(part=part, pattern=pattern, place="dog", said_by="the maker's list")
    return part


def _page(client: Client) -> str:
    answer = client.get(URL)
    assert answer.status_code == 200
    return answer.content.decode()


def _act(client: Client, what: str, taken: Part | None = None, **typed: str) -> str:
    fields = {"place": "dog", "count": "1", "used": "0", "part": str(taken.pk) if taken else "", **typed}
    answer = client.post(f"{URL}{what}/", fields, follow=True)
    assert answer.status_code in (200, 422)
    return answer.content.decode()


def test_a_reel_of_no_pattern_is_named_first(client: Client) -> None:
    a_job()
    assert "Choose its pattern first" in _page(client)


def test_what_is_worn_comes_first_with_what_fits(client: Client, job: Job, dog: Part) -> None:
    shown = _page(client)
    assert shown.index('id="dog"') < shown.index('id="friction_1"')
    assert "declared, says the maker&#x27;s list, 90\N{NO-BREAK SPACE}% sure" in shown
    assert "$9.00 each. 1 new, 0 second-hand, in drawer 7" in shown
    assert "Renewed whenever the reel is open" in shown


def test_a_part_is_taken_and_put_back(client: Client, job: Job, dog: Part) -> None:
    assert "D-1 dog of steel" in _act(client, "take", dog)
    new = job.pieces.get(place="dog", replaces__isnull=False)
    assert (new.part, new.where) == (dog, "cell")
    assert stock_of(dog) == Stock(new=0, used=0)
    assert dog.entries.get(why="taken").piece == new.replaces
    _act(client, "back")
    assert stock_of(dog).new == 1 and not job.pieces.filter(replaces__isnull=False).exists()


def test_the_second_after_the_last_one_is_refused_beside_the_place(client: Client, job: Job, dog: Part) -> None:
    _act(client, "take", dog)
    other = a_job("26-0002", owner=job.owner)
    job_pattern_choose(job=other, pattern=dog.fits.get().pattern)
    answer = client.post("/jobs/26-0002/parts/take/", {"place": "dog", "part": dog.pk, "count": "1", "used": "0"})
    assert answer.status_code == 422
    assert not other.pieces.filter(replaces__isnull=False).exists() and stock_of(dog).new == 0


def test_the_refusal_stands_beside_the_place(client: Client, job: Job, dog: Part) -> None:
    shown = _act(client, "take", dog, count="5")
    card = shown[shown.index('id="dog"') : shown.index('id="friction_3"')]
    assert "Only 1 new of D-1 dog of steel on the shelf, and 5 wanted" in card


def test_second_hand_is_taken_from_second_hand(client: Client, job: Job, dog: Part) -> None:
    stock_from_donor(part=dog, count=1)
    _act(client, "take", dog, used="1")
    assert stock_of(dog) == Stock(new=1, used=0)


def test_an_ordered_part_is_waited_for_and_taken_when_it_comes(client: Client, job: Job, dog: Part) -> None:
    _act(client, "take", dog, place="dog")
    _act(client, "back")
    assert "On order" in _act(client, "order", dog)
    job.refresh_from_db()
    assert job.turn == Turn.PART
    _act(client, "arrived", order=str(job.part_orders.get().pk))
    job.refresh_from_db()
    assert job.turn == Turn.MINE and stock_of(dog).new == 2
    _act(client, "take", dog)
    assert job.pieces.get(place="dog", replaces__isnull=False).where == "cell"


def test_an_order_called_off_leaves_the_old_piece(client: Client, job: Job, dog: Part) -> None:
    _act(client, "order", dog)
    _act(client, "off", order=str(job.part_orders.get().pk))
    job.refresh_from_db()
    assert job.turn == Turn.MINE
    assert not job.part_orders.exists() and not job.pieces.filter(replaces__isnull=False).exists()


def test_a_missing_piece_may_be_left_out_with_a_reason(client: Client, job: Job) -> None:
    piece_judge(piece=job.pieces.get(place="dog"), state="missing")
    assert "Enter why" in _act(client, "without", note=" ")
    assert "Goes home without one: not made any more" in _act(client, "without", note="not made any more")


def test_what_was_tried_is_remembered_as_a_fit(client: Client, job: Job, dog: Part) -> None:
    _act(client, "take", dog)
    _act(client, "fits", dog)
    assert dog.fits.filter(basis="tried", place="dog", note="in 26-0001").exists()


def test_donors_of_the_same_pattern_are_named(client: Client, job: Job, pattern: Pattern) -> None:
    bone_add(reel="drowned Skerry", pattern=pattern)
    bone_add(reel="something else")
    shown = _page(client)
    assert "drowned Skerry" in shown and "something else" not in shown


@pytest.mark.parametrize(
    ("what", "typed", "words"),
    [
        ("take", {"part": "999"}, "not on the shelf any more"),
        ("take", {"part": "x"}, "not on the shelf any more"),
        ("take", {"count": "-1"}, "It was -1."),
        ("take", {"count": "1" * 40}, "can be a whole number"),
        ("explode", {}, "What to do can be"),
        ("arrived", {"order": "x"}, "not there any more"),
        ("off", {"order": "999"}, "not there any more"),
        ("back", {}, "No new dog lies in the tray"),
    ],
)
def test_hostile_input_is_refused_in_words(
    client: Client, job: Job, dog: Part, what: str, typed: dict[str, str], words: str
) -> None:
    assert words in _act(client, what, **{"part": str(dog.pk), **typed})
    assert stock_of(dog).new == 1


def test_a_strange_place_is_refused(client: Client, job: Job, dog: Part) -> None:
    answer = client.post(f"{URL}take/", {"place": "propeller", "part": dog.pk, "count": "1"})
    assert answer.status_code == 422 and stock_of(dog).new == 1
    assert "no such place" in answer.content.decode()


def test_many_pieces_ask_as_often_as_few(client: Client, job: Job, dog: Part, pattern: Pattern) -> None:
    with CaptureQueriesContext(connection) as few:
        _page(client)
    for number, place in enumerate(("star", "pinion", "yoke", "jack", "spool")):
        piece_judge(piece=job.pieces.get(place=place), state="broken")
        fit_say(part=part_add(number=f"B-{number}", name="part", count=1), pattern=pattern, place=place)
    with CaptureQueriesContext(connection) as many:
        _page(client)
    assert len(many) == len(few)


def test_all_that_is_renewed_whenever_open_is_taken_at_once(client: Client, job: Job, pattern: Pattern) -> None:
    washer = part_add(number="T-17", name="drag washer", count=2)
    for place in ("friction_1", "friction_2", "friction_3"):
        fit_say(part=washer, pattern=pattern, place=place)
    doubted = part_add(number="A-1", name="drag washer", count=9)
    fit_say(part=doubted, pattern=pattern, place="friction_3", sure=1)
    fit_say(part=doubted, pattern=pattern, place="friction_3", basis="tried", serves=False)
    fit_say(part=part_add(number="A-2", name="washer", count=9), pattern=pattern, place="friction_3", sure=0.4)
    assert "Take all routine parts" in _page(client)
    shown = client.post(f"{URL}set/", follow=True).content.decode()
    assert "2 places renewed from the shelf" in shown
    assert stock_of(washer).new == 0 and job.pieces.filter(part=washer, where="cell").count() == 2
    assert "nothing new for what is renewed" in client.post(f"{URL}set/", follow=True).content.decode()


def test_a_piece_measured_is_offered_what_has_its_sizes(client: Client, job: Job) -> None:
    part = part_add(number="K-9", name="dog of unknown make", kind="dog", count=1)
    Part.objects.filter(pk=part.pk).update(sizes_mm={"inner diameter": 5.0, "thickness": 3.0})
    piece_measure(piece=job.pieces.get(place="dog"), sizes_mm={"inner diameter": 5.05, "thickness": 2.95})
    assert "same sizes, says the caliper, 60\N{NO-BREAK SPACE}% sure" in _page(client)


def test_an_order_called_off_on_the_shelf_leaves_no_piece_on_order(client: Client, job: Job, dog: Part) -> None:
    _act(client, "order", dog)
    client.post(f"/shelf/orders/{job.part_orders.get().pk}/called-off/")
    assert not job.pieces.filter(where="order").exists()


def test_another_part_is_ordered_taken_or_stripped_off_a_donor_on_the_spot_and_back_at_its_place(
    client: Client, job: Job, pattern: Pattern
) -> None:
    bone = bone_add(reel="dead Skerry", pattern=pattern, spot="box 2")
    typed = {"place": "dog", "count": "1", "number": "SKERRY-50-DOG", "name": "dog"}
    shown = _page(client)
    assert 'value="SKERRY-50-DOG"' in shown
    assert "Off the dead Skerry, box 2" in shown
    assert client.post(f"{URL}donor/", {**typed, "bone": str(bone.pk)})["Location"] == f"{URL}#dog"
    part = Part.objects.get(number="SKERRY-50-DOG")
    assert stock_of(part) == Stock(new=0, used=0)
    new = job.pieces.get(place="dog", replaces__isnull=False)
    assert (new.part, new.where) == (part, "cell")
    assert client.post(f"{URL}donor/", {**typed, "bone": str(bone.pk)}).status_code == 422
    assert job.stock_entries.count() == 1
    _act(client, "back")
    assert stock_of(part) == Stock(new=0, used=1)
    _act(client, "in-hand", number="skerry-50-dog", name="dog", price="9")
    assert (stock_of(part).new, Part.objects.get(pk=part.pk).price_minor) == (0, 0)
    _act(client, "back")
    assert (stock_of(part).new, part.fits.count()) == (1, 1)
    _act(client, "order-another", number="DOG-9", name="dog of bronze", price="12.50")
    order = job.part_orders.get()
    assert (order.part.number, order.part.price_minor, Job.objects.get().turn) == ("DOG-9", 1250, Turn.PART)
    assert "can be a number such as" in _act(client, "in-hand", number="X", name="x", price="dear")
    assert "not in the bone box any more" in _act(client, "donor", number="X", name="x", bone="999")


def test_a_row_of_what_would_do_goes_onto_the_price_or_the_job_in_one_press(
    client: Client, job: Job, pattern: Pattern, dog: Part
) -> None:
    bone = bone_add(reel="dead Skerry", pattern=pattern)
    assert "dog of steel D-1 stands on price 1." in _act(client, "price", standin=f"part {dog.pk}")
    _act(client, "price", standin=f"part {dog.pk}")
    price = job.prices.get()
    (line,) = price.lines.filter(place="dog")
    assert (line.part, line.count, line.likely_minor, line.kind) == (dog, 1, 900, "part")
    price_send(price=price)
    assert "dog of steel, second-hand stands on price 2." in _act(client, "price", standin=f"donor {bone.pk}")
    (line,) = job.prices.get(number=2).lines.filter(place="dog")
    assert line.part == dog and line.likely_minor > 0 and price.lines.get(place="dog").likely_minor == 900
    Part.objects.filter(pk=dog.pk).update(price_minor=0)
    assert "<summary>Put it on the price</summary>" in _page(client)
    assert "costs is not known: type what you charge" in _act(client, "price", standin=f"part {dog.pk}")
    assert "can be a number such as" in _act(client, "price", standin=f"part {dog.pk}", price="dear")
    assert "D-1 stands on price 2." in _act(client, "price", standin=f"part {dog.pk}", price="9.50")
    dog.refresh_from_db()
    assert job.prices.get(number=2).lines.get(place="dog").likely_minor == dog.price_minor == 950
    assert "not among what would do any more" in _act(client, "way", standin="donor 999")
    _act(client, "way", standin=f"donor {bone.pk}")
    new = job.pieces.get(place="dog", replaces__isnull=False)
    assert (new.part, new.where, dog.entries.get(why="donor").bone) == (dog, "cell", bone)
    assert stock_of(dog) == Stock(new=1, used=0)


def test_a_standard_size_is_ordered_and_a_washer_cut_in_one_press(client: Client, job: Job, pattern: Pattern) -> None:
    piece = job.pieces.get(place="friction_1")
    sheet = part_add(number="S-1", name="woven carbon", kind="sheet", price_minor=3200, count=1)
    Part.objects.filter(pk=sheet.pk).update(sizes_mm={"length": 200.0, "width": 150.0, "thickness": 1.0})
    piece_measure(piece=piece, sizes_mm={"outer diameter": 28.5, "inner diameter": 12.2, "thickness": 1.0})
    piece_judge(piece=piece, state="worn")
    bearing = next(place for place in job_places(job) if place.kind == "bearing")
    piece = job.pieces.get(place=bearing.key)
    piece_measure(piece=piece, sizes_mm={"inner diameter": 3.0, "outer diameter": 10.0, "width": 4.0})
    piece_judge(piece=piece, state="worn")
    shown = _page(client)
    assert "Take the cut one" in shown and "Order one" in shown
    _act(client, "way", place="friction_1", standin="cut S-1 28.5x12.2")
    cut = Part.objects.get(number="S-1 28.5x12.2")
    assert (cut.kind, cut.price_minor, cut.fits.get().basis) == ("friction_washer", 100, "measured")
    sheet.refresh_from_db()
    assert sheet.cut_off == pytest.approx(1 / 32) and stock_of(sheet).all == 1
    assert next((entry.why, entry.change, entry.note) for entry in cut.entries.all()) == ("cut", 1, "from S-1")
    piece_judge(piece=job.pieces.get(place="friction_2"), state="worn")
    piece_measure(piece=job.pieces.get(place="friction_2"), sizes_mm={"outer diameter": 28.5, "inner diameter": 12.2})
    assert "the sheet begun is 3 % cut off, 31 are left" in _page(client)
    stock_cut(part=cut, count=31, sheet=sheet, of_sheet=32)
    sheet.refresh_from_db()
    assert (sheet.cut_off, stock_of(sheet).all, sheet.entries.last().why) == (None, 0, "cut_up")
    with pytest.raises(LevelwindError, match="none of these can still be cut, and 1 wanted"):
        stock_cut(part=cut, count=1, sheet=sheet, of_sheet=32)
    _act(client, "way", place=bearing.key, standin="standard 623")
    order = job.part_orders.get()
    assert (order.part.number, order.part.kind, order.part.fits.get().basis) == ("623", "bearing", "standard")
