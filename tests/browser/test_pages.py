"""Every kind of page of the demo shop, at both sizes, light and dark: nothing sideways, no fault, axe content."""

import re

import pytest
from playwright.sync_api import expect

from levelwind.demo.patterns import SELDOM
from tests.browser.care import take_care, take_care_in_colours
from tests.browser.conftest import SIZES, Seat
from tests.full_size import FULL, cases

STARTS = ["/", "/?ended=1", "/find/?q=drag", "/book-in/", "/patterns/", "/patterns/add/", "/shelf/", "/shelf/orders/"]
STARTS += ["/shelf/bone-box/", "/counter/", "/counter/shop/", "/nothing/here/"]
STARTS += ["/fits/?piece=thread&diameter=3.15&pitch=0.59"]
STEPS = ["", "look-over/", "price/", "apart/", "parts/", "drag/", "together/", "prove/", "box/"]
STEPS += ["readings/found/", "readings/left/"]
EVERY = ("apart", "home", "looked_over", "agreed", "together")
STAGES = {"phone": cases(("apart",), EVERY), "desktop": cases(("home",), EVERY)}
"""Of which reels each step's page is looked at: every step at both sizes, in the sample of one reel each."""
LED_TO = {
    "/shelf/": r"^/shelf/part/\d+/$",
    "/shelf/bone-box/": r"^/shelf/bone-box/\d+/$",
    "/patterns/": r"^/patterns/\d+/$",
    "/counter/": r"^/counter/owners/\d+/$",
    "/book-in/": r"^/book-in/\d+/$",
}
"""Pages that are reached from a list: the first link on it that looks so."""


def first_link(seat: Seat, start: str, shape: str) -> str:
    seat.page.goto(start)
    links = seat.page.eval_on_selector_all(
        "main a[href]", "all => all.map(one => one.getAttribute('href').split('#')[0])"
    )
    return next(link for link in links if re.match(shape, link))


def addresses(seat: Seat) -> list[str]:
    led_to = [first_link(seat, start, shape) for start, shape in LED_TO.items()]
    jobs = []
    for stage in STAGES[seat.size]:
        tag = first_link(seat, f"/?stage={stage}", r"^/jobs/[\d-]+/$")
        jobs += [tag + step for step in STEPS]
    seldom = [first_link(seat, f"/find/?q={kind.model}", r"^/jobs/[\d-]+/$") + "drag/" for kind in SELDOM]
    return STARTS + led_to + jobs + seldom


@pytest.mark.sampled
def test_every_kind_of_page(seat: Seat) -> None:
    for number, address in enumerate(addresses(seat)):
        seat.page.goto(address)
        take_care_in_colours(seat, colours=FULL or number % 2 == SIZES.index(seat.size))


def test_the_search_is_reached_by_one_key_and_left_by_another(seat: Seat) -> None:
    page = seat.page
    page.goto("/")
    page.keyboard.press("/")
    expect(page.locator("#find")).to_be_focused()
    page.keyboard.type("drag")
    expect(page.locator("#found a").first).to_be_visible()
    take_care(seat)
    page.keyboard.press("Escape")
    expect(page.locator("#found a")).to_have_count(0)


def test_back_and_bookmark_lead_where_they_should(seat: Seat) -> None:
    page = seat.page
    page.goto("/?turn=owner")
    page.locator("a.tag-number").first.click()
    expect(page.locator(".title-block .stage")).to_be_visible()
    job = page.url
    page.go_back()
    assert page.url.endswith("/?turn=owner")
    page.goto(job)
    expect(page.locator(".title-block .stage")).to_be_visible()


def test_on_a_phone_the_head_is_one_line_that_opens(seat: Seat) -> None:
    page = seat.page
    page.goto("/")
    page.locator("a.tag-number").first.click()
    owner, more = page.get_by_text("Notes, calls, letters"), page.locator(".opens")
    if seat.size == "desktop":
        expect(more).to_be_hidden()
        expect(owner).to_be_visible()
        return
    expect(owner).to_be_hidden()
    way = page.locator(".way").bounding_box()
    assert way and way["y"] < 160, "what the person came for starts too low"
    for opened in (True, False):
        more.tap()
        expect(more).to_have_attribute("aria-expanded", str(opened).lower())
        assert owner.is_visible() == opened
