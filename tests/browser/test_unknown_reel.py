"""A reel that nobody knows, by phone: looks answered with a tap, a pattern begun, and taken apart piece by piece."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.care import take_care
from tests.browser.conftest import Seat

LOOKS = 3
"""Taps after which the page has something to say of a plain reel."""


@pytest.fixture
def seat(window: Callable[[str], Page]) -> Iterator[Seat]:
    seat = Seat(window("phone"), "phone")
    with seat.watched():
        yield seat
    seat.leave()
    assert not seat.faults, seat.faults


def test_a_reel_nobody_knows_is_named_and_becomes_a_pattern(seat: Seat) -> None:
    page = seat.page
    page.goto("/book-in/")
    page.get_by_role("button", name="Begin a booking").click()
    page.get_by_label("Owner’s name").fill("Ottilie Marsh")
    page.get_by_label("The reel, as its owner names it").fill("Grandfather's reel")
    page.get_by_role("button", name="Book in", exact=True).click()
    page.get_by_role("link", name="Find out which reel it is").click()
    asked = page.locator("#next h3")
    for _ in range(LOOKS):
        was, typed = asked.inner_text(), page.locator("#next .choices input.number, #next .choices textarea")
        answer = "Cannot tell" if typed.count() else page.locator("#next .choices button").first.inner_text()
        page.locator("#next").get_by_role("button", name=answer, exact=True).click()
        expect(asked).not_to_have_text(was)
    expect(page.locator(".told li")).to_have_count(LOOKS)
    take_care(seat)
    page.get_by_role("button", name="Take back").first.click()
    expect(page.locator(".told li")).to_have_count(LOOKS - 1)
    page.get_by_role("link", name="Begin a pattern from this reel", exact=True).click()
    page.get_by_label("Built like a").select_option("single_action")
    page.get_by_role("button", name="take the reel apart for the first time").click()
    page.get_by_role("button", name="Begin with the first piece").click()
    for number, piece in enumerate(("spool screw", "spool"), 1):
        page.get_by_label("What came out").fill(piece)
        page.get_by_role("button", name="Put it in its cell").click()
        expect(page.locator(".told li")).to_have_count(number)
    take_care(seat)
    page.get_by_role("button", name="That was the last piece").click()
    expect(page.get_by_text("is in the book as it came apart")).to_be_visible()
