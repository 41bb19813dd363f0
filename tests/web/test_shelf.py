"""The shelf's pages: the list, one part, its ledger, its fits, what is on order, the bone box."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from levelwind.shop.models import BoneReel, DragPlan, Part, StockEntry
from levelwind.shop.parts.selectors.shelf import Stock, stock_of
from levelwind.shop.parts.services.bones import bone_add
from levelwind.shop.parts.services.fits import fit_say
from levelwind.shop.parts.services.orders import part_order_add
from levelwind.shop.parts.services.shelf import part_add, stock_take
from tests.jobs import a_job, a_pattern
from tests.pages import typed_into

pytestmark = pytest.mark.django_db
HTMX = {"hx-request": "true"}


@pytest.fixture
def part() -> Part:
    return part_add(number="T-17", name="drag washer", spot="drawer 4", count=3)


def _page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_an_empty_shelf_says_what_to_do_first(client: Client) -> None:
    assert "Add the first part below" in _page(client, "/shelf/")
    assert "The bone box is empty" in _page(client, "/shelf/bone-box/")
    assert "Nothing is on order" in _page(client, "/shelf/orders/")


def test_a_part_is_added_with_its_count(client: Client) -> None:
    typed = {"number": "D-1", "name": "dog", "count": "4", "price_minor": "12.50", "kind": "dog", "spot": "drawer 2"}
    answer = client.post("/shelf/add/", typed)
    part = Part.objects.get()
    assert answer.status_code == 302 and answer["Location"] == f"/shelf/part/{part.pk}/"
    assert (part.price_minor, stock_of(part).new) == (1250, 4)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"count": "-2"}, "can be 0 or more"),
        ({"count": "many"}, "Enter a whole number"),
        ({"price_minor": "-1"}, "can be 0 or more"),
        ({"number": "T-17"}, "There is a part T-17 already"),
        ({"number": "   "}, "Fill this in"),
        ({"kind": "hovercraft"}, "is not in this list"),
    ],
)
def test_a_part_refused_keeps_what_was_typed(client: Client, part: Part, typed: dict[str, str], words: str) -> None:
    answer = client.post("/shelf/add/", {"number": "D-1", "name": "dog of brass", "count": "1", "kind": "", **typed})
    assert answer.status_code == 422
    assert words in answer.content.decode() and 'value="dog of brass"' in answer.content.decode()
    assert Part.objects.count() == 1


def test_the_list_is_searched_and_says_what_runs_short(client: Client, part: Part) -> None:
    part_add(number="D-1", name="dog")
    part.keep_at_least = 5
    part.save()
    shown = _page(client, "/shelf/?q_part=washer")
    assert "T-17" in shown and "D-1" not in shown and "Keep at least 5" in shown
    assert "D-1" not in _page(client, "/shelf/?view=short")
    assert "No part is like that" in _page(client, "/shelf/?q_part=anvil")


def test_a_long_shelf_is_paged_in_as_many_queries_as_a_short_one(client: Client, part: Part) -> None:
    with CaptureQueriesContext(connection) as short:
        _page(client, "/shelf/")
    Part.objects.bulk_create(Part(number=f"S-{n:04}", name="screw") for n in range(300))
    StockEntry.objects.bulk_create(StockEntry(part=one, change=2, why="bought") for one in Part.objects.all())
    with CaptureQueriesContext(connection) as long:
        shown = _page(client, "/shelf/?page=3")
    assert len(long) == len(short)
    assert "101 to 150 of 301" in shown


def test_a_parts_facts_save_as_they_are_typed(client: Client, part: Part) -> None:
    address = f"/shelf/part/{part.pk}/"
    sizes = "outer diameter 28.5\nThickness: 1,2 mm\n"
    fields = typed_into(client.get(address), spot="tin 9", sizes_mm=sizes, price_minor="4.50", keep_at_least="2")
    answer = client.post(address, fields, headers=HTMX)
    assert "Saved" in answer.content.decode()
    part.refresh_from_db()
    assert (part.spot, part.price_minor, part.keep_at_least) == ("tin 9", 450, 2)
    assert part.sizes_mm == {"outer diameter": 28.5, "thickness": 1.2}


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"sizes_mm": "girth 3"}, "“girth 3” was not understood"),
        ({"sizes_mm": "thickness -1"}, "It was “-1”."),
        ({"sizes_mm": "thickness 1e999"}, "can be over 0"),
        ({"price_minor": "-4"}, "can be 0 or more"),
        ({"keep_at_least": "-1"}, "can be 0 or more"),
        ({"number": ""}, "Fill this in"),
    ],
)
def test_a_fact_refused_is_said_and_the_rest_is_kept(
    client: Client, part: Part, typed: dict[str, str], words: str
) -> None:
    address = f"/shelf/part/{part.pk}/"
    answer = client.post(address, typed_into(client.get(address), supplier="Harbour Bench Supply", **typed))
    assert answer.status_code == 422 and words in answer.content.decode()
    part.refresh_from_db()
    assert part.supplier == "Harbour Bench Supply" and part.number == "T-17" and part.sizes_mm == {}


def test_the_ledger_is_written_from_the_page(client: Client, part: Part) -> None:
    address = f"/shelf/part/{part.pk}/entry/"
    client.post(address, {"why": "bought", "count": "2", "unit_cost_minor": "1.20", "note": "from the fair"})
    client.post(address, {"why": "donor", "count": "1"})
    client.post(address, {"why": "thrown", "count": "1", "used": "on"})
    client.post(address, {"why": "counted", "count": "4"})
    assert stock_of(part) == Stock(new=4, used=0)
    shown = _page(client, f"/shelf/part/{part.pk}/")
    assert "from the fair" in shown and "$1.20 each" in shown


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"why": "thrown", "count": "9"}, "Only 3 new of T-17 drag washer on the shelf, and 9 wanted"),
        ({"why": "bought", "count": "0"}, "Count can be from 1"),
        ({"why": "stolen", "count": "1"}, "is not in this list"),
        ({"why": "bought", "count": "1e9"}, "Enter a whole number"),
    ],
)
def test_an_entry_refused_writes_nothing(client: Client, part: Part, typed: dict[str, str], words: str) -> None:
    answer = client.post(f"/shelf/part/{part.pk}/entry/", {"note": "kept words", **typed})
    assert answer.status_code == 422
    assert words in answer.content.decode() and "kept words" in answer.content.decode()
    assert StockEntry.objects.count() == 1


def test_what_a_job_took_is_put_back_from_its_entry(client: Client, part: Part) -> None:
    taken = stock_take(part=part, job=a_job(), count=2)
    address = f"/shelf/part/{part.pk}/"
    assert f"{address}back/{taken.pk}/" in _page(client, address)
    client.post(f"/shelf/part/{part.pk}/back/{taken.pk}/")
    assert stock_of(part).new == 3
    assert "/back/" not in _page(client, address)


def test_a_long_ledger_shows_its_newest_lines_and_folds_the_rest(client: Client, part: Part) -> None:
    address = f"/shelf/part/{part.pk}/"
    assert "earlier line" not in _page(client, address)
    StockEntry.objects.bulk_create(StockEntry(part=part, change=1, why="bought", note=f"no. {n}") for n in range(60))
    newest, fold, earlier = _page(client, address).partition("51 earlier lines: 50 bought, 1 counted")
    assert fold and "no. 59<" in newest and "no. 50<" in newest and "no. 49<" not in newest
    assert "no. 49<" in earlier and "no. 19<" not in earlier and '<details id="earlier">' in newest
    turned = _page(client, f"{address}?page=2")
    assert "no. 19<" in turned and '<details id="earlier" open>' in turned


def test_a_ledger_and_fits_however_long_take_as_many_queries(client: Client, part: Part) -> None:
    address, pattern, job = f"/shelf/part/{part.pk}/", a_pattern(), a_job()
    StockEntry.objects.bulk_create(StockEntry(part=part, change=1, why="bought") for _ in range(20))
    fit_say(part=part, pattern=pattern, place="friction_1")
    with CaptureQueriesContext(connection) as short:
        _page(client, address)
    StockEntry.objects.bulk_create(StockEntry(part=part, change=1, why="bought", job=job) for _ in range(40))
    for place in ("friction_2", "friction_3"):
        fit_say(part=part, pattern=pattern, place=place)
    with CaptureQueriesContext(connection) as long:
        assert "first drag washer, second drag washer, third drag washer" in _page(client, address)
    assert len(long) == len(short)


def test_a_fit_is_said_and_taken_back(client: Client, part: Part) -> None:
    pattern = a_pattern()
    address = f"/shelf/part/{part.pk}/"
    assert "first drag washer" in _page(client, f"{address}?pattern={pattern.pk}")
    typed = {"pattern": pattern.pk, "place": "friction_1", "basis": "measured", "said_by": "Ansa", "sure": "70"}
    client.post(f"{address}fit/", typed)
    fit = part.fits.get()
    assert (fit.place, fit.basis, fit.said_by, fit.sure) == ("friction_1", "measured", "Ansa", 0.7)
    client.post(f"{address}fit/{fit.pk}/take-back/")
    assert not part.fits.exists()


def test_a_fit_in_no_place_or_of_no_pattern_is_refused(client: Client, part: Part) -> None:
    typed = {"pattern": a_pattern().pk, "place": "propeller", "basis": "declared"}
    assert client.post(f"/shelf/part/{part.pk}/fit/", typed).status_code == 422
    assert client.post(f"/shelf/part/{part.pk}/fit/", {**typed, "pattern": "999"}).status_code == 404
    assert client.post(f"/shelf/part/{part.pk}/fit/", {**typed, "pattern": "x"}).status_code == 404
    assert "It fits this pattern" in _page(client, f"/shelf/part/{part.pk}/?pattern=x'--")


def test_an_order_comes_or_is_called_off(client: Client, part: Part) -> None:
    address = f"/shelf/part/{part.pk}/"
    client.post(f"{address}order/", {"count": "4", "supplier": "Harbour Bench Supply"})
    order = part.orders.get()
    assert "Harbour Bench Supply" in _page(client, "/shelf/orders/")
    answer = client.post(f"/shelf/orders/{order.pk}/arrived/", {"then": address})
    assert answer["Location"] == address and stock_of(part).new == 7
    assert (
        "already and is on the shelf"
        in client.post(
            f"/shelf/orders/{order.pk}/arrived/", {"then": "https://elsewhere.example/"}, follow=True
        ).content.decode()
    )
    other = part_order_add(part=part)
    client.post(f"/shelf/orders/{other.pk}/called-off/")
    assert part.orders.count() == 1


def test_an_order_for_yesterday_is_refused(client: Client, part: Part) -> None:
    answer = client.post(f"/shelf/part/{part.pk}/order/", {"count": "1", "expected_on": "2001-01-01"})
    assert answer.status_code == 422 and "That day is past" in answer.content.decode()


def test_a_donor_goes_in_the_box_and_parts_come_off_it(client: Client, part: Part) -> None:
    pattern = a_pattern()
    fit_say(part=part, pattern=pattern, place="friction_1")
    client.post("/shelf/bone-box/", {"pattern": pattern.pk, "condition": "frame cracked", "paid_minor": "8"})
    bone = BoneReel.objects.get()
    assert (bone.reel, bone.paid_minor) == ("Tarn & Wey Skerry 50", 800)
    assert f'name="part-{part.pk}"' in _page(client, f"/shelf/bone-box/{bone.pk}/")
    client.post(f"/shelf/bone-box/{bone.pk}/strip/", {f"part-{part.pk}": "2", "number": "t-17", "number_count": "3"})
    assert stock_of(part) == Stock(new=3, used=3)
    client.post(f"/shelf/bone-box/{bone.pk}/strip/", {"bare": "on"})
    assert "Stripped bare on" in _page(client, f"/shelf/bone-box/{bone.pk}/")
    assert "Skerry" in _page(client, "/shelf/bone-box/?stripped=1")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({}, "Nothing was said to come off"),
        ({"number": "X-9"}, "There is no part “X-9”"),
        ({"number": "T-17", "number_count": "-4"}, "It was “-4”."),
        ({"part-zz": "1"}, "There is no part “zz”"),
        ({"part-99999": "1"}, "There is no part “99999”"),
    ],
)
def test_stripping_refused_puts_nothing_on_the_shelf(
    client: Client, part: Part, typed: dict[str, str], words: str
) -> None:
    bone = bone_add(reel="a dead one")
    answer = client.post(f"/shelf/bone-box/{bone.pk}/strip/", typed)
    assert answer.status_code == 422 and words in answer.content.decode()
    assert stock_of(part) == Stock(new=3, used=0)


def test_a_donors_note_saves_as_it_is_typed(client: Client) -> None:
    bone = bone_add(reel="a dead one")
    address = f"/shelf/bone-box/{bone.pk}/"
    client.post(address, typed_into(client.get(address), condition="gears sound"), headers=HTMX)
    bone.refresh_from_db()
    assert bone.condition == "gears sound"


def test_a_part_on_which_nothing_hangs_is_taken_away_and_another_says_what_does(client: Client, part: Part) -> None:
    bare = part_add(number="T-18", name="drag washer")
    stack = DragPlan.objects.create(job=a_job(pattern=a_pattern()), stack={}, setup={"parts": ["", str(bare.pk)]})
    assert "Nothing hangs on it" in _page(client, f"/shelf/part/{bare.pk}/")
    assert "lies in the drag of 26-" in client.post(f"/shelf/part/{bare.pk}/take-away/", follow=True).content.decode()
    stack.delete()
    assert client.post(f"/shelf/part/{bare.pk}/take-away/").headers["Location"] == "/shelf/"
    assert not Part.objects.filter(pk=bare.pk).exists()
    assert client.post(f"/shelf/part/{bare.pk}/take-away/").status_code == 404
    assert "In the book it has 1 stock entry: it stays" in _page(client, f"/shelf/part/{part.pk}/")
    refused = client.post(f"/shelf/part/{part.pk}/take-away/", follow=True).content.decode()
    assert "T-17 drag washer cannot be taken away. In the book it has: 1 stock entry." in refused
    assert Part.objects.filter(pk=part.pk).exists()
