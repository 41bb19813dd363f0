"""The ways that are not straight, on a phone, two of them at the bench too: all on the reels of one crate of twenty."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from tests.browser.care import take_care
from tests.browser.conftest import Seat

on_phone = pytest.mark.parametrize("seat", ["phone"], indirect=True)
MOST_SCREENS = 6
"""Of a phone, that twenty reels being booked in may take; our choice."""


@pytest.fixture(scope="module")
def tags(window: Callable[[str], Page]) -> Iterator[str]:
    """A crate of twenty is booked in on a phone; each walk takes a reel of it."""
    page = window("phone")
    page.goto("/book-in/")
    press(page, "Begin a booking")
    page.get_by_label("Owner’s name").fill("Charter boat Merrow")
    page.get_by_label("The reel, as its owner names it").fill("Big trolling reel")
    page.get_by_label("Complaint").first.fill("the drag slips")
    page.locator("#copies").fill("19")
    press(page, "more like the last one")
    expect(page.locator(".reel-row")).to_have_count(20)
    assert page.evaluate("document.documentElement.scrollHeight / innerHeight") < MOST_SCREENS
    press(page, "Book in")
    found = page.locator("a.tag-number").all_inner_texts()
    assert len(set(found)) == 20
    return iter(found)


def press(page: Page, name: str, exact: bool = True) -> None:
    page.get_by_role("button", name=name, exact=exact).first.click()
    page.wait_for_load_state("networkidle")


def said(page: Page, tag: str, answer: str, sum_typed: str = "") -> None:
    """A price of one line, 100.00, and the owner's word on it."""
    page.goto(f"/jobs/{tag}/price/")
    if page.get_by_role("button", name="Make up the price").count():
        press(page, "Make up the price")
    if not page.get_by_label(answer, exact=True).is_visible():
        page.locator("summary", has_text="Write down").click()
    page.get_by_label(answer, exact=True).check()
    if sum_typed:
        page.get_by_label("Up to this sum").fill(sum_typed)
    press(page, "Write it down")
    meant(page)


def meant(page: Page) -> None:
    """Where it is asked whether a stage is to be passed over: yes."""
    if page.get_by_role("button", name="Do it all the same").count():
        press(page, "Do it all the same")


def ended(page: Page, tag: str, how: str) -> None:
    page.goto(f"/jobs/{tag}/")
    page.locator("summary", has_text="It will not be mended").click()
    page.get_by_label(how).check()
    press(page, "End the job")


def stage(page: Page) -> str:
    return page.locator(".title-block .stage").inner_text()


@on_phone
def test_a_no_midway_and_the_reel_goes_back_with_its_fee(seat: Seat, tags: Iterator[str]) -> None:
    page, tag = seat.page, next(tags)
    said(page, tag, "no")
    expect(page.locator(".title-block")).to_contain_text("Decide what follows the no")
    take_care(seat)
    press(page, "Send it back")
    ended(page, tag, "Send it back unmended")
    assert stage(page) == "sent back unmended"
    press(page, "Take it up again")
    assert stage(page) != "sent back unmended"


@on_phone
def test_kept_for_spares_it_lies_in_the_bone_box_and_comes_back(seat: Seat, tags: Iterator[str]) -> None:
    page, tag = seat.page, next(tags)
    ended(page, tag, "Keep it for spares")
    page.goto("/shelf/bone-box/")
    expect(page.get_by_text("Big trolling reel").first).to_be_visible()
    page.goto(f"/jobs/{tag}/")
    press(page, "Take it up again")
    assert stage(page) == "looked over"


@on_phone
def test_home_and_back_with_the_same_trouble(seat: Seat, tags: Iterator[str]) -> None:
    page, tag = seat.page, next(tags)
    page.goto(f"/jobs/{tag}/box/")
    press(page, "Send it home")
    for _ in range(2):
        if page.get_by_role("button", name="Send it home anyway").count():
            press(page, "Send it home anyway")
        meant(page)
    assert stage(page) == "home"
    page.goto(f"/jobs/{tag}/stays/")
    press(page, "It came back with the same trouble")
    expect(page.locator(".title-block")).to_contain_text("came back")
    take_care(seat)


@pytest.mark.parametrize("seat", ["phone", "desktop"], indirect=True)
def test_a_deposit_a_part_payment_and_money_given_back(seat: Seat, tags: Iterator[str]) -> None:
    page, tag = seat.page, next(tags)
    money = page.locator("#money")

    def changes_hands(amount: str, button: str) -> None:
        money.get_by_label("Sum").fill(amount)
        press(page, button)

    page.goto(f"/jobs/{tag}/box/")
    changes_hands("90", "Take a deposit")
    page.get_by_label("What was done or fitted").first.fill("Service")
    page.locator("#bill").get_by_label("Sum").first.fill("100")
    press(page, "Save, and another line")
    press(page, "Make the bill")
    meant(page)
    expect(money.locator("tfoot")).to_contain_text("$16.00")  # 100.00 and 6 % tax, less 90.00
    changes_hands("20", "Take a payment")
    expect(money.get_by_text("$4.00 more than is owed")).to_be_visible()
    take_care(seat)
    changes_hands("4", "Give it back")
    expect(money.locator("tfoot")).to_contain_text("All paid")


@on_phone
def test_an_owner_who_is_silent_is_asked_again(seat: Seat, tags: Iterator[str]) -> None:
    page, tag = seat.page, next(tags)
    page.goto(f"/jobs/{tag}/price/")
    press(page, "Make up the price")
    press(page, "Mark the price sent")
    meant(page)
    expect(page.locator(".title-block")).to_contain_text("the owner's turn")
    expect(page.locator(".title-block")).to_contain_text("since")
    press(page, "Write down: asked again today")
    page.goto(f"/jobs/{tag}/")
    expect(page.get_by_text("The owner was asked again.")).to_be_visible()


@on_phone
def test_a_bill_past_the_owners_word_is_not_made_before_they_agree(seat: Seat, tags: Iterator[str]) -> None:
    page, tag = seat.page, next(tags)
    said(page, tag, "yes, up to a sum", "50")
    expect(page.locator(".title-block")).to_contain_text("agreed up to $50.00")
    page.goto(f"/jobs/{tag}/box/")
    page.locator("#bill").get_by_label("Sum").first.fill("100")
    press(page, "Save, and another line")
    press(page, "Make the bill")
    meant(page)
    expect(page.get_by_text("more than the owner agreed to").first).to_be_visible()
    page.locator("#agreed > summary").click()
    press(page, "Write down that they agree")
    press(page, "Make the bill")
    expect(page.get_by_role("link", name=re.compile(r"Bill B\d\d-"))).to_be_visible()


@pytest.mark.parametrize("seat", ["phone", "desktop"], indirect=True)
def test_a_part_is_sold_over_the_counter_and_brought_back(seat: Seat) -> None:
    page = seat.page
    page.goto("/counter/")
    page.get_by_role("link", name="Sell something").click()
    page.get_by_label("Find a part on the shelf").fill("felt")
    page.keyboard.press("Enter")
    press(page, "New, ", exact=False)
    page.get_by_label("How many").fill("2")
    expect(page.locator("#sale-sums .number")).to_contain_text("$")
    take_care(seat)
    press(page, "Sell it")
    expect(page.locator("tfoot")).to_contain_text("Settled")
    page.locator("summary", has_text="it is brought back").click()
    page.get_by_label("How many of 2").fill("1")
    press(page, "Take it back")
    expect(page.locator("tfoot")).to_contain_text("The shop owes")
    take_care(seat)
    press(page, "Give it back")
    expect(page.locator("tfoot")).to_contain_text("Settled")


@on_phone
def test_an_empty_book_leads_to_its_first_reel(seat: Seat, live_server: LiveServer) -> None:
    page = seat.page
    page.goto(f"{live_server.url}/")
    page.get_by_role("link", name="Set up the shop").click()
    page.locator("#id_name").fill("Harbour Reel Bench")
    page.get_by_label("Address").fill("1 Quay")
    expect(page.locator(".letterhead")).to_contain_text("Harbour Reel Bench")
    take_care(seat)
    press(page, "Save, and book in the first reel")
    expect(page.get_by_role("heading", name="Book in").first).to_be_visible()
